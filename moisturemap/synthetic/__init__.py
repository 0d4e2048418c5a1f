"""Invented floors with known truth."""
