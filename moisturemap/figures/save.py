"""Figures to files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from moisturemap.errors import OptionError
from moisturemap.figures.plain_text import settle_texts
from moisturemap.outputs import replaced_file
from moisturemap.provenance import run_id

FORMATS = ("png", "svg", "pdf")

_QUIET: Any = {
    "font.family": "DejaVu Sans",
    "svg.fonttype": "none",
    "svg.hashsalt": "moisturemap",
    "pdf.fonttype": 42,
    "axes.unicode_minus": True,
}
"""Text stays text in SVG and PDF, and the same figure gives the same file."""

_PACKED: dict[str, Any] = {"png": {"pil_kwargs": {"compress_level": 3}}}
"""A tenth more bytes than the usual level of zlib, 6, for two thirds of the time."""


def save_figure(
    figure: Figure,
    folder: Path,
    name: str,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    below: float = 0.0,
) -> list[Path]:
    """Write a figure as ``folder/name.<format>`` for each format.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
    folder : Path
    name : str
    formats : sequence of str
        Any of ``FORMATS``.
    dpi : float
        Resolution of PNG [dots per inch].
    below : float
        Left free below the figure [in].
    """
    wrong = [one for one in formats if one not in FORMATS]
    if wrong:
        message = "unknown figure format"
        raise OptionError(message, value=wrong[0], allowed=", ".join(FORMATS))
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    width, height = figure.get_size_inches()
    shown = Bbox([[0.0, -below], [width, height]]) if below else None
    with mpl.rc_context(_QUIET):
        settle_texts(figure)
        for one in formats:
            path = folder / f"{name}.{one}"
            with replaced_file(path) as unfinished:
                packed = {"bbox_inches": shown, "pad_inches": 0.0} | _PACKED.get(one, {})
                figure.savefig(unfinished, dpi=dpi, metadata=_stamp(one), **packed)
            written.append(path)
    return written


def _stamp(format: str) -> dict[str, str | None]:
    """Return what the file says of itself: the run it belongs to, and no time of day."""
    key = {"svg": "Identifier", "pdf": "Keywords", "png": "Comment"}[format]
    run: dict[str, str | None] = {key: f"run {run_id()}"} if run_id() else {}
    return {**run, **{"svg": {"Date": None}, "pdf": {"CreationDate": None}}.get(format, {})}
