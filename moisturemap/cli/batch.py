"""``moisturemap batch``: many floors at once, into one dataset and one overview."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from moisturemap.cli.door import json_option, print_files, print_json, progress


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
@click.option(
    "--workers",
    type=click.IntRange(1),
    metavar="N",
    help="Processes on this machine; one a processor by default.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Work on the Dask cluster at ADDRESS instead; it must see the same files.",
)
@json_option
def batch(source: Path, out: Path, as_json: bool, **wishes: Any) -> None:
    """Study every floor below a folder, or of a list with a column survey.

    Writes floors, zones, tests and visits as .parquet and .csv, failures.csv, schema.json and
    overview.html. Exit code 1 when some floor could not be done; the others are done all the same.
    """
    from moisturemap.batch import BatchOptions, run_batch

    options = BatchOptions(
        decide=not wishes["no_decide"],
        drying=wishes["drying"],
        holes=wishes["holes"],
        reports=tuple(dict.fromkeys(wishes["reports"])),
        workers=wishes["workers"],
        scheduler=wishes["scheduler"],
    )
    result = run_batch(source, out, options=options, progress=progress())
    print_files(list(result.files))
    if as_json:
        print_json(
            {
                "floors": result.floors,
                "done": result.done,
                "kept": result.kept,
                "failures": [{"floor": floor, "error": error} for floor, error in result.failures],
                "files": [str(path) for path in result.files],
            }
        )
    else:
        _say(result, out)
    if result.failures:
        click.get_current_context().exit(1)


def _say(result: Any, out: Path) -> None:
    click.echo(
        f"{result.floors} floors: {result.done} done now, {result.kept} done before and unchanged, "
        f"{len(result.failures)} could not be done."
    )
    for floor, error in result.failures[:10]:
        click.echo(f"  {floor}: {error}")
    if len(result.failures) > 10:
        click.echo(f"  and {len(result.failures) - 10} more in {out / 'failures.csv'}")
    click.echo(f"Open {out / 'overview.html'}")
