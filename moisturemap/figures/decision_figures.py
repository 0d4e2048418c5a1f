"""The figures of a decision as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moisturemap.acceptance import Decision
from moisturemap.bundles import Study
from moisturemap.figures.depth_profile import depth_profile, uncounted_readings
from moisturemap.figures.limit_chart import limit_chart
from moisturemap.figures.map_of_tests import map_of_tests
from moisturemap.figures.salt_check import salt_check
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.sheet import Format


def save_decision_figures(
    decision: Decision,
    folder: Path,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    *,
    study: Study | None = None,
    form: Format = Format(),
) -> list[Path]:
    """Write tests against the limit, salt checks, a depth profile for each spot read deep.

    With the study of a scan also the map of the tests.
    """
    written: list[Path] = []
    if any(test.judged for test in decision.judged):
        written += save_figure(limit_chart(decision, form=form), folder, "tests", formats, dpi)
    if study is not None and decision.tests[["x", "y"]].notna().all(axis=1).any():
        written += save_figure(
            map_of_tests(decision, study, form), folder, "tests-map", formats, dpi
        )
    if not decision.checks.empty:
        written += save_figure(salt_check(decision, form), folder, "salt-checks", formats, dpi)
    deep = [spot for spot in decision.spots if len(spot.readings) > 1]
    for number, spot in enumerate(deep, start=1):
        figure = depth_profile(spot, form, uncounted=uncounted_readings(decision, spot))
        written += save_figure(figure, folder, f"profile-{number}", formats, dpi)
    return written
