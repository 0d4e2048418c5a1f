"""Floors shared between the workers of one run of tests."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from kept import RUN, drop, folder_of, kept


def test_what_one_worker_made_another_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    """Made once in a run, anew in the next, and gone when the run has ended."""
    made: list[int] = []

    def make() -> list[int]:
        made.append(len(made))
        return [*made]

    for run, told in (("one-a", [0]), ("one-a", [0]), ("one-b", [0, 1])):
        monkeypatch.setenv(RUN, run)
        assert kept("floor", make) == told
    for run in ("one-a", "one-b"):
        drop(run)
        assert not folder_of(run).exists()
    monkeypatch.delenv(RUN)
    assert kept("floor", make) == [0, 1, 2]
