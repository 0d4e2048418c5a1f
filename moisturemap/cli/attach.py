"""``moisturemap attach``: photographs and documents into a project file."""

from __future__ import annotations

from pathlib import Path

import click

from moisturemap.cli.door import json_option, print_json, say

LAYERS = ("readings", "tests", "rooms")
"""What a photograph may be of."""


@click.command()
@click.argument("project", type=click.Path(path_type=Path))
@click.argument("files", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--who", metavar="NAME", required=True, help="Who adds it; stands in the record.")
@click.option(
    "--of",
    "subject",
    metavar="LAYER:ROW",
    callback=lambda context, option, text: subject_of(text),
    help="What it shows: readings, tests or rooms, and the number of the row; the job without it.",
)
@click.option("--note", metavar="TEXT", default="", help="Words beside it.")
@click.option(
    "--keep-origin",
    is_flag=True,
    help="Keep what a photograph tells of its place and camera; left out without it.",
)
@json_option
def attach(
    project: Path,
    files: tuple[Path, ...],
    who: str,
    subject: tuple[str, str],
    note: str,
    keep_origin: bool,
    as_json: bool,
) -> None:
    """Keep photographs (JPEG, PNG) and documents (PDF) in a project file (.gpkg).

    The place a photograph was taken at, the maker of the camera, names and comments are left out
    of it, unless --keep-origin is given.
    """
    from moisturemap.store import open_project
    from moisturemap.store.attachment import look_into

    for file in files:  # all or none: a file that cannot be kept is told before any is
        look_into(file.read_bytes(), file.name)
    with open_project(project, writable=True) as opened:
        kept = {
            str(file): opened.attach(file, who, of=subject, note=note, keep_origin=keep_origin)
            for file in files
        }
    if as_json:
        print_json({"attached": kept})
        return
    for name, number in kept.items():
        say(f"Kept {name} as number {number}")


def subject_of(text: str | None) -> tuple[str, str]:
    """Return layer and row of a subject written as tests:3; blanks where nothing is.

    Raises
    ------
    click.BadParameter
    """
    if text is None:
        return "", ""
    layer, _, row = text.partition(":")
    if layer not in LAYERS or not row.isdigit():
        message = f"{text!r} names no row; write one of {', '.join(LAYERS)}, a colon and its number"
        raise click.BadParameter(message)
    return layer, row
