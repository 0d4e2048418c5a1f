"""``moisturemap decide``: what the calibrated tests prove."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from moisturemap.cli.door import (
    announce,
    as_of_option,
    exit_by_result,
    exit_option,
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
from moisturemap.cli.stdin import toml_or_path

EXIT_CODES = {"meets": 0, "exceeds": 4}
"""Exit code of a verdict; any other is not proven, 3. 1 and 2 are refusals and wrong usage."""


@click.command()
@survey_argument
@visit_option
@click.option(
    "--rules",
    type=click.Path(path_type=Path, allow_dash=True),
    callback=toml_or_path,
    metavar="FILE",
    help="Rules of a country or maker (TOML), laid over those of the package.",
)
@units_option
@figures_option
@full_option
@as_of_option
@click.option(
    "--risk",
    type=click.FloatRange(0.1, 49),
    default=5.0,
    show_default=True,
    metavar="PCT",
    help="Consumer's risk that sets the guard band, where the limit's document states none.",
)
@click.option("--no-scan", is_flag=True, help="Judge the tests alone, without the map.")
@out_option
@exit_option("3 when it is not proven, 4 when a limit is exceeded")
@json_option
def decide(survey: Path, visit: str | None, out: Path | None, as_json: bool, **wishes: Any) -> None:
    """Judge the calibrated tests against the limit: meets, exceeds or not proven."""
    from moisturemap.acceptance import DecideOptions
    from moisturemap.results.brief import brief_decision
    from moisturemap.results.decision import describe_decision, export_decision, summarise_decision
    from moisturemap.results.run import write_run
    from moisturemap.workflow.judge import end_of, judge
    from moisturemap.workflow.read_decided import read_decided

    read, overrides = read_decided(survey)
    units = units_of(wishes["units"], read)
    if not wishes["no_scan"]:
        announce(read, visit, "study")
    result = judge(
        read,
        overrides=overrides,
        visit=visit,
        options=DecideOptions(
            rules=wishes["rules"],
            risk=wishes["risk"] / 100.0,
            as_of=end_of(wishes["as_of"], read),
        ),
        with_scan=not wishes["no_scan"],
        progress=progress(),
    )
    if out is not None:
        from moisturemap.figures import Format
        from moisturemap.figures.decision_figures import save_decision_figures

        writers = (
            partial(export_decision, result.decision),
            partial(
                save_decision_figures,
                result.decision,
                study=result.study,
                formats=wishes["formats"],
                form=Format(units=units),
            ),
        )
        print_files(write_run("decide", result.survey, out, writers))
    if as_json:
        print_json(summarise_decision(result))
    else:
        tell = describe_decision if wishes["full"] else brief_decision
        say(tell(result, units))
    if wishes["by_result"]:
        exit_by_result(EXIT_CODES.get(result.decision.verdict, 3))
