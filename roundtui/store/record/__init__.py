"""The record: rows of entries, the journal that adds them, lanes, and what reads them."""
