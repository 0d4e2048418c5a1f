"""``moisturemap drying``: the visits compared, forecasts, and where machines should stand."""

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
@click.option("--visits", metavar="ID,ID", help="Visits to compare; all with readings by default.")
@click.option(
    "--dry-level",
    type=float,
    metavar="R",
    help="Reading that dry floor shows here; else taken from a dry reference or the dry floor.",
)
@click.option(
    "--dehumidifiers",
    type=click.IntRange(0, 200),
    metavar="N",
    help="How many to place; those listed by default.",
)
@click.option(
    "--air-movers",
    type=click.IntRange(0, 200),
    metavar="N",
    help="How many to place; those listed by default.",
)
@click.option(
    "--throw",
    type=float,
    default=6.0,
    show_default=True,
    metavar="M",
    help="Reach of an air mover [m], from its maker's sheet.",
)
@click.option(
    "--cable",
    type=float,
    default=10.0,
    show_default=True,
    metavar="M",
    help="Longest cable from a power point of the plan [m].",
)
@click.option(
    "--ceiling",
    type=float,
    metavar="M",
    help="Height of the rooms [m], for the rule of thumb on capacity.",
)
@click.option(
    "--closed-door", multiple=True, metavar="NAME", help="Door that stands closed; repeat."
)
@units_option
@figures_option
@full_option
@out_option
@json_option
def drying(
    survey: Path, visits: str | None, out: Path | None, as_json: bool, **wishes: Any
) -> None:
    """Show what dried between visits, what did not, how long still, and where to move machines.

    With --out: figures, tables (CSV), areas and moves (GeoJSON), maps of change (NetCDF).
    """
    from moisturemap.entry.options import drying_options, placement_options
    from moisturemap.results.brief import brief_drying
    from moisturemap.results.drying_summary import describe_drying, export_drying, summarise_drying
    from moisturemap.results.run import write_run
    from moisturemap.workflow.placement import plan_drying
    from moisturemap.workflow.read_decided import read_decided

    read, overrides = read_decided(survey)
    announce(read, None, "drying")
    result = plan_drying(
        read,
        overrides=overrides,
        visits=visits.split(",") if visits else None,
        options=drying_options(dry_level=wishes["dry_level"]),
        placement=placement_options(
            dehumidifiers=wishes["dehumidifiers"],
            air_movers=wishes["air_movers"],
            throw_m=wishes["throw"],
            cable_m=wishes["cable"],
            ceiling_m=wishes["ceiling"],
            closed_doors=wishes["closed_door"],
        ),
        progress=progress(),
    )
    units = units_of(wishes["units"], read)
    if out is not None:
        from moisturemap.figures import Format
        from moisturemap.figures.drying_figures import save_drying_figures

        writers = (
            partial(export_drying, result),
            partial(
                save_drying_figures, result, formats=wishes["formats"], form=Format(units=units)
            ),
        )
        print_files(write_run("drying", result.comparison.survey, out, writers))
    if as_json:
        print_json(summarise_drying(result))
    else:
        tell = describe_drying if wishes["full"] else brief_drying
        say(tell(result, units))
