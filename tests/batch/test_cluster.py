"""The same run on a real local Dask cluster, with a worker killed in the middle."""

from __future__ import annotations

import os
import signal
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from invented_jobs import write_floors

from moisturemap.batch import BatchOptions, run_batch
from moisturemap.errors import OptionError

DAY = date(2026, 3, 20)


@pytest.mark.thorough
@pytest.mark.filterwarnings("ignore")
def test_a_cluster_gives_the_same_results_also_when_a_worker_is_killed(tmp_path: Path) -> None:
    """Three workers, one killed by its pid after the first floor; the tables are the same bytes."""
    from distributed import LocalCluster

    jobs = write_floors(tmp_path / "jobs", 5)
    here = run_batch(jobs, tmp_path / "here", options=BatchOptions(workers=2), today=DAY)
    with LocalCluster(
        n_workers=3, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        killed: list[int] = []

        def kill_one(phrase: str, _: float) -> None:
            if phrase.startswith("1 of") and not killed:
                nanny = next(iter(cluster.workers.values()))
                killed.append(nanny.pid)
                os.kill(nanny.pid, signal.SIGKILL)

        options = BatchOptions(scheduler=cluster.scheduler_address)
        there = run_batch(jobs, tmp_path / "there", options=options, today=DAY, progress=kill_one)
    assert killed
    assert there.failures == here.failures
    for name in ("floors", "zones", "tests", "visits"):
        one, other = (tmp_path / run / f"{name}.csv" for run in ("here", "there"))
        assert one.read_bytes() == other.read_bytes(), name
    assert len(pd.read_parquet(tmp_path / "there" / "floors.parquet")) == 5


def test_an_address_where_nothing_answers_is_refused(floors: Path, tmp_path: Path) -> None:
    """The refusal names the address."""
    options = BatchOptions(scheduler="nonsense://127.0.0.1:9")
    with pytest.raises(OptionError, match="nonsense"):
        run_batch(floors, tmp_path, options=options, today=DAY)


def test_a_refused_address_leaves_no_client_behind(floors: Path, tmp_path: Path) -> None:
    """Later work in this process must not go to a scheduler that was never there."""
    from distributed.client import _get_global_client

    options = BatchOptions(scheduler="nonsense://127.0.0.1:9")
    with pytest.raises(OptionError):
        run_batch(floors, tmp_path, options=options, today=DAY)
    assert _get_global_client() is None


def test_wrong_options_are_refused() -> None:
    """Kinds of report and the number of workers."""
    wrong: list[dict[str, Any]] = [{"workers": 0}, {"reports": ("txt",)}, {"reports": "pdf"}]
    for one in wrong:
        with pytest.raises(OptionError):
            BatchOptions(**one)
