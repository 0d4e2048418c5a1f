"""A scan laid out before it is walked: places, sheet to fill in, what it can miss."""

from __future__ import annotations

from pathlib import Path

from moisturemap.bundles import LaidOut
from moisturemap.files import read_plan
from moisturemap.scanning import LayoutOptions, lay_out
from moisturemap.workflow.read import read_survey


def lay_out_scan(
    path: Path, *, spacing: float | None = None, margin: float = 0.15, unit: str = "m"
) -> LaidOut:
    """Lay out a scan on the plan of a file or of a survey folder.

    Parameters
    ----------
    path : Path
        A plan file, or a survey folder.
    spacing : float, optional
        Between readings [m].
    margin : float
        From walls [m].
    unit : str
        Unit of the plan file's coordinates.
    """
    if path.is_dir() or path.suffix.lower() == ".toml":
        plan = read_survey(path).plan
    else:
        plan, _ = read_plan(path, coordinates=unit)
    return LaidOut(plan, lay_out(plan, LayoutOptions(spacing=spacing, margin=margin)))
