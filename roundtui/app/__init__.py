"""See the README beside this file."""
