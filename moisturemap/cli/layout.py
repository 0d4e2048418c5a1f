"""``moisturemap layout``: where to read, before a scan."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from moisturemap.cli.door import (
    json_option,
    out_option,
    print_files,
    print_json,
    say,
    units_option,
)
from moisturemap.cli.stdin import plan_or_path
from moisturemap.quantities import METRES_PER_UNIT


@click.command()
@click.argument("plan", type=click.Path(path_type=Path, allow_dash=True), callback=plan_or_path)
@click.option("--spacing", type=float, metavar="M", help="Distance between readings [m].")
@click.option(
    "--margin",
    type=float,
    default=0.15,
    show_default=True,
    metavar="M",
    help="Least distance of a reading from a wall [m].",
)
@click.option(
    "--unit",
    type=click.Choice(list(METRES_PER_UNIT)),
    help="Unit of a plan file's coordinates; without it what the file states, else m.",
)
@units_option
@out_option
@json_option
def layout(
    plan: Path, spacing: float | None, margin: float, out: Path | None, as_json: bool, **wishes: str
) -> None:
    """Lay out a scan: places to read in walking order, and what such a grid can miss.

    PLAN is a plan file (.geojson, .wkt, .dxf, .gpkg) or a survey folder. With --out: a sheet
    to print and fill in on site (PDF), scan-sheet.csv to type the readings into, and
    scan-sheet.geojson.
    """
    from moisturemap.report import write_scan_sheet
    from moisturemap.results.layout import describe_layout, export_layout, summarise_layout
    from moisturemap.units import Units
    from moisturemap.workflow.scan_layout import lay_out_scan

    units = Units(wishes["units"] or ("us" if wishes["unit"] in ("ft", "in") else "metric"))
    result = lay_out_scan(plan, spacing=spacing, margin=margin, unit=wishes["unit"])
    if out is not None:
        print_files(export_layout(result, out, (partial(write_scan_sheet, result, units=units),)))
    if as_json:
        print_json(summarise_layout(result))
    else:
        say(describe_layout(result, units))
