"""Parts of traps, traps made up, where they hang, and the close of a season."""
