"""The floors whose reports are read sheet by sheet: demos, sixty rooms, other hard kinds."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from blocks_of_rooms import block_of_rooms
from kept import kept

import moisturemap as mm
from moisturemap.bundles import Findings
from moisturemap.investigation import Investigation
from moisturemap.report import Supplement
from moisturemap.workflow.demo import day_after, demo_plans
from moisturemap.workflow.investigate import investigate
from moisturemap.workflow.judge import judge_or_map

from .kinds import KINDS

DEMOS = ("bakery", "flat", "warehouse", "clinic")


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
    findings, cause = kept(name, lambda: _studied(name, folder))
    return findings, Supplement(investigation=cause)


def _studied(name: str, folder: Path) -> tuple[Findings, Investigation | None]:
    if name in DEMOS:
        path = demo_plans() / name
    else:
        path = KINDS[name](folder) if name in KINDS else block_of_rooms(folder, int(name))
    survey = mm.read_survey(path)
    findings = judge_or_map(survey, as_of=day_after(survey))
    answers = path / "answers.toml"
    cause = investigate(survey, answers, study=findings.study) if answers.exists() else None
    return findings, cause
