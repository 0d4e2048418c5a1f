"""Cautions before drilling, cleared by named persons, and the plan issued once all are."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from moisturemap.bundles import Study
from moisturemap.errors import OptionError
from moisturemap.results.drilling_files import export_drill_plan
from moisturemap.results.study_files import spreadsheet_text
from moisturemap.workflow.issued_plan import FIXED

SETTING = "cautions"
"""Key of the clearances among the settings of a project."""


@dataclass(frozen=True)
class CautionState:
    """A caution and who cleared it (``by, on, document, entered``), or None while it is open."""

    caution: str
    cleared: dict[str, str] | None

    def as_dict(self) -> dict[str, Any]:
        """Return plain types, with the key it is cleared by in any language."""
        return {**asdict(self), "key": caution_key(self.caution)}


def caution_key(caution: str) -> str:
    """Return what a caution is named by where its words are said in another language."""
    return hashlib.sha256(caution.encode()).hexdigest()[:16]


def holes_seal(study: Study) -> str:
    """Return a fingerprint of the places and depths of the holes and of the services drawn.

    A clearance holds for the places it was given for, and for what was known of them.
    """
    holes = study.drill_plan
    places = sorted(_hole(*row) for row in holes[["x", "y", "depth_mm"]].itertuples(index=False))
    return hashlib.sha256(json.dumps([places, _services(study)]).encode()).hexdigest()[:16]


def _hole(x: float, y: float, depth: float) -> str:
    return f"{x:.2f} {y:.2f} {depth:g}"


def _services(study: Study) -> str:
    """Return a fingerprint of the services drawn or marked by somebody."""
    drawn = [line.geometry.wkt for line in study.survey.plan.lines_of("known-service")]
    marked = study.found.table
    marked = marked[marked["anomaly"].str.startswith("U")]["geometry"]
    words = sorted([*drawn, *(one.wkt for one in marked)])
    return hashlib.sha256("|".join(words).encode()).hexdigest()[:16] if words else ""


def caution_states(study: Study, settings: Mapping[str, Any]) -> list[CautionState]:
    """Return every caution of the drill plan with the clearance that holds for its holes.

    One given for more holes holds for those that are left of them, the last one given first.
    """
    kept = settings.get(SETTING) or {}
    given = list(kept.values()) if isinstance(kept, Mapping) else []
    here, tapes, services = _places(study), _tapes(study), _services(study)

    def holds(cleared: Mapping[str, str] | None) -> bool:
        if cleared is None or cleared.get("services") != services:
            return False
        # clearances of earlier versions do not say how their holes were set out
        same_walls = "tapes" not in cleared or tapes <= set(cleared["tapes"].split("|"))
        return same_walls and here <= set(str(cleared.get("holes")).split("|"))

    found = {}
    for one in study.drilling.cautions:
        about = [clearances.get(one) for clearances in reversed(given)]
        found[one] = next((cleared for cleared in about if holds(cleared)), None)
    return [CautionState(one, cleared) for one, cleared in found.items()]


def _places(study: Study) -> set[str]:
    rows = study.drill_plan[["x", "y", "depth_mm"]].itertuples(index=False)
    return {_hole(*row) for row in rows}


def _tapes(study: Study) -> set[str]:
    """Return each hole with its distances from the walls, which change as the walls do."""
    rows = study.drill_plan[["x", "y", "distance_a_m", "distance_b_m"]].itertuples(index=False)
    return {f"{x:.2f} {y:.2f} {a:.2f} {b:.2f}" for x, y, a, b in rows}


def with_clearance(
    study: Study, settings: Mapping[str, Any], caution: str, cleared: Mapping[str, str]
) -> dict[str, Any]:
    """Return the clearances to keep when one more caution, named by its key, is cleared.

    Raises
    ------
    OptionError
        When the drill plan has no such caution.
    """
    text = next((one for one in study.drilling.cautions if caution_key(one) == caution), None)
    if text is None:
        message = "the drill plan has no such caution; it may have changed meanwhile"
        raise OptionError(message, value=caution[:80])
    kept = {key: dict(value) for key, value in (settings.get(SETTING) or {}).items()}
    about = {
        "holes": "|".join(sorted(_places(study))),
        "tapes": "|".join(sorted(_tapes(study))),
        "services": _services(study),
    }
    kept.setdefault(holes_seal(study), {})[text] = {**cleared, **about}
    return kept


def with_plan_withheld(study: Study, states: Sequence[CautionState]) -> Study:
    """Return the study without holes not issued yet while a caution is open; cautions stay."""
    still = sum(one.cleared is None for one in states)
    if not still:
        return study
    settled = study.drill_plan["status"].isin(FIXED)
    which = "Holes beyond those issued are" if settled.any() else "The drill plan is"
    words = f"{which} not issued: {still} of {len(states)} cautions are still open."
    drilling = replace(
        study.drilling,
        holes=study.drill_plan[settled],
        statements=(words, *study.drilling.statements),
    )
    return replace(study, drilling=drilling)


def clearances(study: Study, settings: Mapping[str, Any]) -> dict[str, dict[str, str]]:
    """Return the clearances that hold for the holes of a study, by caution."""
    states = caution_states(study, settings)
    return {one.caution: one.cleared for one in states if one.cleared is not None}


def drill_sheet(
    study: Study, states: Sequence[CautionState], format: str
) -> tuple[str, str, bytes]:
    """Return file name, media type and bytes of the drill plan, ``csv`` or ``geojson``.

    The sheet ends with the cautions, who cleared them and when.
    """
    with tempfile.TemporaryDirectory() as folder:
        written = {path.suffix: path for path in export_drill_plan(study, Path(folder))}
        content = written[f".{format}"].read_bytes()
    if format == "geojson":
        return "drill-plan.geojson", "application/geo+json", content
    lines = ["", '"Cleared before drilling","by","on","document"']
    for one in states:
        cleared = one.cleared or {}
        cells = [
            one.caution,
            cleared.get("by", ""),
            cleared.get("on", ""),
            cleared.get("document", ""),
        ]
        lines.append(",".join(_quoted(cell) for cell in cells))
    return "drill-plan.csv", "text/csv; charset=utf-8", content + "\r\n".join(lines).encode()


def _quoted(cell: str) -> str:
    return '"' + str(spreadsheet_text(cell)).replace('"', '""') + '"'
