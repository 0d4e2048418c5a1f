"""The floors whose reports are read sheet by sheet: demos, sixty rooms, other hard kinds."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from blocks_of_rooms import block_of_rooms
from studied import DEMOS, studied

from moisturemap.bundles import Findings
from moisturemap.report import Supplement

from .kinds import KINDS


def study_floor(name: str, folder: Path) -> tuple[Findings, Supplement]:
    """Study a floor of the demo, a building of sixty rooms, or a record of another hard kind.

    Studied once in a run of tests, whichever worker asks first.

    Parameters
    ----------
    name : str
        Of ``DEMOS`` or ``KINDS``, or a number of rooms.
    folder : Path
        Where a floor that is made up is written.
    """

    def write() -> Path:
        return KINDS[name](folder) if name in KINDS else block_of_rooms(folder, int(name))

    findings, cause = studied(name, None if name in DEMOS else write)
    return findings, Supplement(investigation=cause)
