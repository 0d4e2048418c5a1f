"""How far long work has come: a bar on a terminal, a line every few seconds elsewhere."""

from __future__ import annotations

import sys
import time
from typing import Any

import click

from moisturemap.language import spoken

LINE_EVERY_S = 5.0
"""Time between two lines where there is no terminal, and until the first [s]; our choice."""

_STEPS = 1000


class Shown:
    """A progress callback: takes a phrase and a fraction from 0 to 1, writes to stderr."""

    def __init__(self) -> None:
        self._on_terminal = sys.stderr.isatty()
        self._begun = self._told = time.monotonic()
        self._bar: Any = None
        self._done = 0

    def __call__(self, phrase: str, fraction: float) -> None:
        """Show how far it is."""
        if self._on_terminal:
            self._move(phrase, fraction)
        elif time.monotonic() - self._told >= LINE_EVERY_S:
            self._told = time.monotonic()
            click.echo(
                f"{fraction:4.0%} {spoken(phrase)} ({spoken(self._times(fraction))})", err=True
            )

    def _times(self, fraction: float) -> str:
        elapsed = self._told - self._begun
        if not 0.1 < fraction < 1.0:
            return f"{elapsed:.0f} s"
        left = elapsed * (1.0 - fraction) / fraction
        return f"{elapsed:.0f} s, about {left:.0f} s left"

    def _move(self, phrase: str, fraction: float) -> None:
        if self._bar is None:
            self._bar = click.progressbar(
                length=_STEPS,
                file=sys.stderr,
                item_show_func=lambda words: None if words is None else f"{words:<40}",
                bar_template="%(bar)s  %(info)s",
                width=24,
            )
            self._bar.render_progress()
            self._done = 0
        # work of several parts may say less than before; a bar never goes back
        step = max(0, round(_STEPS * min(fraction, 1.0)) - self._done)
        self._done += step
        self._bar.update(step, spoken(phrase))
        if fraction >= 1.0:
            self.close()

    def close(self) -> None:
        """Leave the line of the bar; harmless when there is none."""
        if self._bar is not None:
            self._bar.render_finish()
            self._bar = None
