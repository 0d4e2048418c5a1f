"""Kept results of a run, invented."""

from __future__ import annotations

from typing import Any


def result(number: int, **floor: Any) -> dict[str, Any]:
    """A kept result, invented."""
    row = {"name": f"Room {number}", "wet_m2": 0.0, "verdict": "", "tests": 0, "area_m2": 20.0}
    cells = {"width": 2, "height": 1, "low": 0, "high": 100, "model": "Model A", "cells": "AP8="}
    return {
        "floor": f"f{number:04d}",
        "survey": f"f{number}",
        "error": "",
        "rows": {"floors": [{**row, **floor}]},
        "map": cells,
    }
