"""All floors of the folder: what is known of each, and the round that finds out the rest."""

from __future__ import annotations

import logging
import threading
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moisturemap.errors import Cancelled, MoistureMapError

if TYPE_CHECKING:
    from moisturemap.batch import BatchOptions

_log = logging.getLogger("uvicorn.error")

WORKERS = 1
"""Floors studied at a time: the page's own work goes on beside it (our choice)."""


@dataclass(frozen=True)
class RoundState:
    """How far a round over the floors has come.

    Attributes
    ----------
    running : bool
    phrase : str
    fraction : float
        From 0 to 1.
    error : str
        Why the last round ended early; "" when it did not.
    """

    running: bool = False
    phrase: str = ""
    fraction: float = 0.0
    error: str = ""


class Floors:
    """The floors of one folder; a round studies those that changed, and may be stopped.

    Parameters
    ----------
    folder : Path
        Folder of project files and surveys.
    kept : Path
        Folder that keeps what was found, floor by floor.
    """

    def __init__(self, folder: Path, kept: Path) -> None:
        self.folder = folder
        self.kept = kept
        self._state = RoundState()
        self._turn = threading.Lock()
        self._stop = threading.Event()
        self._round: threading.Thread | None = None

    @property
    def state(self) -> RoundState:
        """How far the round is."""
        return self._state

    def known(self, today: date) -> list[dict[str, Any]]:
        """Return a row a floor without its small map; nothing is studied for it."""
        from moisturemap.batch import floors_known

        rows = floors_known(self.folder, self.kept, options=_options(), today=today)
        return [{name: one for name, one in row.items() if name != "map"} for row in rows]

    def begin(self) -> bool:
        """Begin a round; False when one is under way."""
        with self._turn:
            if self._round is not None and self._round.is_alive():
                return False
            self._stop.clear()
            self._state = RoundState(running=True)
            self._round = threading.Thread(target=self._go_round, name="floors", daemon=True)
            self._round.start()
            return True

    def stop(self) -> None:
        """Stop the round; what is finished by then is kept."""
        self._stop.set()

    def close(self) -> None:
        """Stop the round and wait for its end."""
        self.stop()
        if self._round is not None:
            self._round.join(10)

    def _say(self, phrase: str, fraction: float) -> None:
        if self._stop.is_set():
            raise Cancelled
        self._state = replace(self._state, phrase=phrase, fraction=fraction)

    def _go_round(self) -> None:
        from moisturemap.batch import run_batch

        error = ""
        try:
            run_batch(
                self.folder, self.kept, options=_options(), with_files=False, progress=self._say
            )
        except Cancelled:
            error = "stopped, as you wished; the floors done by then are kept"
        except MoistureMapError as refusal:
            error = str(refusal)
        except Exception as unforeseen:  # told on the page, with the traceback in the log
            _log.exception("the round over the floors ended early")
            error = f"the program met something unforeseen ({type(unforeseen).__name__})"
        finally:
            self._state = RoundState(error=error)


def _options() -> BatchOptions:
    from moisturemap.batch import BatchOptions

    return BatchOptions(drying=True, workers=WORKERS)
