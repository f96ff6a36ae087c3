"""Whether a store is sound: its own digests, and against a copy of it."""
