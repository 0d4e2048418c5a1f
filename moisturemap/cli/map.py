"""``moisturemap map``: the moisture map of one visit."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from moisturemap.cli.door import (
    json_option,
    out_option,
    print_files,
    print_json,
    progress,
    survey_argument,
    visit_option,
)


@click.command("map")
@survey_argument
@visit_option
@click.option("--instrument", metavar="ID", help="Relative instrument, where a visit used several.")
@click.option("--cell", type=float, metavar="M", help="Side of a map cell [m].")
@out_option
@json_option
def map_floor(
    survey: Path,
    visit: str | None,
    instrument: str | None,
    cell: float | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Map the floor: surface with uncertainty, wet zones, anomalies, drill plan.

    With --out: figures (PNG, SVG, PDF), floor.gpkg, GeoJSON layers, surface.nc, drill-plan.csv
    and summary.json.
    """
    from moisturemap.bundles import StudyOptions
    from moisturemap.figures import save_study_figures
    from moisturemap.results.run import write_run
    from moisturemap.results.study_files import export_study
    from moisturemap.results.summary import summarise
    from moisturemap.workflow.read import read_survey
    from moisturemap.workflow.study import study

    options = StudyOptions(instrument=instrument, spacing=cell)
    result = study(read_survey(survey), visit=visit, options=options, progress=progress())
    if out is not None:
        writers = (partial(export_study, result), partial(save_study_figures, result))
        print_files(write_run("map", result.survey, out, writers))
    if as_json:
        print_json(summarise(result))
    else:
        from moisturemap.results.study_words import describe

        click.echo(describe(result))
