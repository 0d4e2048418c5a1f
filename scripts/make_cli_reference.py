"""Write docs/command-line.md from the help texts, so that the page is never behind the commands."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from moisturemap.cli import COMMANDS, main

PAGE = Path(__file__).resolve().parent.parent / "docs" / "command-line.md"

INTRODUCTION = """\
# Command line

Made from the help texts by `python scripts/make_cli_reference.py`.

Results are written into the folder named by `--out`; `--json` prints one JSON object on stdout and
nothing else there. Progress and messages go to stderr: a bar on a terminal, else a line every few
seconds; work of more than ten seconds says first how long it will take. `-` for a SURVEY reads a
project file from stdin, for a PLAN a plan file.

Exit codes: 0 done; 1 input refused, with a message that names file, row, value and what is allowed;
2 wrong usage; 130 stopped by Ctrl-C. With `--exit-by-result` a command that judges ends with 3 or 4
by what it found, as its help says. Under `--json` a refusal is one JSON object too: `{"refused":
{"sentence", "kind", "message", "source", "place", "value", "allowed"}}`, wrong usage `{"usage"}`.
"""


def reference() -> str:
    """Return the page."""
    parts = [INTRODUCTION]
    for command in (main, *COMMANDS):
        name = "moisturemap" if command is main else f"moisturemap {command.name}"
        context = click.Context(
            command,
            info_name=name,
            max_content_width=96,
            terminal_width=96,
            help_option_names=main.context_settings["help_option_names"],
        )
        parts.append(f"## `{name}`\n\n```\n{command.get_help(context)}\n```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(reference(), encoding="utf-8")
    sys.stdout.write(f"wrote {PAGE}\n")
