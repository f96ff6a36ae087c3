"""A table of one's own brought in: what it was read as, what is asked, what is written."""
