"""The data package: its form, writing and reading it."""
