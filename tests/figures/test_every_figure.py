"""Every figure of every kind of floor, at each size it is printed, read as a reader would."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from matplotlib.figure import Figure

sys.path.insert(0, str(Path(__file__).resolve().parent))

from blocks_of_rooms import block_of_rooms
from legibility import faults
from studied import DEMOS, studied

import moisturemap as mm
from moisturemap.bundles import Findings, LaidOut
from moisturemap.figures import Format, MapOptions, check_figure, map_figure
from moisturemap.figures.depth_profile import depth_profile
from moisturemap.figures.drying_figures import drying_figures
from moisturemap.figures.investigation_figures import investigation_figures
from moisturemap.figures.limit_chart import limit_chart
from moisturemap.figures.map_of_tests import map_of_tests
from moisturemap.figures.salt_check import salt_check
from moisturemap.figures.scan_plan import scan_plan
from moisturemap.figures.set_out import rooms_to_set_out, set_out_sheet
from moisturemap.investigation import Investigation
from moisturemap.units import Units
from moisturemap.workflow.demo import demo_plans
from moisturemap.workflow.scan_layout import lay_out_scan

A3_MM = 384.0
"""Width of the text on a lying A3 sheet [mm]."""

FORMS = {
    "80 mm": Format(width_mm=80, units=Units("us")),
    "120 mm": Format(width_mm=120),
    "160 mm": Format(width_mm=160),
    "A3": Format(width_mm=A3_MM),
}
BLOCKS = (1, 6, 60)
SPACING = 0.75
"""Between the places of a scan that is laid out [m]."""

MOST_ROOMS, MOST_SPOTS = 3, 2
"""Rooms of a floor whose sheets are drawn, and places whose depth profiles are, the first ones."""


@dataclass(frozen=True)
class Known:
    """What there is to draw of a floor."""

    findings: Findings
    laid: LaidOut
    cause: Investigation | None


@cache
def known(floor: str) -> Known:
    """Study a floor of the demo, or an invented building of so many rooms."""
    with TemporaryDirectory() as folder:
        demo = floor in DEMOS
        path = demo_plans() / floor if demo else block_of_rooms(Path(folder), int(floor))
        findings, cause = studied(floor, lambda: path)
        return Known(findings, lay_out_scan(path, spacing=SPACING), cause)


def drawings(floor: str, form: Format) -> Iterator[tuple[str, Callable[[], Figure]]]:
    """Yield the name of each figure of a floor and what draws it."""
    here = known(floor)
    study, decision, drying = here.findings.study, here.findings.decision, here.findings.drying
    yield "map", partial(map_figure, study, MapOptions(form=form))
    yield "brief map", partial(map_figure, study, MapOptions(brief=True, holes=False, form=form))
    yield "check", partial(check_figure, study, form)
    for room in rooms_to_set_out(study)[:MOST_ROOMS]:
        yield f"set-out of {room.name}", partial(set_out_sheet, study, room, form)
    for room in here.laid.plan.rooms[:MOST_ROOMS]:
        yield f"scan plan of {room.name}", partial(scan_plan, here.laid, room, form)
    if decision is not None:
        yield "tests", partial(limit_chart, decision, form=form)
        yield "map of tests", partial(map_of_tests, decision, study, form)
        yield "salt checks", partial(salt_check, decision, form)
        for spot in decision.spots[:MOST_SPOTS]:
            yield f"profile of {spot.spot}", partial(depth_profile, spot, form)
    for name, figure in (drying_figures(drying, form) if drying is not None else {}).items():
        yield name, partial(lambda one: one, figure)
    if here.cause is not None:
        found = investigation_figures(here.cause, here.findings.survey.name, form)
        for name, figure in found.items():
            yield name, partial(lambda one: one, figure)


FLOORS = (*DEMOS, *map(str, BLOCKS))
OFTEN = {*product(FLOORS, ("80 mm", "A3")), ("60", "120 mm")} - {("6", "A3")}
"""What CI reads: the narrowest and the widest, and the fullest floor between them. Six rooms stand
between one and sixty. At 160 mm stand the figures of reports, all of which
``report/test_every_sheet.py`` reads."""

EACH = [
    pytest.param(
        floor,
        form,
        id=f"{floor}-{width}",
        marks=() if (floor, width) in OFTEN else pytest.mark.slow,
    )
    for floor in FLOORS
    for width, form in FORMS.items()
]


@pytest.mark.thorough
@pytest.mark.parametrize(("floor", "form"), EACH)
def test_every_figure_can_be_read(floor: str, form: Format) -> None:
    """No type under 6 points, no text over another, none cut, at each width."""
    found = {}
    for name, draw in drawings(floor, form):
        figure = draw()
        assert figure.get_figwidth() * 25.4 == pytest.approx(form.width_mm), name
        found[name] = faults(figure)
    assert not {name: words for name, words in found.items() if words}


def test_no_kind_of_figure_is_left_out() -> None:
    """Whatever returns a figure is drawn above, by itself or among those of its kind."""
    sources = sorted((Path(mm.__file__).parent / "figures").glob("*.py"))
    makers = {
        one.name
        for path in sources
        for one in ast.parse(path.read_text()).body
        if isinstance(one, ast.FunctionDef) and not one.name.startswith("_")
        if one.returns is not None and ast.unparse(one.returns) in ("Figure", "dict[str, Figure]")
    }
    own = Path(__file__).read_text()
    drawn = [own, *(p.read_text() for p in sources if p.stem.endswith("_figures"))]
    used = {n.id for text in drawn for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Name)}
    assert len(makers) > 15
    assert makers <= used
