"""Drill plans as issued: what is frozen, and the study that shows nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from moisturemap.bundles import Study
from moisturemap.drilling import SAME_HOLE_M
from moisturemap.errors import OptionError, SurveyError
from moisturemap.survey import IssuedHole

SETTING = "issued_holes"
"""Key of the issued holes among the settings of a project; the survey's field of that name."""

FIXED = ("issued", "done")
"""Status of holes whose name and place are settled."""


def newly_issued(study: Study, issued: str, who: str) -> list[IssuedHole]:
    """Return the holes that issuing the drill plan of a study adds to those issued before.

    Raises
    ------
    OptionError
        When every hole of the plan has been issued already.
    """
    before = study.survey.issued_holes
    number = max((one.plan for one in before), default=0) + 1
    known = {one.hole for one in before}
    plan = study.drill_plan
    rows = plan[~plan["status"].isin(FIXED) & ~plan["hole"].isin(known)]
    if rows.empty:
        message = "every hole of this drill plan is issued already"
        raise OptionError(message, allowed="a plan with a hole that was not issued before")
    return [
        IssuedHole(
            hole=row.hole,
            room=row.room,
            x=float(row.x),
            y=float(row.y),
            depth_mm=float(row.depth_mm) if np.isfinite(row.depth_mm) else None,
            depth_note=str(row.depth_note),
            purpose=row.purpose,
            why=row.why,
            plan=number,
            issued=issued,
            who=who,
        )
        for row in rows.itertuples()
    ]


def withdrawn(holes: Sequence[IssuedHole], name: str, why: str) -> tuple[IssuedHole, ...]:
    """Return the issued holes with one that shall not be drilled after all.

    Raises
    ------
    OptionError
        When no such hole stands.
    """
    if all(one.hole != name or one.withdrawn for one in holes):
        standing = ", ".join(one.hole for one in holes if not one.withdrawn)
        message = "no such hole of an issued plan"
        raise OptionError(message, value=name, allowed=standing or "none is issued")
    return tuple(replace(one, withdrawn=why) if one.hole == name else one for one in holes)


def only_issued(study: Study) -> Study:
    """Return a study whose drill plan holds what was issued and nothing that may still change."""
    plan = study.drill_plan
    drilling = replace(study.drilling, holes=plan[plan["status"].isin(FIXED)])
    return replace(study, drilling=drilling)


def check_hole(holes: Sequence[IssuedHole], name: str, x: float, y: float) -> None:
    """Refuse a test under the name of an issued hole at another place than that hole's.

    Raises
    ------
    SurveyError
        Naming the hole, its place and the place typed.
    """
    hole = next((one for one in holes if one.hole == name), None)
    if hole is None:
        return
    away = float(np.hypot(hole.x - x, hole.y - y))
    if away > SAME_HOLE_M:
        message = (
            f"{name} of the issued drill plan is at x {hole.x:.2f}, y {hole.y:.2f} m, "
            f"{away:.2f} m from here"
        )
        allowed = "the place of that hole, or another name"
        raise SurveyError(message, value=f"x {x:.2f}, y {y:.2f}", allowed=allowed)
