"""Temperatures: days, hours, files they come in, and what is doubtful about them."""
