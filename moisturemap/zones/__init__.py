"""Wet zones."""

from moisturemap.zones.zones import ZONE_COLUMNS, WetLevel, WetZones

__all__ = ["ZONE_COLUMNS", "WetLevel", "WetZones"]
