"""Temperatures on record: by file, by hand, by hour, and normals."""
