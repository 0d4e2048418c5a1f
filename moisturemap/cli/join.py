"""``moisturemap join``: what was keyed into a copy of a job, made again in this project file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from moisturemap.cli.door import json_option, print_json, say


@click.command()
@click.argument("project", type=click.Path(path_type=Path))
@click.argument("copies", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--who", metavar="NAME", required=True, help="Who joins them; stands in the record.")
@json_option
def join(project: Path, copies: tuple[Path, ...], who: str, as_json: bool) -> None:
    """Bring what was keyed into copies of a job together in one project file (.gpkg).

    Two people who worked on copies of one file lose nothing: each change of a copy is made again
    in PROJECT under the name of who made it. What both changed otherwise is left as it is in
    PROJECT, told, and asked about beside the verdict. The copies are left as they are.
    """
    from moisturemap.store import join_copy, open_project

    told = {}
    with open_project(project, writable=True) as opened:
        for copy in copies:
            told[str(copy)] = found = join_copy(opened, copy, who)
            if as_json:
                continue
            say(
                f"{copy}: brought into {project}: changes: {found.changes}, rows: {found.rows};"
                f" kept once, as both held them alike: {found.same}"
            )
            for sentence in (*found.told, *found.left_out):
                say(sentence)
    if as_json:
        print_json({"joined": {name: asdict(found) for name, found in told.items()}})
        return
    say(f"Work on in {project} alone, and keep the copies.")
