"""``moisturemap demo``: the main job on an invented floor."""

from __future__ import annotations

from pathlib import Path

import click

from moisturemap.cli.door import json_option, print_json, progress

FLOORS = ("bakery", "flat", "warehouse")


@click.command()
@click.option(
    "--floor", type=click.Choice([*FLOORS, "all"]), default="bakery", show_default=True,
    help="Which invented floor.",
)  # fmt: skip
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), metavar="DIR",
    default=Path("demo_output"), show_default=True, help="Folder to write into.",
)  # fmt: skip
@json_option
def demo(floor: str, out: Path, as_json: bool) -> None:
    """Run the main job on an invented floor and say where the results are."""
    from moisturemap.figures import save_study_figures
    from moisturemap.workflow import (
        copy_demo,
        describe,
        export_study,
        read_survey,
        study,
        summarise,
    )

    chosen = FLOORS if floor == "all" else (floor,)
    summaries = {}
    for name in chosen:
        folder = copy_demo(name, out / name)
        result = study(read_survey(folder), progress=progress())
        export_study(result, out / name)
        figures = save_study_figures(result, out / name)
        summaries[name] = summarise(result)
        if not as_json:
            click.echo(describe(result))
            click.echo(f"\nThe survey as it was read: {folder}")
            click.echo(f"All results:                {out / name}")
            click.echo(f"Look first at:              {figures[0]}\n")
    if as_json:
        print_json(summaries)
