"""What the rules of its method say about a test while it is still being typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

import pandas as pd

from moisturemap.acceptance import entries_of, examine, packaged_rules, result_of
from moisturemap.entry.typed_rows import row_of_test
from moisturemap.survey import TEST_COLUMNS, Survey

TIMES = ("drilled", "lined", "placed", "read", "second_read")


def examine_typed(survey: Survey, typed: Mapping[str, Any], visit: str) -> dict[str, Any]:
    """Return ``findings`` and ``result`` of a test as typed so far; nothing is stored.

    Parameters
    ----------
    survey : Survey
    typed : mapping
        Fields by name, as typed.
    visit : str
        Id of the visit.

    Raises
    ------
    SurveyError
        When a field cannot be understood.
    """
    row = row_of_test(typed, visit, survey.plan)
    row = {name: _moment(value) if name in TIMES else value for name, value in row.items()}
    blank = dict.fromkeys(TEST_COLUMNS)
    tests = pd.DataFrame([{**blank, **row, "test": "typed"}])
    entry = entries_of(replace(survey, tests=tests))[0]
    findings = [asdict(one) for one in examine(entry, packaged_rules())]
    result = result_of(entry)
    return {
        "findings": findings,
        "result": result.value,
        "how": "; ".join((result.how, *result.remarks)),
        "unit": entry.method.quantity.unit,
    }


def _moment(value: Any) -> pd.Timestamp:
    return pd.Timestamp(datetime.fromisoformat(str(value)))
