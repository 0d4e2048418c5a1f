"""``moisturemap batch``: many floors at once, into one dataset and one overview."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from moisturemap.cli.door import json_option, print_files, print_json, progress, say, units_option

if TYPE_CHECKING:
    from moisturemap.batch import BatchOptions


LEFT_OUT_NAMED = 20
"""Places left out that are named; of more, how many."""


@click.command()
@click.argument("source", type=click.Path(path_type=Path), metavar="FOLDER|LIST.csv")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    required=True,
    help="Folder of the run; floors finished in it and unchanged are not done again.",
)
@click.option("--no-decide", is_flag=True, help="Leave the calibrated tests unjudged.")
@click.option("--drying", is_flag=True, help="Compare the visits of floors that have several.")
@click.option("--holes", is_flag=True, help="Plan holes too; a report always holds them.")
@click.option(
    "--report",
    "reports",
    multiple=True,
    type=click.Choice(["pdf", "docx", "html"]),
    help="Also write a report for each floor; repeat for several kinds.",
)
@units_option
@click.option(
    "--workers",
    type=click.IntRange(1),
    metavar="N",
    help="Processes on this machine; one a processor by default.",
)
@click.option(
    "--earlier",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="COVARIANCES.csv",
    help="Borrow range and noise from the floors of an earlier run, same instrument only.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Work on the Dask cluster at ADDRESS instead; it must see the same files.",
)
@json_option
def batch(source: Path, out: Path, as_json: bool, **wishes: Any) -> None:
    """Study every floor below a folder, or of a list with a column survey.

    Writes floors, zones, tests, visits and covariances as .parquet and .csv, failures.csv,
    schema.json and overview.html. Exit code 1 when some floor could not be done; the others are
    done all the same.
    """
    from moisturemap.batch import BatchOptions, run_batch

    options = BatchOptions(
        decide=not wishes["no_decide"],
        drying=wishes["drying"],
        holes=wishes["holes"],
        reports=tuple(dict.fromkeys(wishes["reports"])),
        units=wishes["units"] or "",
        workers=wishes["workers"],
        scheduler=wishes["scheduler"],
        earlier=wishes["earlier"],
    )
    _announce(source, out, options)
    result = run_batch(source, out, options=options, progress=progress())
    print_files(list(result.files))
    if as_json:
        print_json(
            {
                "floors": result.floors,
                "done": result.done,
                "kept": result.kept,
                "failures": [{"floor": floor, "error": error} for floor, error in result.failures],
                "left_out": [{"path": one.path, "why": one.why} for one in result.left_out],
                "files": [str(path) for path in result.files],
            }
        )
    else:
        _say(result, out)
    if result.failures:
        click.get_current_context().exit(1)


def _announce(source: Path, out: Path, options: BatchOptions) -> None:
    """Say how long the floors take together, those of a run before not taken off."""
    from moisturemap.batch.listing import find_surveys
    from moisturemap.workflow.pace import FLOOR_S, MEASURED_S, announcement

    floors = len(find_surveys(source, without=out))
    each = FLOOR_S + len(options.reports) * MEASURED_S["report"][0]
    each += MEASURED_S["drying"][0] if options.drying else 0.0
    hands = min(floors, options.workers or os.cpu_count() or 1)
    said = announcement(f"{floors:,} floors of some 500 readings", floors * each / max(hands, 1))
    if said:
        say(said, err=True)


def _say(result: Any, out: Path) -> None:
    say(
        f"{result.floors} floors: {result.done} done now, {result.kept} done before and unchanged, "
        f"{len(result.failures)} could not be done."
    )
    for floor, error in result.failures[:10]:
        say(f"  {floor}: {error}")
    if len(result.failures) > 10:
        say(f"  and {len(result.failures) - 10} more in {out / 'failures.csv'}")
    if result.left_out:
        say("Left out, none of these floors:")
    for one in result.left_out[:LEFT_OUT_NAMED]:
        say(f"  {one.path}: {one.why}")
    if len(result.left_out) > LEFT_OUT_NAMED:
        say(f"  and {len(result.left_out) - LEFT_OUT_NAMED} more; --json names all")
    say(f"Open {out / 'overview.html'}")
