"""What every command shares: options, refusals as one line with exit code 1, answers in JSON."""

from __future__ import annotations

import gc
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from moisturemap.cli.interrupt import end_stopped, ends_at_once
from moisturemap.cli.progress import Shown
from moisturemap.cli.stdin import project_or_path, without_folder
from moisturemap.errors import InputError, MoistureMapError

if TYPE_CHECKING:
    from moisturemap.survey import Survey
    from moisturemap.units import Units

F = TypeVar("F", bound=Callable[..., Any])

GARBAGE = 50_000
"""Objects made between two looks for garbage: of the thousands that loading and tables make next to
none is, and looking as often as Python does by itself takes a twentieth of a command's time."""

survey_argument = click.argument(
    "survey", type=click.Path(path_type=Path, allow_dash=True), callback=project_or_path
)
visit_option = click.option(
    "--visit", metavar="ID", help="Visit to use; the latest scan by default."
)
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
units_option = click.option(
    "--units",
    type=click.Choice(["metric", "us"]),
    envvar="MOISTUREMAP_UNITS",
    help="Units of what is printed and drawn: metric, or feet, inches and Fahrenheit; by default"
    " those of the survey.",
)


def units_of(asked: str | None, survey: Survey) -> Units:
    """Return the units asked for, or those the survey was measured in."""
    from moisturemap.language import spoken_language, units_in
    from moisturemap.units import Units

    return Units(asked or units_in(spoken_language(), survey.units))


def _speak(context: click.Context, option: click.Parameter, code: str) -> None:
    from moisturemap.language import ENGLISH, speaking

    if code != ENGLISH:
        context.find_root().with_resource(speaking(code))


language_option = click.option(
    "--language",
    type=click.Choice(["en", "de"]),
    default="en",
    show_default=True,
    envvar="MOISTUREMAP_LANGUAGE",
    expose_value=False,
    is_eager=True,
    callback=_speak,
    help="Language of what is printed, drawn and reported; files for machines stay in English.",
)
figures_option = click.option(
    "--figures",
    "formats",
    type=click.Choice(["png", "svg", "pdf"]),
    multiple=True,
    default=("png",),
    show_default=True,
    help="Format of the figures; repeat for several.",
)
full_option = click.option(
    "--full", is_flag=True, help="Print everything that was found, not just the twenty lines."
)
json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON object and nothing else on stdout."
)


def exit_option(codes: str) -> Callable[[F], F]:
    """Return the option that lets a command exit by its result; `codes` says how."""
    words = f"Exit by the result, for scripts: 0 when all is well, {codes}."
    return click.option("--exit-by-result", "by_result", is_flag=True, help=words)


def exit_by_result(code: int) -> None:
    """End the command with the exit code of its result."""
    click.get_current_context().exit(code)


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
        gc.set_threshold(GARBAGE, *gc.get_threshold()[1:])
        as_json = "--json" in (*ctx._protected_args, *ctx.args)
        try:
            return super().invoke(ctx)
        except click.UsageError as wrong:
            if not as_json:
                raise
            print_json({"usage": wrong.format_message()})
            ctx.exit(2)
        except MoistureMapError as refusal:
            sentence = without_folder(ctx, str(refusal))
            _refuse(ctx, sentence, as_json, _parts(refusal))
        except KeyboardInterrupt:
            end_stopped()
        except OSError as failure:
            where = f"{failure.filename}: " if failure.filename else ""
            _refuse(ctx, f"{where}{failure.strerror or failure}", as_json, {})


def _refuse(ctx: click.Context, sentence: str, as_json: bool, parts: dict[str, Any]) -> None:
    if as_json:
        print_json({"refused": {"sentence": sentence, **parts}})
    say(f"refused: {sentence}", err=True)
    ctx.exit(1)


def _parts(refusal: MoistureMapError) -> dict[str, Any]:
    """Return kind, source, place, value and what is allowed, in plain types."""
    kind = {"kind": type(refusal).__name__}
    if not isinstance(refusal, InputError):
        return kind
    value = refusal.value
    plain = value if isinstance(value, (str, int, bool, type(None))) else str(value)
    told = {"source": refusal.source, "place": refusal.place, "value": plain}
    return {**kind, "message": refusal.message, **told, "allowed": refusal.allowed}


def announce(survey: Survey, visit: str | None, *works: str) -> None:
    """Say on stderr how long work will take, where that is more than some seconds.

    Parameters
    ----------
    survey : Survey
    visit : str or None
        Visit that is worked on.
    *works : str
        Kinds of work, as :mod:`moisturemap.workflow.pace` knows them.
    """
    from moisturemap.workflow.pace import announcement, expected_seconds

    count = len(survey.readings)
    if visit is not None or "drying" not in works:
        count = (
            int((survey.readings["visit"] == survey.scanned_visit(visit).id).sum()) if count else 0
        )
    said = announcement(f"{count:,} readings", expected_seconds(survey, works, visit))
    if said:
        say(said, err=True)


def progress() -> Callable[[str, float], None]:
    """Return a progress callback that writes to stderr, and let Ctrl-C end the work at once."""
    ctx = click.get_current_context()
    ctx.with_resource(ends_at_once())
    shown = Shown()
    ctx.call_on_close(shown.close)
    return shown


def print_json(content: dict[str, Any]) -> None:
    """Print one JSON object on stdout."""
    click.echo(json.dumps(content, ensure_ascii=False, allow_nan=False))


def say(text: str, *, err: bool = False) -> None:
    """Print a text, line by line in the language asked for."""
    from moisturemap.language import spoken

    click.echo("\n".join(spoken(line) for line in text.split("\n")), err=err)


def print_files(paths: list[Path]) -> None:
    """Say on stderr which files were written: each, or of many how many and where."""
    folders = {path.parent for path in paths}
    if len(paths) > MOST_NAMED and len(folders) == 1:
        first = next((path for path in paths if path.suffix == ".png"), paths[0])
        where = f"{folders.pop()}; look first at {first.name}"
        say(f"wrote {len(paths)} files to {where}", err=True)
        return
    for path in paths:
        say(f"wrote {path}", err=True)


MOST_NAMED = 4
"""Files named one by one (our choice)."""
