"""Relative scan against calibrated tests."""
