"""See the README of the app folder."""
