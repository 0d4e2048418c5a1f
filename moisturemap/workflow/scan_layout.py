"""A scan laid out before it is walked: places, sheet to fill in, what it can miss."""

from __future__ import annotations

from pathlib import Path

from moisturemap.bundles import LaidOut
from moisturemap.files import read_plan
from moisturemap.scanning import LayoutOptions, lay_out
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.sweeps import propose_sweeps


def lay_out_scan(
    path: Path, *, spacing: float | None = None, margin: float = 0.15, unit: str | None = None
) -> LaidOut:
    """Lay out a scan on the plan of a file or of a survey folder.

    Where the survey was scanned before, the sweeps that would settle what is contested come too.

    Parameters
    ----------
    path : Path
        A plan file, or a survey folder.
    spacing : float, optional
        Between readings [m].
    margin : float
        From walls [m].
    unit : str, optional
        Unit of the plan file's coordinates; without it what the file states, else metres.
    """
    if path.is_dir() or path.suffix.lower() == ".toml":
        survey = read_survey(path)
        scanners = [one for one in survey.instruments.values() if one.kind == "relative"]
        footprint = scanners[0].footprint_m if scanners else None
        options = LayoutOptions(spacing=spacing, margin=margin, footprint_m=footprint)
        sweeps = None if survey.readings.empty else propose_sweeps(survey)
        return LaidOut(survey.plan, lay_out(survey.plan, options), sweeps)
    plan, _ = read_plan(path, coordinates=unit)
    return LaidOut(plan, lay_out(plan, LayoutOptions(spacing=spacing, margin=margin)))
