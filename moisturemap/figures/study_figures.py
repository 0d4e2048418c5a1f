"""The figures of a study, written into a folder."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moisturemap.bundles import Study
from moisturemap.figures.floor_map import MapOptions, map_figure
from moisturemap.figures.map_check import check_figure
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.sheet import Format


def save_study_figures(
    study: Study,
    folder: Path,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    *,
    form: Format = Format(),
) -> list[Path]:
    """Write the map (``map``) and the figure that checks it (``map-check``) into a folder."""
    return [
        *save_map(study, folder, formats=formats, dpi=dpi, form=form),
        *save_figure(check_figure(study, form), folder, "map-check", formats, dpi),
    ]


def save_map(
    study: Study,
    folder: Path,
    *,
    name: str = "map",
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    form: Format = Format(),
) -> list[Path]:
    """Write the map of a study into a folder."""
    return save_figure(map_figure(study, MapOptions(form=form)), folder, name, formats, dpi)
