"""Whether the step proposed next does more than another that might be taken, acts included.

Steps are taken on the floors of ``failed_floors.py`` that leave two or more causes open; what acts
find is in ``acts.py``. Against each proposed step stands one drawn from all that may be taken
(acts not done, and readings at depth), and one drawn from those that touch an open cause. Run with

    python scripts/bench/next_steps.py [floors of each cause] [seeds ...] [--keep FOLDER]
    python scripts/bench/next_steps.py --keep FOLDER --only-report

Rules and rates were frozen before the seeds of the published table were drawn; seeds below 100 were
used to find them.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
from acts import after_act, after_reading
from failed_floors import SLABS, VISITS
from investigation import Case, cases, firm, kept_rows, left_open, true_parts, upper

from moisturemap.investigation.act import ACTS
from moisturemap.investigation.next_step import Reading, next_measurements, possible_readings
from moisturemap.investigation.standing import told_apart

STEPS = 3
"""Proposed steps taken one after another."""

Option = str | Reading


def options_of(case: Case, taken: frozenset[str]) -> list[Option]:
    """List the steps that may be taken: acts by their key, and readings."""
    acts = [one.key for one in ACTS if one.key not in taken]
    acts = [key for key in acts if not _act(key).done(case.answers, case.told)]
    readings = [one for one in possible_readings(case.explanation, "") if one.day in VISITS]
    return [*acts, *readings]


def _act(key: str):
    return next(one for one in ACTS if one.key == key)


def proposed(case: Case, options: list[Option]) -> Option | None:
    """Return the first step of the table that may be taken here."""
    where = ("beside H1", 1.0, 1.0)
    table = next_measurements(case.told, case.stands, case.explanation, case.answers, where)
    by_words = {one.words: one.key for one in ACTS}
    for row in table.to_dict("records"):
        if row["basis"] == "judged":
            key = by_words.get(str(row["what"]))
            if key in options:
                return key
            continue
        day = 0.0 if row["when"] == "now" else VISITS[-1]
        depth = float(row["depth_mm"])
        near = [one for one in options if isinstance(one, Reading) and one.day == day]
        for one in near:
            if abs(one.depth_mm - depth) < 1.0:
                return one
    return None


def take(case: Case, step: Option, rng: np.random.Generator) -> tuple[Case, frozenset[str]]:
    """Take a step; return the floor as it is known then, and causes an act showed."""
    if isinstance(step, Reading):
        return after_reading(case, step, rng), frozenset()
    return after_act(case, step, rng)


def gained(case: Case, after: Case, shown: frozenset[str]) -> dict[str, object]:
    """Return what a step did: causes open, and wrong ones set apart from the true ones.

    Counted are wrong causes that depth has not told from a true one before. One is set apart when
    it is spoken against, when depth tells a true one 20 times better, or when the act showed a true
    one. A step that loses a true cause, or shows a wrong one, sets none apart.
    """
    left, still = left_open(case.stands), left_open(after.stands)
    acting = true_parts(case)
    true = [one for one in acting if one in left]
    wrong = [one for one in left if one not in acting]
    lost = any(one not in still for one in true)
    misled = bool(shown) and not shown & set(acting)

    def by_depth(one: str, known: Case) -> bool:
        support = known.explanation.support
        return any(
            told_apart(t, one, known.explanation) and support[t] > support[one] for t in true
        )

    def apart(one: str) -> bool:
        return one not in still or by_depth(one, after) or bool(shown & set(true))

    wrong = [one for one in wrong if not by_depth(one, case)]
    set_apart = 0 if lost or misled else sum(map(apart, wrong))
    return {"open": len(still), "lost": lost, "apart": set_apart, "wrong": len(wrong)}


def row_of(case: Case, rng: np.random.Generator) -> dict[str, object]:
    """Take the proposed step and others on a floor; then the next ones proposed."""
    options = options_of(case, frozenset())
    first = proposed(case, options)
    row: dict[str, object] = {"cause": case.cause, "left": left_open(case.stands)}
    if first is None:
        return row
    row["proposed"] = _named(first)
    row["by it"] = gained(case, *take(case, first, rng))
    others = [one for one in options if one != first]
    near = [one for one in others if isinstance(one, Reading) or _act(one).tells & set(row["left"])]
    for name, among in (("by any", others), ("by one near", near)):
        if among:
            step = among[int(rng.integers(len(among)))]
            row[name] = gained(case, *take(case, step, rng))
    row["after"] = followed(case, rng)
    return row


def _named(step: Option) -> str:
    return step if isinstance(step, str) else f"reading after {step.day:.0f} days"


def followed(case: Case, rng: np.random.Generator) -> list[dict[str, object]]:
    """Take the steps proposed one after another; what is known after each."""
    found, taken = [], frozenset()
    for _ in range(STEPS):
        step = proposed(case, options_of(case, taken))
        if step is not None:
            case, _ = take(case, step, rng)
            taken |= {step} if isinstance(step, str) else frozenset()
        named, still = firm(case.stands), left_open(case.stands)
        against = {one.cause for one in case.stands if one.standing == "against"}
        found.append(
            {
                "open": len(still),
                "kept": not against & set(case.parts),
                "firm": named,
                "wrong": named != "" and named not in true_parts(case),
            }
        )
    return found


def slab_of_bench(per_cause: int, seed: int, slab: int) -> list[dict[str, object]]:
    """Take steps on the floors of one slab; floors with fewer than two open only count."""
    rows = []
    for case, rng in cases(per_cause, seed, slab):
        few = len(left_open(case.stands)) < 2
        known = {one.cause: one.standing for one in case.stands}
        kept = all(known.get(part) != "against" for part in case.parts)
        row = {"cause": case.cause, "left": left_open(case.stands)} if few else row_of(case, rng)
        named = firm(case.stands)
        wrong = named != "" and named not in true_parts(case)
        rows.append(
            row | {"kept": kept, "firm": named, "wrong": wrong, "floats": slab == SLABS - 1}
        )
    return rows


def compared(table: pd.DataFrame, other: str) -> str:
    """Say how often the proposed step did better than another."""
    those = table.dropna(subset=[other]) if other in table else table.iloc[:0]
    if not len(those):
        return f"{other}: none"
    it, by = pd.DataFrame(those["by it"].tolist()), pd.DataFrame(those[other].tolist())
    lines = []
    for name in ("apart", "open"):
        # where depth has told all wrong causes from the true one nothing is left to set apart
        some = (it["wrong"] > 0).to_numpy() | (name == "open")
        gain = (it[name] - by[name]).to_numpy(float) * (1.0 if name == "apart" else -1.0)
        if name == "open":
            # a true cause must stay open for a step to count as a win
            gain = np.where(it["lost"], np.minimum(gain, -1.0 * ~by["lost"]), gain)
            gain = np.where(by["lost"] & ~it["lost"], 1.0, gain)
        gain = gain[some]
        won, tied = float((gain > 0).mean()), float((gain == 0).mean())
        untied = won / max(1.0 - tied, 1e-9)
        lines.append(
            f"{name}, {int(some.sum())} floors: better {won:.2f}, as good {tied:.2f},"
            f" ties as half {won + tied / 2:.2f},"
            f" of those that differ {untied:.2f} ({it[name].mean():.2f} against"
            f" {by[name].mean():.2f})"
        )
    return f"{len(those)} floors, {other}\n    " + "\n    ".join(lines)


def report(table: pd.DataFrame) -> None:
    """Print how proposed steps fare, and what is open after some."""
    several = table[table["left"].map(len) >= 2]
    print(f"{len(several)} of {len(table)} floors with two or more open")
    some = several.dropna(subset=["proposed"])
    print(f"a step is proposed on {len(some)}:", some["proposed"].value_counts().to_dict())
    # on the others no listed cause is true, or it is not open any more
    parts = [set(cause.split("+")) for cause in some["cause"]]
    true = some[[bool(one & set(left)) for one, left in zip(parts, some["left"], strict=True)]]
    for other in ("by any", "by one near"):
        print(compared(true, other))
    lost = pd.DataFrame(true["by it"].tolist())["lost"]
    print(f"the proposed step loses a true cause on {int(lost.sum())} of {len(true)}")
    single = ~table["cause"].str.contains(r"\+") & (table["cause"] != "pocket")
    for words, those in (("one listed cause", table[single]), ("all", table)):
        for step in range(STEPS + 1):
            print(f"{words}, after {step} steps: {_state(those, step)}")


def _state(table: pd.DataFrame, step: int) -> str:
    """Say what is open, kept and firm after some steps, on all floors."""
    open_, kept, named, wrong = [], [], 0, 0
    for row in table.to_dict("records"):
        after = row.get("after")
        if step and isinstance(after, list):
            now = after[step - 1]
            open_.append(now["open"])
            kept.append(now["kept"] or row["cause"] == "pocket")
            named, wrong = named + (now["firm"] != ""), wrong + now["wrong"]
        else:
            open_.append(len(row["left"]))
            kept.append(row["kept"] or row["cause"] == "pocket")
            named += row["firm"] != ""
            wrong += row["wrong"]
    few = float((np.array(open_) <= 2).mean())
    return (
        f"{np.mean(open_):.2f} open, two or fewer {few:.2f}, kept {np.mean(kept):.3f},"
        f" firm {named}, wrong {wrong}, bound {upper(wrong, named):.3f}"
    )


def main(per_cause: int, seeds: list[int], keep: Path) -> None:
    """Take steps slab by slab and report."""
    report(kept_rows(per_cause, seeds, keep, slab_of_bench))


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("per_cause", type=int, nargs="?", default=12)
    asked.add_argument("seeds", type=int, nargs="*", default=[1])
    asked.add_argument("--keep", type=Path, help="folder of finished slabs; a run goes on from it")
    asked.add_argument("--only-report", action="store_true", help="report what is kept")
    told = asked.parse_args()
    seeds = [] if told.only_report else told.seeds
    with tempfile.TemporaryDirectory() as place:
        main(told.per_cause, seeds, told.keep or Path(place))
