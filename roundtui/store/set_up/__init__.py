"""The set-up: files and their loading, the register, and rows that others have otherwise."""
