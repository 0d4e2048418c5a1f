"""Solve the libraries of drying histories that spots are read from, and keep them beside the code.

python scripts/make_slab_library.py
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from moisturemap.slab.library import HISTORIES, SEED, SHELVES, TABLE, drawn, packed


def main() -> None:
    """Write the file."""
    kept = {}
    for name, shelf in SHELVES.items():
        kept[f"{name}_spread"] = drawn(HISTORIES, SEED, shelf.surface)
        kept[f"{name}_h"] = packed(shelf.solve().h)
    np.savez_compressed(TABLE, **kept)
    print(f"{TABLE}: {TABLE.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
