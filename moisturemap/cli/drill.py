"""``moisturemap drill``: the drill plan of one visit."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

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


@click.command()
@survey_argument
@visit_option
@click.option("--holes", type=click.IntRange(1), metavar="N", help="Number of holes wanted.")
@click.option(
    "--clearance",
    type=click.FloatRange(0),
    metavar="M",
    help="Distance to keep from what is flagged [m]; from known services at least 0.3 m.",
)
@click.option("--reject", multiple=True, metavar="X,Y", help="Place not to be drilled [m]; repeat.")
@click.option("--pin", multiple=True, metavar="X,Y", help="Place that must be drilled [m]; repeat.")
@units_option
@figures_option
@full_option
@out_option
@json_option
def drill(survey: Path, visit: str | None, out: Path | None, as_json: bool, **wishes: Any) -> None:
    """Propose where to drill, how deep, and how to set it out with a tape."""
    from moisturemap.entry.options import drill_options
    from moisturemap.results.brief import brief_drilling
    from moisturemap.results.drilling_files import export_drill_plan, summarise_drilling
    from moisturemap.results.run import write_run
    from moisturemap.results.study_words import describe_drilling
    from moisturemap.workflow.overridden_study import decided_study
    from moisturemap.workflow.read_decided import read_decided

    options = drill_options(
        count=wishes["holes"],
        clearance_m=wishes["clearance"],
        pinned=wishes["pin"],
        rejected=wishes["reject"],
    )
    read, overrides = read_decided(survey)
    announce(read, visit, "study")
    result = decided_study(read, overrides, visit=visit, options=options, progress=progress())
    units = units_of(wishes["units"], read)
    if out is not None:
        from moisturemap.figures import Format, save_map

        writers = (
            partial(export_drill_plan, result),
            partial(
                save_map,
                result,
                name="drill-plan",
                formats=wishes["formats"],
                form=Format(units=units),
            ),
        )
        print_files(write_run("drill", result.survey, out, writers))
    if as_json:
        print_json(summarise_drilling(result))
    else:
        tell = describe_drilling if wishes["full"] else brief_drilling
        say(tell(result, units))
