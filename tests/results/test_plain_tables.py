"""Rows of tables as plain types, whatever stands in them."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone

import pandas as pd

from moisturemap.results.summary import records

SUMMER = timezone(timedelta(hours=2))


def test_times_of_two_offsets_in_one_column_are_texts() -> None:
    """A visit typed here beside one of a file, or one before and one after clocks are changed."""
    started = [
        datetime(2026, 3, 2, 8, tzinfo=UTC),
        datetime(2026, 5, 18, 8, 30, tzinfo=SUMMER),
        None,
    ]
    rows = records(pd.DataFrame({"visit": ["v1", "v2", "v3"], "started": started}))
    told = ["2026-03-02T08:00:00+00:00", "2026-05-18T08:30:00+02:00", None]
    assert [one["started"] for one in json.loads(json.dumps(rows))] == told
    again = records(pd.DataFrame({"started": started[:1]}))
    assert again == [{"started": told[0]}]
