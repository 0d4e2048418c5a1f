"""Floors studied, judged and looked into once in a run of tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from kept import kept

import moisturemap as mm
from moisturemap.bundles import Findings
from moisturemap.investigation import Investigation
from moisturemap.workflow.demo import day_after, demo_plans
from moisturemap.workflow.investigate import investigate
from moisturemap.workflow.judge import judge_or_map

DEMOS = ("bakery", "flat", "warehouse", "clinic")


def studied(
    name: str, write: Callable[[], Path] | None = None
) -> tuple[Findings, Investigation | None]:
    """Return what is found of a floor on the day after its last visit, and where its water is from.

    Parameters
    ----------
    name : str
        One name for each floor, whichever test asks.
    write : callable, optional
        Writes the folder of a floor that is no demo and returns it.
    """
    return kept(name, lambda: _studied(demo_plans() / name if write is None else write()))


def _studied(path: Path) -> tuple[Findings, Investigation | None]:
    survey = mm.read_survey(path)
    findings = judge_or_map(survey, as_of=day_after(survey))
    answers = path / "answers.toml"
    cause = investigate(survey, answers, study=findings.study) if answers.exists() else None
    return findings, cause
