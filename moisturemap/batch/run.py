"""A run over many floors: what is done already is kept, the rest done side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from moisturemap.batch.dataset import need_pyarrow, write_dataset
from moisturemap.batch.kept import KeptResults, fingerprint_of
from moisturemap.batch.left_out import LeftOut, find_left_out
from moisturemap.batch.listing import FloorSource, find_surveys
from moisturemap.batch.options import BatchOptions
from moisturemap.batch.overview import overview_rows, write_overview
from moisturemap.batch.workers import Task, on_cluster, on_this_machine
from moisturemap.errors import NotEnoughData
from moisturemap.results.run import write_run
from moisturemap.workflow.read_earlier import read_earlier_floors

Progress = Callable[[str, float], None] | None


@dataclass(frozen=True)
class BatchResult:
    """What became of a run.

    Attributes
    ----------
    floors : int
        Floors of the run.
    done : int
        Of these, done now; those that could not be done are among the failures alone.
    kept : int
        Done by an earlier run and unchanged since.
    failures : tuple of (str, str)
        Floor and why it was refused.
    files : tuple of Path
        The dataset and the overview; empty when none was asked.
    left_out : tuple of LeftOut
        What lies below the folder and looks like a survey, but is none of the run.
    """

    floors: int
    done: int
    kept: int
    failures: tuple[tuple[str, str], ...]
    files: tuple[Path, ...]
    left_out: tuple[LeftOut, ...] = ()


def run_batch(
    source: Path,
    out: Path,
    *,
    options: BatchOptions | None = None,
    today: date | None = None,
    with_files: bool = True,
    progress: Progress = None,
) -> BatchResult:
    """Study every floor of a folder or list, and write one dataset and one overview.

    Parameters
    ----------
    source : Path
        Folder of surveys, or a .csv list; see :func:`find_surveys`.
    out : Path
        Folder of the run. Floors finished in it before and unchanged since are not done again.
    options : BatchOptions, optional
    today : date, optional
        Day by which calibrated tests are judged.
    with_files : bool
        False keeps the results by floor, for :func:`floors_known`, and writes no tables or page.
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``: what is finished
        by then is kept.

    Raises
    ------
    SurveyError, NotEnoughData
        When the list or the file of earlier floors cannot be understood, or there is no survey.
        What is wrong with a single floor is part of the result.
    OSError
        When nothing can be written to the folder of the run; told before any floor is done.
    MissingExtra
        When pyarrow, or dask.distributed for a scheduler, is not installed.
    """
    if with_files:
        need_pyarrow()
    options, day = options or BatchOptions(), today or date.today()
    if options.earlier is not None:
        read_earlier_floors(options.earlier)
    say = progress or (lambda phrase, fraction: None)
    sources = find_surveys(source, without=out)
    base = source if source.is_dir() else source.parent
    kept = KeptResults(out)
    kept.prepare()
    say("looking for what is done already", 0.0)
    waiting = [one for one in sources if not _finished(kept, one, options, day)]
    tasks = [Task(one, options, out, day, _shown(one, base)) for one in waiting]
    for count, result in enumerate(_results(tasks, options), start=1):
        kept.write(result)
        say(f"{count} of {len(tasks)} floors", 0.97 * count / len(tasks))
    kept.keep_only({one.floor for one in sources})
    results = [content for one in sources if (content := kept.read(one.floor)) is not None]
    files: list[Path] = []
    if with_files:
        say("writing the dataset", 0.98)
        files = _write(results, out, day)
    say("done", 1.0)
    failures = tuple((one["floor"], one["error"]) for one in results if one["error"])
    unchanged = len(sources) - len(tasks)
    left_out = find_left_out(source, sources, without=out)
    done = len(tasks) - len(failures)
    return BatchResult(len(sources), done, unchanged, failures, tuple(files), left_out)


def floors_known(
    source: Path,
    out: Path,
    *,
    options: BatchOptions | None = None,
    today: date | None = None,
) -> list[dict[str, Any]]:
    """Return what earlier runs found of every floor of a folder or list, studying none.

    Parameters
    ----------
    source : Path
        Folder of surveys and project files, or a .csv list; see :func:`find_surveys`.
    out : Path
        Folder of the run; it need not exist. What is missing in it is done by
        ``run_batch(source, out, with_files=False)``, which may be stopped and goes on from there.
    options, today
        As of :func:`run_batch`.

    Returns
    -------
    list of dict
        A row a floor, in plain types: ``state``, then the columns of ``overview.SHOWN`` (None
        where nothing is known), ``survey`` (path relative to ``source``), ``error`` ("" or the
        refusal) and ``map`` (None, or ``width, height, low, high, model, cells``; see
        :func:`coarse_map`). ``state`` is ``done``; ``failed``; ``changed``: the row tells of an
        earlier state of the files, options or day; or ``waiting``: not done yet. No floor gives
        an empty list.

    Raises
    ------
    SurveyError
        When the list cannot be understood, or there is no such folder.
    """
    options, day = options or BatchOptions(), today or date.today()
    try:
        sources = find_surveys(source, without=out)
    except NotEnoughData:
        return []
    base = source if source.is_dir() else source.parent
    kept = KeptResults(out)
    found = []
    for one in sources:
        content = kept.read(one.floor)
        if content is None:
            content = Task(one, options, out, day, _shown(one, base)).failed("")
            state = "waiting"
        elif content["error"]:
            state = "failed"
        else:
            state = "done" if _finished(kept, one, options, day) else "changed"
        found.append({"state": state, **overview_rows([content])[0]})
    return found


def _write(results: list[dict[str, Any]], out: Path, day: date) -> list[Path]:
    def tables(folder: Path) -> list[Path]:
        return write_dataset(results, folder)

    def page(folder: Path) -> list[Path]:
        return [write_overview(results, folder, day)]

    return write_run("batch", None, out, [tables, page])


def _finished(kept: KeptResults, source: FloorSource, options: BatchOptions, day: date) -> bool:
    try:
        return kept.finished(source.floor, fingerprint_of(source, options), day)
    except OSError:
        return False


def _shown(source: FloorSource, base: Path) -> str:
    path, start = source.path.resolve(), base.resolve()
    return path.relative_to(start).as_posix() if path.is_relative_to(start) else path.as_posix()


def _results(tasks: list[Task], options: BatchOptions) -> Iterator[dict[str, Any]]:
    if not tasks:
        return iter(())
    if options.scheduler is not None:
        return on_cluster(tasks, options.scheduler)
    return on_this_machine(tasks, options.workers)
