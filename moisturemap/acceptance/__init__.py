"""Limits, evidence, decision."""
