"""Readings and flags to a surface with its uncertainty."""

from moisturemap.mapping.surface import DomainField, MoistureSurface

__all__ = ["DomainField", "MoistureSurface"]
