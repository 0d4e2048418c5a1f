"""The reason told for a hole is one that holds."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))

from kinds import twelve

import moisturemap as mm


def test_no_hole_beside_another_is_called_the_middle_of_untested_floor(tmp_path: Path) -> None:
    """Of twelve readings two holes lie 0.4 m apart: the second may be the wettest place as well."""
    holes = mm.study(mm.read_survey(twelve(tmp_path))).drill_plan
    close = 0
    for at, one in enumerate(holes.itertuples()):
        others = holes.drop(holes.index[at])
        nearest = float(np.hypot(others["x"] - one.x, others["y"] - one.y).min())
        if nearest < 1.0:
            close += 1
            assert "Middle of the largest part" not in one.why
    assert close
