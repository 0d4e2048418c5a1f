"""Solve the library of slabs that forecasts read, and keep it beside the code that reads it.

python scripts/make_near_surface.py
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from moisturemap.slab.near_surface import TABLE, solve


def main() -> None:
    """Write the file."""
    solved = vars(solve())
    np.savez_compressed(TABLE, **{name: one.astype(np.float32) for name, one in solved.items()})
    print(f"{TABLE}: {TABLE.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
