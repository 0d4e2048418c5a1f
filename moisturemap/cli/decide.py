"""``moisturemap decide``: what the calibrated tests prove."""

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


@click.command()
@survey_argument
@visit_option
@click.option(
    "--rules",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Rules of a country or maker (TOML), laid over those of the package.",
)
@click.option(
    "--units",
    type=click.Choice(["metric", "feet"]),
    default="metric",
    show_default=True,
    help="Unit the job is reported in; counts of tests follow it.",
)
@click.option("--no-scan", is_flag=True, help="Judge the tests alone, without the map.")
@out_option
@json_option
def decide(
    survey: Path,
    visit: str | None,
    rules: Path | None,
    units: str,
    no_scan: bool,
    out: Path | None,
    as_json: bool,
) -> None:
    """Judge the calibrated tests against the limit: meets, exceeds or not proven."""
    from moisturemap.figures import save_decision_figures
    from moisturemap.results.decision import describe_decision, export_decision, summarise_decision
    from moisturemap.results.run import write_run
    from moisturemap.workflow.judge import judge
    from moisturemap.workflow.read import read_survey

    result = judge(
        read_survey(survey),
        visit=visit,
        rules=rules,
        units=units,
        with_scan=not no_scan,
        progress=progress(),
    )
    if out is not None:
        writers = (
            partial(export_decision, result.decision),
            partial(save_decision_figures, result.decision, study=result.study),
        )
        print_files(write_run("decide", result.survey, out, writers))
    if as_json:
        print_json(summarise_decision(result))
    else:
        click.echo(describe_decision(result))
