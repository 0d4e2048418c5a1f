"""What every command shares: options, progress, refusals as one line with exit code 1."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from moisturemap.errors import MoistureMapError

survey_argument = click.argument("survey", type=click.Path(path_type=Path))
visit_option = click.option("--visit", metavar="ID", help="Visit to use; the latest by default.")
out_option = click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Folder to write the files into.",
)
as_of_option = click.option(
    "--as-of",
    "as_of",
    metavar="DAY",
    callback=lambda context, option, text: day_of(text),
    help="Day of the decision, such as 2026-03-14, to which the age of tests is counted; today by"
    " default.",
)
json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON object and nothing else on stdout."
)


def day_of(text: str | None) -> date | None:
    """Return the day written as 2026-03-14; None where nothing is.

    Raises
    ------
    click.BadParameter
    """
    try:
        return None if text is None else date.fromisoformat(text)
    except ValueError as wrong:
        message = f"{text!r} is no day; a day is written 2026-03-14"
        raise click.BadParameter(message) from wrong


class Door(click.Group):
    """A group that turns refusals of the library into one line and exit code 1."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except MoistureMapError as refusal:
            click.echo(f"refused: {refusal}", err=True)
            ctx.exit(1)
        except OSError as failure:
            where = f"{failure.filename}: " if failure.filename else ""
            click.echo(f"refused: {where}{failure.strerror or failure}", err=True)
            ctx.exit(1)


def progress() -> Callable[[str, float], None]:
    """Return a progress callback that writes to stderr: one line on a terminal, else silence."""
    on_terminal = sys.stderr.isatty()

    def show(phrase: str, fraction: float) -> None:
        if on_terminal:
            end = "\n" if fraction >= 1 else ""
            click.echo(f"\r{fraction:4.0%} {phrase:<40}{end}", nl=False, err=True)

    return show


def print_json(content: dict[str, Any]) -> None:
    """Print one JSON object on stdout."""
    click.echo(json.dumps(content, ensure_ascii=False, allow_nan=False))


def print_files(paths: list[Path]) -> None:
    """Say on stderr which files were written."""
    for path in paths:
        click.echo(f"wrote {path}", err=True)
