"""Entries from laptop to laptop: packing, reading, merging, exchanging."""
