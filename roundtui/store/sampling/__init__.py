"""Leaf and fruit samples in the store."""
