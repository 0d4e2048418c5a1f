"""Where the water of a wet or failed floor comes from: survey and answers in, causes out."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from moisturemap.acceptance import decide as decide_floor
from moisturemap.bundles import Overrides, Study
from moisturemap.drying import DryingProgress
from moisturemap.errors import FormatError, NotEnoughData, SurveyError
from moisturemap.files.delimited import decode
from moisturemap.investigation import Answers, Findings, Investigation, inquire
from moisturemap.survey import Survey
from moisturemap.workflow.drying import compare_visits
from moisturemap.workflow.overridden_study import decided_study

Progress = Callable[[str, float], None] | None


def investigate(
    survey: Survey,
    answers: Answers | Mapping[str, Any] | str | Path | None = None,
    *,
    place: str | None = None,
    study: Study | None = None,
    overrides: Overrides | None = None,
    progress: Progress = None,
) -> Investigation:
    """Investigate where the water of a floor comes from.

    Parameters
    ----------
    survey : Survey
    answers : Answers, mapping, str or Path, optional
        Answers by the key of their question, or the path of ``answers.toml``.
    place : str, optional
        Hole, zone or room to investigate; the wettest tested place by default.
    study : Study, optional
        Main path of the latest visit when it is at hand.
    overrides : Overrides, optional
        What people decided about anomalies and holes; a study at hand holds them already.
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``.

    Returns
    -------
    Investigation
        With ``.causes`` (``cause, standing, why_for, why_against, cannot_be_told_from, ...``, one
        row a cause), ``.evidence`` (one row a cause and clue), ``.next_measurements`` (best first),
        ``.cautions``, ``.sentence`` and ``.statements``; columns as in ``CAUSE_COLUMNS``,
        ``EVIDENCE_COLUMNS`` and ``NEXT_COLUMNS`` of ``moisturemap.investigation``.

    Raises
    ------
    SurveyError
        For an answer or a place that cannot be used, or days in an order that cannot be.
    NotEnoughData
        Without a scan and without a test.
    """
    told = answers if isinstance(answers, Answers) else read_answers(answers)
    say = progress or (lambda phrase, fraction: None)
    scanned = [v.id for v in survey.visits if (survey.readings["visit"] == v.id).any()]
    if not scanned and survey.tests.empty:
        message = f"{survey.name}: there is no scan and no test to investigate"
        raise NotEnoughData(message)
    say("mapping the scan", 0.05)
    if scanned and study is None:
        study = decided_study(survey, overrides, visit=scanned[-1], with_holes=False)
    say("comparing visits", 0.4)
    drying = _drying(survey, scanned, study)
    say("judging tests", 0.5)
    judged = () if survey.tests.empty else decide_floor(survey, study).judged
    say("simulating causes", 0.6)
    found = inquire(Findings(survey, study, drying, judged), told, place=place)
    say("done", 1.0)
    return found


def _drying(survey: Survey, scanned: list[str], study: Study | None) -> DryingProgress | None:
    if len(scanned) < 2 or study is None:
        return None
    try:
        return compare_visits(survey, visits=scanned, study=study).drying
    except SurveyError:
        return None


def read_answers(answers: Mapping[str, Any] | str | Path | None) -> Answers:
    """Read answers from a mapping or from ``answers.toml``.

    Parameters
    ----------
    answers : mapping, str or Path, or None
        None reads as no answer.

    Raises
    ------
    FormatError
        If the file is not TOML text.
    SurveyError
        Naming question, answer and what is allowed.
    """
    if answers is None or isinstance(answers, Mapping):
        return Answers.of(answers)
    path = Path(answers)
    if not path.is_file():
        raise SurveyError("there is no such file of answers", source=str(path))
    text, _ = decode(path.read_bytes(), path.name)
    try:
        content = tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise FormatError(
            f"this is not TOML: {error}",
            source=path.name,
            allowed='[answers], then key = "word" lines',
        ) from error
    unknown = [key for key in content if key != "answers"]
    if unknown or not isinstance(content.get("answers", {}), dict):
        raise SurveyError(
            "there is no such table",
            source=path.name,
            value=unknown[0] if unknown else content["answers"],
            allowed="[answers]",
        )
    return Answers.of(content.get("answers", {}), source=path.name)
