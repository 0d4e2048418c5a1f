"""Figures drawn in a copy of the process, or here where none is made."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from moisturemap.bundles import Study
from moisturemap.figures.drawn_beside import drawing_beside
from moisturemap.geostat.kriging import workers
from moisturemap.results.run import read_manifest, write_run
from moisturemap.units import Units

module = sys.modules["moisturemap.geostat.beside"]


def written(study: Study, out: Path) -> tuple[list[str], dict[str, bytes]]:
    """Write a file of words and the figures; the names in order, and the figures."""

    def words(folder: Path) -> list[Path]:
        (folder / "words.txt").write_text("dry")
        return [folder / "words.txt"]

    with drawing_beside() as drawing:
        writer = drawing.beside(words, study, formats=("svg",), units=Units("us"))
        paths = write_run("map", study.survey, out, [writer])
    (run,) = read_manifest(out)["runs"]
    figures = {
        path.name: path.read_bytes().replace(run.encode(), b"")
        for path in paths
        if path.suffix == ".svg"
    }
    assert all(run.encode() in (out / name).read_bytes() for name in figures)
    return [path.name for path in paths], figures


@pytest.mark.skipif(sys.platform != "linux", reason="processes are copied on Linux alone")
def test_a_copy_draws_the_same(flat: Study, tmp_path: Path, monkeypatch) -> None:
    """The same files of the same run, in the same order, wherever they are drawn."""
    copies, copied = [], module.os.fork

    def fork() -> int:
        copies.append(copied())
        return copies[-1]

    monkeypatch.setattr(module.os, "fork", fork)
    monkeypatch.setattr(module.threading, "active_count", lambda: 1)
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: {0, 1})
    beside = written(flat, tmp_path / "beside")
    assert len(copies) == 1
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: {0})
    assert written(flat, tmp_path / "after") == beside
    assert len(copies) == 1
    assert beside[0] == ["words.txt", "map.svg", "map-check.svg", "manifest.json"]
