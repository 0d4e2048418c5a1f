"""``moisturemap pack``: a survey folder into one project file, and back."""

from __future__ import annotations

from pathlib import Path

import click

from moisturemap.cli.door import json_option, print_json, say


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@click.argument("target", type=click.Path(path_type=Path), required=False)
@click.option("--who", metavar="NAME", default="", help="Who packs it; stands in the record.")
@json_option
def pack(source: Path, target: Path | None, who: str, as_json: bool) -> None:
    """Pack a survey folder into a project file (.gpkg), or unpack one into a folder.

    Without TARGET the project file takes the name of the folder. An existing target is never
    overwritten.
    """
    from moisturemap.workflow.pack import pack_survey

    packed = pack_survey(source, target, who=who)
    if as_json:
        print_json(packed.as_dict())
    else:
        say(packed.sentence)
