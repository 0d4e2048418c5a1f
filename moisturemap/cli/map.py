"""``moisturemap map``: the moisture map of one visit."""

from __future__ import annotations

from contextlib import AbstractContextManager, ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from moisturemap.cli.door import (
    announce,
    figures_option,
    full_option,
    json_option,
    out_option,
    print_files,
    print_json,
    progress,
    say,
    survey_argument,
    units_of,
    units_option,
    visit_option,
)

if TYPE_CHECKING:
    from moisturemap.bundles import Study
    from moisturemap.figures.drawn_beside import Drawing
    from moisturemap.mapping import MappingOptions
    from moisturemap.survey import Survey
    from moisturemap.units import Units


@click.command("map")
@survey_argument
@visit_option
@click.option("--instrument", metavar="ID", help="Relative instrument, where a visit used several.")
@click.option("--cell", type=float, metavar="M", help="Side of a map cell [m].")
@click.option(
    "--earlier",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="COVARIANCES.csv",
    help="Borrow range and noise from the floors of an earlier batch run, same instrument only.",
)
@units_option
@figures_option
@full_option
@out_option
@json_option
def map_floor(
    survey: Path, visit: str | None, out: Path | None, as_json: bool, **wishes: Any
) -> None:
    """Map the floor: surface with uncertainty, wet zones, anomalies, drill plan.

    With --out: figures, floor.gpkg, GeoJSON layers, surface.nc, drill-plan.csv
    and summary.json.
    """
    from moisturemap.bundles import StudyOptions
    from moisturemap.results.brief import brief_study
    from moisturemap.results.study_words import describe
    from moisturemap.results.summary import summarise
    from moisturemap.workflow.overridden_study import decided_study
    from moisturemap.workflow.read_decided import read_decided

    with ExitStack() as beside:
        drawing = None if out is None else beside.enter_context(_drawing())
        read, overrides = read_decided(survey)
        options = StudyOptions(
            instrument=wishes["instrument"],
            spacing=wishes["cell"],
            mapping=_mapping(read, visit, wishes),
        )
        announce(read, visit, "study", *(["files"] if out is not None else []))
        result = decided_study(read, overrides, visit=visit, options=options, progress=progress())
        units = units_of(wishes["units"], read)
        if out is not None and drawing is not None:
            _write(result, out, drawing, formats=wishes["formats"], units=units)
    if as_json:
        print_json(summarise(result))
    else:
        say(describe(result, units) if wishes["full"] else brief_study(result, units))


def _drawing() -> AbstractContextManager[Drawing]:
    # loaded before the process is copied, so that both have it
    import moisturemap.results.study_files  # noqa: F401
    from moisturemap.figures.drawn_beside import drawing_beside

    return drawing_beside()


def _write(
    result: Study, out: Path, drawing: Drawing, *, formats: tuple[str, ...], units: Units
) -> None:
    from moisturemap.results.run import write_run
    from moisturemap.results.study_files import export_study

    files = partial(export_study, result)
    writer = drawing.beside(files, result, formats=formats, units=units)
    print_files(write_run("map", result.survey, out, [writer]))


def _mapping(read: Survey, visit: str | None, wishes: dict[str, Any]) -> MappingOptions:
    """Options of the map: what is borrowed from earlier floors, where that is wished."""
    from moisturemap.mapping import MappingOptions
    from moisturemap.workflow.read_earlier import require_same_instrument

    if wishes["earlier"] is None:
        return MappingOptions()
    earlier = require_same_instrument(
        wishes["earlier"], read, visit=visit, instrument=wishes["instrument"]
    )
    return MappingOptions(earlier=earlier)
