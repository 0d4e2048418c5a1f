"""What the user may choose about a run over many floors."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Annotated, Any

from moisturemap.checked import at_least, checked, one_of
from moisturemap.units import SYSTEMS

REPORTS = ("pdf", "docx", "html")


@dataclass(frozen=True, kw_only=True)
@checked
class BatchOptions:
    """What is done with each floor, and by how many processes.

    Attributes
    ----------
    decide : bool
        Judge the calibrated tests where a survey holds some.
    drying : bool
        Compare the visits where there are several.
    holes : bool
        Plan holes too; a report always holds them.
    reports : tuple of str
        Kinds of report written for each floor: ``pdf``, ``docx``, ``html``.
    units : str
        Units of the reports: ``metric`` or ``us``; "" for those of each survey.
    workers : int or None
        Processes on this machine; None takes one a processor.
    scheduler : str or None
        Address of a Dask scheduler that shares this machine's files; None works here.
    earlier : Path or None
        ``covariances.csv`` of an earlier run: range and noise are borrowed in part from its floors,
        on each floor from those of the same instrument model and scale. None borrows nothing.
    """

    decide: bool = True
    drying: bool = False
    holes: bool = False
    reports: Annotated[tuple[str, ...], one_of(*REPORTS)] = ()
    units: Annotated[str, one_of("", *SYSTEMS)] = ""
    workers: Annotated[int | None, at_least(1)] = None
    scheduler: str | None = None
    earlier: Path | None = None

    def left_out(self) -> tuple[str, ...]:
        """Return which parts of the findings on a floor are not wanted."""
        wanted = {
            "tests": self.decide,
            "drying": self.drying,
            "holes": self.holes or bool(self.reports),
        }
        return tuple(part for part, done in wanted.items() if not done)

    def of_results(self) -> dict[str, Any]:
        """Return the options that change results; how many processes work does not."""
        kept = asdict(self)
        del kept["workers"], kept["scheduler"]
        if self.earlier is not None:
            kept["earlier"] = hashlib.sha256(self.earlier.read_bytes()).hexdigest()
        return kept
