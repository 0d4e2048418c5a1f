"""Where to read."""
