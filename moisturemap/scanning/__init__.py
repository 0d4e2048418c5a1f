"""Where to read, and what such a grid can miss."""

from moisturemap.scanning.remark import LEVELS, Remark
from moisturemap.scanning.review import review

__all__ = ["LEVELS", "Remark", "review"]
