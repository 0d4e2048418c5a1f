"""How often an investigation is firm and wrong, keeps the true cause, and leaves few open.

The floors are those of ``failed_floors.py``. Run with

    python scripts/bench/investigation.py [floors of each cause] [seeds ...] [--keep FOLDER]
    python scripts/bench/investigation.py --keep FOLDER --only-report

Every slab of a seed is kept as a table of its floors and a run goes on from what is kept.
Thresholds in ``moisturemap/investigation`` were frozen before the seeds of the published table were
drawn; seeds below 100 were used to find them.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import numpy as np
import pandas as pd
from failed_floors import (
    CAUSES,
    IN_A_SCREED,
    ROOM,
    SLABS,
    VISITS,
    answered,
    geometry,
    margins,
    matters,
    observe,
    simulate,
    stories,
)
from scipy.stats import beta
from shapely.geometry import box

from moisturemap.floorplan import Room, Slab
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.depth_clues import depth_clues, wet_in_test
from moisturemap.investigation.explain import Explanation, Observation, explain
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.next_step import next_measurements
from moisturemap.investigation.other_clues import air_clues, change_clues
from moisturemap.investigation.plan_clues import plan_clues
from moisturemap.investigation.standing import Standing, ruled_out, standings, told_apart
from moisturemap.investigation.story import Story
from moisturemap.investigation.tested import DatedReading, TestedPlace


@dataclass
class Case:
    """One invented floor, what is known of it, and what was made of that."""

    cause: str
    story: Story
    column: np.ndarray  # (days, place or beside, cells)
    before: np.ndarray  # (cells,), shortly before covering
    seen: list[Observation]
    bias: float  # of the probe [%RH]
    answers: Answers
    measured: list[Clue]  # all clues but those of answers and depths
    told: list[Clue]  # and those of answers
    strain: dict[str, bool]
    explanation: Explanation
    stands: tuple[Standing, ...]

    @property
    def parts(self) -> list[str]:
        """Causes that act."""
        return self.cause.split("+")


def cases(per_cause: int, seed: int, slab: int) -> Iterator[tuple[Case, np.random.Generator]]:
    """Draw the floors of one slab, and judge them."""
    rng = np.random.default_rng([seed, slab])
    story = stories(np.random.default_rng(seed))[slab]
    floating = story.build_up == "floating"
    for cause in CAUSES:
        if cause not in IN_A_SCREED if floating else cause == "insulation":
            continue
        wanted = per_cause if cause == "insulation" else -(-per_cause // 3)
        tries = 12 if cause in ("construction-water", "adhesive") else 4
        made = simulate(cause, story, tries * wanted, rng)
        for k in np.flatnonzero(matters(cause, made.h_pct[1]))[:wanted]:
            strain = {name: bool(flags[k]) for name, flags in made.strain.items()}
            column, before = made.h_pct[:, k], made.before_pct[k]
            yield known_case(cause, story, column, before, strain, rng), rng


def known_case(cause, story, column, before, strain, rng) -> Case:
    """Read a floor at three depths twice, ask about it, and weigh the causes."""
    biased = rng.random() < 0.1
    bias = float(rng.normal(0.0, 1.0)) + (3.0 if biased else 0.0)
    depths = (0.10, 0.40, 0.80)
    seen = observe(column[0, 0], story, depths, VISITS[0], rng, bias)
    seen += observe(column[1, 0], story, depths, VISITS[1], rng, bias)
    if cause not in ("construction-water", "adhesive") and rng.random() < 0.7:
        seen += observe(column[1, 1], story, (0.4, 0.8), 0.0, rng, bias, beside=True)
    answers, false = answered(cause, story, rng)
    place, drawn = geometry(
        cause,
        rng,
        screed=story.build_up == "floating",
        edge=strain.pop("at the edge of the screed", False),
    )
    strain |= {
        "probe 3 %RH off": biased,
        "a false answer": false,
        "pipe not drawn, or peak elsewhere": not drawn,
        "two causes": "+" in cause,
        "cause not on the list": cause == "pocket",
    }
    told = [*plan_clues(place, -float(story.covered))]
    wet = wet_in_test(tested(story, [one for one in seen if one.day == 0.0 and not one.beside]))
    told += [wet] if wet is not None else []
    # two scans show a change of the top 30 mm by 2 %RH
    change = float((column[1, 0, :6] - column[0, 0, :6]).mean()) + rng.normal(0.0, 0.8)
    told += change_clues(
        *(float(change > 2.0), float(change < -2.0), VISITS[0] - story.covered),
        floats=story.build_up == "floating",
    )
    told += air_clues(margins(cause, rng))
    measured, told = told, [*told, *history_clues(answers)]
    explanation, stands = judged(story, seen, told)
    return Case(
        *(cause, story, column, before, seen, bias, answers, measured, told),
        *(strain, explanation, stands),
    )


def judged(
    story: Story, seen: list[Observation], told: list[Clue]
) -> tuple[Explanation, tuple[Standing, ...]]:
    """Weigh the causes as the investigation of a survey does."""
    explanation = explain(story, seen).without(ruled_out(told))
    clues = [*told, *depth_clues(tested(story, seen), explanation, ())]
    return explanation, standings(clues, explanation)


def tested(story: Story, observations: list[Observation]) -> TestedPlace:
    room = Room("room", box(0, 0, *ROOM), Slab(thickness_mm=story.thickness_mm))
    day = pd.Timestamp("2025-01-01").date()
    readings = tuple(DatedReading(day, o.depth_mm, o.rh_pct, o.sd_pct) for o in observations)
    return TestedPlace("H1", room, 1.0, 1.0, story.thickness_mm, readings)


def acts(case: Case) -> dict[str, object]:
    """Return the acts proposed, and the open pairs told apart by depth, by an act, by nothing."""
    left = left_open(case.stands)
    table = next_measurements(case.told, case.stands, case.explanation, case.answers, None)
    tells = [set(str(row).split(", ")) for row in table["divides"]]
    by_depth, by_act, by_none = 0, 0, []
    for first, second in combinations(left, 2):
        if told_apart(first, second, case.explanation):
            by_depth += 1
        elif any((first in one) != (second in one) for one in tells):
            by_act += 1
        else:
            by_none.append(f"{first} and {second}")
    return {
        "act proposed": len(table) > 0,
        "pairs by depth": by_depth,
        "pairs by an act": by_act,
        "pairs by nothing": by_none,
    }


def firm(stands: tuple[Standing, ...]) -> str:
    """Return the cause pointed to, or ""."""
    return next((one.cause for one in stands if one.standing == "points-to"), "")


def left_open(stands: tuple[Standing, ...]) -> list[str]:
    """Return the listed causes left open."""
    held = ("open", "points-to")
    return [one.cause for one in stands if one.standing in held and one.cause != "other"]


def row_of(case: Case) -> dict[str, object]:
    """Return what became of a floor."""
    known = {one.cause: one.standing for one in case.stands}
    left, named = left_open(case.stands), firm(case.stands)
    kept = [known.get(part) != "against" for part in case.parts]
    return {
        "cause": case.cause,
        "kept": all(kept) or case.cause == "pocket",
        "one kept": any(kept) or case.cause == "pocket",
        "open": left,
        "firm": named,
        # a finding reads "at least in part": naming one of two is not wrong
        "wrong": named != "" and named not in true_parts(case),
        "strain": [name for name, on in case.strain.items() if on],
    }


def true_parts(case: Case) -> list[str]:
    """Causes that act, and the insulation where their water lies in it."""
    return [*case.parts, *(["insulation"] if case.strain.get("water in the insulation") else [])]


def null_rows(case: Case, rng: np.random.Generator) -> dict[str, object]:
    """Return what one depth, and depths in a wrong order, are made of: never firm."""
    middle = 0.4 * case.story.thickness_mm
    single = [one for one in case.seen if one.depth_mm == middle and one.day == 0.0][:1]
    told = [clue for clue in case.told if clue.kind != "depth"]
    order = _shuffled(case.seen, rng)
    shuffled = [
        Observation(a.day, a.depth_mm, case.seen[j].rh_pct, a.sd_pct, a.probe, a.beside)
        for a, j in zip(case.seen, order, strict=True)
    ]
    mixed = firm(judged(case.story, shuffled, told)[1])
    return {
        "one depth firm": firm(judged(case.story, single, told)[1]) != "",
        "shuffled firm": mixed != "",
        "shuffled wrong": mixed != "" and mixed not in true_parts(case),
    }


SAME_PCT = 3.0
"""Readings this close are the same to a probe [%RH], twice its error and more."""


def _shuffled(seen: list[Observation], rng: np.random.Generator) -> np.ndarray:
    """Order in which some reading stands where another was, by more than the error of the probe.

    Two visits that read alike, exchanged, are the floor as it was read and no test of anything;
    where all readings are alike no order is another.
    """
    values = np.array([one.rh_pct for one in seen])
    for _ in range(100):
        order = rng.permutation(len(seen))
        if np.abs(values[order] - values).max() > SAME_PCT:
            break
    return order


def slab_of_bench(per_cause: int, seed: int, slab: int) -> list[dict[str, object]]:
    """Judge the floors of one slab."""
    return [
        row_of(case) | acts(case) | null_rows(case, rng)
        for case, rng in cases(per_cause, seed, slab)
    ]


def kept_rows(
    per_cause: int,
    seeds: list[int],
    keep: Path,
    bench: Callable[[int, int, int], list[dict[str, object]]],
) -> pd.DataFrame:
    """Run a bench slab by slab, keeping each, and return the rows of all that are kept."""
    keep.mkdir(parents=True, exist_ok=True)
    for seed in seeds:
        for slab in range(SLABS):
            path = keep / f"{per_cause}-{seed}-{slab}.json"
            if not path.exists():
                began = time.process_time()
                path.write_text(json.dumps(bench(per_cause, seed, slab), default=float))
                spent = time.process_time() - began
                print(f"seed {seed}, slab {slab}: {spent:.0f} s", file=sys.stderr, flush=True)
    files = sorted(keep.glob("*.json"))
    return pd.DataFrame([row for path in files for row in json.loads(path.read_text())])


def main(per_cause: int, seeds: list[int], keep: Path) -> None:
    """Judge slab by slab and report."""
    report(kept_rows(per_cause, seeds, keep, slab_of_bench))


def upper(wrong: int, count: int) -> float:
    """Upper 95% bound of a share (Clopper and Pearson)."""
    return 1.0 if wrong >= count else float(beta.ppf(0.95, wrong + 1, count - wrong))


ALIKE = (
    ("pressure-pipe", "drain", "ground", "insulation"),
    ("flood", "surface-water", "condensation"),
)
"""Causes that wet the slab from the same face: the same water at the same place."""


def faces(left: list[str]) -> int:
    """Causes left open, those that wet the slab from the same face as one."""
    return len({next((k for k, group in enumerate(ALIKE) if one in group), one) for one in left})


def line(name: str, table: pd.DataFrame) -> str:
    """One line of a report."""
    count, named, wrong = len(table), int((table["firm"] != "").sum()), int(table["wrong"].sum())
    left = table["open"].map(len)
    few = [(left <= 2).mean(), (table["open"].map(faces) <= 2).mean()]
    return (
        f"{name:36s}{count:6d}{table['kept'].mean():8.3f}{table['one kept'].mean():8.3f}"
        f"{left.mean():7.2f}{few[0]:7.2f}{few[1]:7.2f}{named:7d}{wrong:6d}"
        f"{upper(wrong, named):8.3f}{upper(wrong, count):8.4f}"
    )


def report(table: pd.DataFrame) -> None:
    """Print what became of the floors, by cause and by strain, and of further readings."""
    print(
        f"{'floors of':36s}{'floors':>6s}{'kept':>8s}{'one':>8s}{'open':>7s}{'few':>7s}"
        f"{'faces':>7s}{'firm':>7s}{'wrong':>6s}{'of firm':>8s}{'of all':>8s}"
    )
    for cause in CAUSES:
        those = table[table["cause"] == cause]
        if len(those):
            beside = those["open"].explode().value_counts()
            shown = ", ".join(f"{name} {n}" for name, n in beside.items() if name != cause)
            print(line(cause, those), shown)
    single = ~table["cause"].str.contains(r"\+") & (table["cause"] != "pocket")
    print(line("one listed cause", table[single]))
    for name in sorted(set(table["strain"].explode().dropna())):
        print(line(name, table[table["strain"].map(lambda on, name=name: name in on)]))
    print(line("all", table))
    for name in ("one depth firm", "shuffled firm", "shuffled wrong"):
        print(f"{name}: {int(table[name].sum())} of {len(table)}")
    if "act proposed" in table:
        report_acts(table.dropna(subset=["act proposed"]))


def report_acts(table: pd.DataFrame) -> None:
    """Print on how many floors, and for how many pairs left open, an act is proposed."""
    several = table[table["open"].map(len) >= 2]
    share = several["act proposed"].astype(float).mean()
    print(f"an act is proposed on {share:.3f} of {len(several)} floors with two or more open")
    nothing = several["pairs by nothing"].explode().dropna().value_counts()
    depth, act = (int(several[name].sum()) for name in ("pairs by depth", "pairs by an act"))
    print(f"pairs left open: {depth} told apart by depth, {act} by an act, {nothing.sum()} by none")
    print(", ".join(f"{name} {n}" for name, n in nothing.items()))
    pairs = several["open"].map(lambda left: [" and ".join(p) for p in combinations(left, 2)])
    most = pairs.explode().value_counts().head(10)
    print("most often open together:", ", ".join(f"{name} {n}" for name, n in most.items()))


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("per_cause", type=int, nargs="?", default=30)
    asked.add_argument("seeds", type=int, nargs="*", default=[1])
    asked.add_argument("--keep", type=Path, help="folder of finished slabs; a run goes on from it")
    asked.add_argument("--only-report", action="store_true", help="report what is kept")
    told = asked.parse_args()
    seeds = [] if told.only_report else told.seeds
    with tempfile.TemporaryDirectory() as place:
        main(told.per_cause, seeds, told.keep or Path(place))
