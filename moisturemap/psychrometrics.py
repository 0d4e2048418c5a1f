"""Moist air, thin, over a well-kept library."""
