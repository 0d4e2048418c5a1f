"""The command line, one file per command."""

from __future__ import annotations

import click


@click.group()
def main() -> None:
    """Map subfloor moisture, flag pipes and metal, and plan where to drill."""
