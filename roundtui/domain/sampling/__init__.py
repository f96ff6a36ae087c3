"""Modules of one topic."""
