"""Long runs: scripts that nobody collects. Each prints what it saw, and the suite takes a seeded share of it."""
