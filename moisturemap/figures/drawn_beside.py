"""The figures of a study, drawn beside the writing of its files."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

from moisturemap.bundles import Study
from moisturemap.geostat import standing_by
from moisturemap.provenance import files_of_run, run_id
from moisturemap.units import Units

Writer = Callable[[Path], Sequence[Path]]

MOST = 50_000
"""Readings up to which a copy is handed the study: of more it would hold a second one, and what it
saves is a small part of the whole."""


@dataclass(frozen=True)
class _Sketch:
    """What is to be drawn, and for which run."""

    study: Study
    folder: Path
    formats: Sequence[str]
    units: Units
    run: str


_Hand = Callable[[_Sketch], Callable[[Callable[[], None]], list[Path]]]


class Drawing:
    """Draws in a copy of this process where there is one, else after the other files."""

    def __init__(self, hand: _Hand | None) -> None:
        self._hand = hand

    def beside(
        self, other: Writer, study: Study, *, formats: Sequence[str], units: Units
    ) -> Writer:
        """Return a writer of other files and of the figures of a study.

        Parameters
        ----------
        other : callable
            Writes the other files into a folder; their paths come first.
        study : Study
        formats : sequence of str
            As for :func:`save_study_figures`.
        units : Units
        """

        def write(folder: Path) -> list[Path]:
            sketch = _Sketch(study, folder, formats, units, run_id())
            if self._hand is None or len(study.readings) > MOST:
                return [*other(folder), *_draw(sketch)]
            drawn = self._hand(sketch)
            return [*other(folder), *drawn(lambda: None)]

        return write


@contextmanager
def drawing_beside() -> Iterator[Drawing]:
    """Copy this process, so that what draws is loaded while the study is made on another core."""
    with standing_by(_load, _draw) as hand:
        yield Drawing(hand)


def _load() -> None:
    import_module("moisturemap.figures.study_figures")


def _draw(sketch: _Sketch) -> list[Path]:
    from moisturemap.figures.sheet import Format
    from moisturemap.figures.study_figures import save_study_figures

    form = Format(units=sketch.units)
    with files_of_run(sketch.run):
        return save_study_figures(sketch.study, sketch.folder, sketch.formats, form=form)
