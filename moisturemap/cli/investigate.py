"""``moisturemap investigate``: where the water of a wet or failed floor comes from."""

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
)


@click.command()
@survey_argument
@click.option(
    "--answers",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="answers.toml: what people know that no probe reads; --full lists the questions.",
)
@click.option(
    "--place",
    metavar="NAME",
    help="Hole, zone or room to investigate; the wettest tested place by default.",
)
@figures_option
@units_option
@full_option
@out_option
@json_option
def investigate(survey: Path, out: Path | None, as_json: bool, **wishes: Any) -> None:
    """Weigh where the water of a wet or failed floor comes from, and what to measure next.

    With --out: causes, evidence and next measurements (CSV), everything as JSON, figures.
    """
    from moisturemap.results.investigation import (
        brief_investigation,
        describe_investigation,
        export_investigation,
        summarise_investigation,
    )
    from moisturemap.results.run import write_run
    from moisturemap.workflow.investigate import investigate as investigate_floor
    from moisturemap.workflow.read_decided import read_decided

    read, overrides = read_decided(survey)
    announce(read, None, "study")
    found = investigate_floor(
        read,
        wishes["answers"],
        place=wishes["place"],
        overrides=overrides,
        progress=progress(),
    )
    if out is not None:
        from moisturemap.figures.investigation_figures import save_investigation_figures
        from moisturemap.figures.sheet import Format

        writers = (
            partial(export_investigation, found, survey_name=read.name),
            partial(
                save_investigation_figures,
                found,
                survey_name=read.name,
                formats=wishes["formats"],
                form=Format(units=units_of(wishes["units"], read)),
            ),
        )
        print_files(write_run("investigate", read, out, writers))
    if as_json:
        print_json(summarise_investigation(found, read.name))
    elif wishes["full"]:
        say(describe_investigation(found, read.name, units_of(wishes["units"], read)))
    else:
        say(brief_investigation(found, read.name))
