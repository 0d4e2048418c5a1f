"""One file from stdin, where ``-`` is given for it."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import click

LARGEST = 500_000_000
"""Bytes taken from stdin; a project with some hundred photographs has as much. Our choice."""

_KINDS = (
    (b"SQLite format 3\x00", ".gpkg"),
    (b"{", ".geojson"),
    (b"0\n", ".dxf"),
    (b"0\r\n", ".dxf"),
    (b"AutoCAD Binary DXF", ".dxf"),
)
"""First bytes, blanks left out, and the ending of a file that begins so."""


_FOLDER = "moisturemap.cli.stdin"


def without_folder(ctx: click.Context, sentence: str) -> str:
    """Leave the folder what came from stdin was kept in out of a sentence: nobody knows it."""
    return sentence.replace(ctx.meta.get(_FOLDER, "\0"), "")


def project_or_path(ctx: click.Context, _: click.Parameter, given: Path) -> Path:
    """Return a path as it is, or the project file that comes from stdin."""
    return _kept(ctx, ".gpkg") if str(given) == "-" else given


def plan_or_path(ctx: click.Context, _: click.Parameter, given: Path) -> Path:
    """Return a path as it is, or the plan that comes from stdin, its format told by its content."""
    return _kept(ctx, None) if str(given) == "-" else given


def toml_or_path(ctx: click.Context, _: click.Parameter, given: Path | None) -> Path | None:
    """Return a path as it is, or the TOML file that comes from stdin."""
    return _kept(ctx, ".toml") if given is not None and str(given) == "-" else given


def _kept(ctx: click.Context, suffix: str | None) -> Path:
    """Write what comes from stdin into a file that goes when the command ends."""
    content = sys.stdin.buffer.read(LARGEST + 1)
    if len(content) > LARGEST:
        message = f"more than {LARGEST // 1_000_000} MB came from stdin."
        raise click.UsageError(message)
    if suffix is None:
        begin = content[:64].lstrip(b"\xef\xbb\xbf \t\r\n")
        suffix = next((one for mark, one in _KINDS if begin.startswith(mark)), ".wkt")
    folder = Path(ctx.with_resource(tempfile.TemporaryDirectory()))
    ctx.meta[_FOLDER] = f"{folder}{os.sep}"
    path = folder / f"stdin{suffix}"
    path.write_bytes(content)
    return path
