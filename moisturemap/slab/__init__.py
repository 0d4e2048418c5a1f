"""Moisture inside the slab."""
