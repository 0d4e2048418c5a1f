"""Folders of small invented floors."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

OPERATOR = "Q. Nameless"
"""Who read the floors; leaves with no file that others are given."""


def write_floors(folder: Path, count: int, spacing: float = 0.8) -> Path:
    """Write survey folders ``f0``, ``f1`` ... and, as ``broken``, one that is refused."""
    from moisturemap.synthetic import FloorRecipe, make_floor
    from moisturemap.synthetic.folder import write_folder

    for number in range(count):
        plumes = ("edge",) if number % 2 else ()
        recipe = FloorRecipe(width=6.0, depth=5.0, spacing=spacing, plumes=plumes)
        survey = make_floor(recipe, number).survey
        meters = {
            key: replace(one, model="Model A") if one.kind == "relative" else one
            for key, one in survey.instruments.items()
        }
        visits = tuple(replace(visit, operator=OPERATOR) for visit in survey.visits)
        named = replace(survey, instruments=meters, visits=visits)
        write_folder(named, folder / f"f{number}")
    broken = folder / "broken"
    broken.mkdir()
    (broken / "survey.toml").write_text('[survey]\nname = "Broken"\n', encoding="utf-8")
    return folder
