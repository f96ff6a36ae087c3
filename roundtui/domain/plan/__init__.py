"""The plan of a season, lures in stock, and packing lists."""
