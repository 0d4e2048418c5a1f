"""``moisturemap recover``: a new project file from the record of a damaged one."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from moisturemap.cli.door import json_option, print_json, say


@click.command()
@click.argument("damaged", type=click.Path(path_type=Path))
@click.argument("target", type=click.Path(path_type=Path))
@json_option
def recover(damaged: Path, target: Path, as_json: bool) -> None:
    """Write a new project file (.gpkg) from the record of changes of a damaged one.

    The damaged file is left as it is, and nothing that exists is overwritten. What could not be
    brought back is told.
    """
    from moisturemap.store import recover

    found = recover(damaged, target)
    if as_json:
        print_json({"target": str(target), **asdict(found)})
        return
    say(f"Recovered {found.rows} rows into {target}; head of its record: {found.head}")
    for loss in found.losses:
        say(f"Not brought back: {loss}")
