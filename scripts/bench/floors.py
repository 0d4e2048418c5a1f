"""Score the whole main path on invented floors with known truth.

    python scripts/bench/floors.py --floors 200

Every fourth floor has nothing embedded, for false alarms. A reading counts as disturbed by its
distance from the undisturbed, noise-free value in noise sd: 4 and more must be found, less than 1
must not be flagged, between the two either is right.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely

from moisturemap.bundles import Study
from moisturemap.synthetic import SyntheticFloor, make_floor, mixed_recipe
from moisturemap.workflow.study import study

LOCAL = ("pipe", "plate", "box", "stray", "loop", "mesh", "shifted")
CLASSES = ((4.0, 6.0), (6.0, 8.0), (8.0, np.inf))
CLEARANCE = 0.3
LEAST_WET = 0.5


@dataclass
class Tally:
    """Counts and lists over floors."""

    counts: Counter[str] = field(default_factory=Counter)
    lists: dict[str, list[float]] = field(default_factory=dict)
    by_kind: Counter[tuple[str, int, str]] = field(default_factory=Counter)

    def add(self, **counts: int) -> None:
        """Add to counts by name."""
        for name, count in counts.items():
            self.counts[name] += int(count)

    def note(self, name: str, value: float) -> None:
        """Add a value to a list."""
        self.lists.setdefault(name, []).append(float(value))

    def include(self, other: Tally) -> None:
        """Add the counts and lists of another tally."""
        self.counts.update(other.counts)
        self.by_kind.update(other.by_kind)
        for name, values in other.lists.items():
            self.lists.setdefault(name, []).extend(values)


def score_readings(floor: SyntheticFloor, result: Study, tally: Tally) -> None:
    """Compare flags with the truth, reading by reading."""
    order = result.readings["reading"].to_numpy() - 1
    off = np.abs(floor.disturbance[order]) / floor.recipe.noise_sd
    cause = floor.cause[order]
    flagged = result.readings["anomaly"].to_numpy() != ""
    local = np.isin(cause, LOCAL)
    strong, plain, clean = local & (off >= 4), local & (off >= 2), off < 1
    tally.add(
        strong=strong.sum(),
        strong_found=(strong & flagged).sum(),
        flagged=flagged.sum(),
        plain=plain.sum(),
        plain_found=(plain & flagged).sum(),
        clean=clean.sum(),
        clean_flagged=(clean & flagged).sum(),
        false_plain=(flagged & (off < 2)).sum(),
    )
    for kind in ("pipe", "plate", "box", "stray"):
        for place, (low, high) in enumerate(CLASSES):
            of = strong & (cause == kind) & (off >= low) & (off < high)
            tally.by_kind[kind, place, "all"] += int(of.sum())
            tally.by_kind[kind, place, "found"] += int((of & flagged).sum())


def score_map(floor: SyntheticFloor, result: Study, tally: Tally) -> None:
    """Compare the surface and the wet zones with the truth."""
    grid = result.moisture.grid
    cells = grid.centres()
    truth = floor.truth(cells)
    mean = result.surface["mean"].to_numpy()[grid.inside]
    sd = result.surface["sd"].to_numpy()[grid.inside]
    known = np.isfinite(mean)
    inside = np.abs(truth - mean)[known] <= 1.6449 * sd[known]
    tally.note("coverage", float(inside.mean()))
    tally.note("rmse", float(np.sqrt(np.mean((truth - mean)[known] ** 2))))
    wet = floor.wet(cells)
    union = shapely.union_all(result.zones.geometry.to_numpy()) if len(result.zones) else None
    drawn = (
        np.zeros(len(cells), dtype=bool)
        if union is None
        else shapely.covers(union, shapely.points(cells))
    )
    area = wet.sum() * grid.spacing**2
    if area >= LEAST_WET:
        tally.note("iou", float((wet & drawn).sum() / (wet | drawn).sum()))
        tally.note("area", float(drawn.sum() / wet.sum() - 1.0))
    else:
        tally.add(dry_floors=1, dry_with_zone=drawn.any())


def score_holes(floor: SyntheticFloor, result: Study, tally: Tally) -> None:
    """Compare the holes with the wettest twentieth, and measure clearances."""
    holes = result.drill_plan
    tally.add(plans=1, empty_plans=len(holes) == 0)
    if len(holes) == 0:
        return
    truth = floor.truth(result.moisture.grid.centres())
    at = floor.truth(holes[["x", "y"]].to_numpy(dtype=float))
    tally.add(hit=bool((at >= np.quantile(truth, 0.95)).any()))
    flagged = [
        shape
        for shape, kind in zip(result.anomalies.geometry, result.anomalies["kind"], strict=True)
        if kind != "mesh"
    ]
    for hole in holes.geometry:
        tally.add(holes=1)
        tally.add(too_near=any(hole.distance(shape) < CLEARANCE - 1e-9 for shape in flagged))
        tally.add(
            near_truth=any(
                hole.distance(one.geometry) < CLEARANCE
                for one in floor.services
                if one.kind in ("pipe", "loop", "plate", "box")
            )
        )


def score_floor(seed: int) -> Tally:
    """Run the main path on one floor."""
    tally = Tally()
    embedded = seed % 4 != 3
    floor = make_floor(mixed_recipe(seed, disturbed=embedded), seed)
    began = time.process_time()
    result = study(floor.survey)
    tally.note("seconds", time.process_time() - began)
    tally.note("readings", len(floor.survey.readings))
    score_readings(floor, result, tally)
    score_map(floor, result, tally)
    score_holes(floor, result, tally)
    if not embedded:
        tally.add(calm=1, calm_with_find=len(result.anomalies) > 0)
    return tally


def run(floors: int, first: int, processes: int) -> Tally:
    """Run the main path on every floor, on several processes."""
    total = Tally()
    with ProcessPoolExecutor(processes) as pool:
        for one in pool.map(score_floor, range(first, first + floors)):
            total.include(one)
    return total


def _share(found: int, total: int) -> float:
    return found / total if total else float("nan")


def _f1(recall: float, precision: float) -> float:
    return 2 * recall * precision / (recall + precision)


def report(tally: Tally, floors: int) -> list[str]:
    """Return the table as lines of Markdown."""
    c: dict[str, Any] = defaultdict(int, tally.counts)
    recall = _share(c["strong_found"], c["strong"])
    precision = 1 - _share(c["clean_flagged"], c["flagged"])
    plain, exact = _share(c["plain_found"], c["plain"]), 1 - _share(c["false_plain"], c["flagged"])
    mean = {name: float(np.mean(values)) for name, values in tally.lists.items()}
    rows = [
        ("floors", f"{floors}, mean {mean['readings']:.0f} readings", ""),
        ("recall, readings off by at least 4 noise sd", f"{recall:.3f}", ""),
        ("precision, readings off by less than 1 noise sd count as false", f"{precision:.3f}", ""),
        ("F1", f"{_f1(recall, precision):.3f}", ">= 0.85"),
        (
            "recall / precision / F1 with one line at 2 noise sd",
            f"{plain:.3f} / {exact:.3f} / {_f1(plain, exact):.3f}",
            "",
        ),
        ("clean readings lost", f"{_share(c['clean_flagged'], c['clean']):.2%}", "<= 5%"),
        (
            "floors with nothing embedded where something is flagged",
            f"{c['calm_with_find']} of {c['calm']}",
            "<= 5%",
        ),
        ("coverage of the 90% interval, all cells", f"{mean['coverage']:.3f}", "0.88 to 0.92"),
        ("rmse of the surface, reading units", f"{mean['rmse']:.2f}", ""),
        (
            "wet zone overlap with truth (IoU), mean and median",
            f"{mean['iou']:.3f}, {np.median(tally.lists['iou']):.3f}",
            ">= 0.8",
        ),
        (
            "relative area error, median absolute",
            f"{np.median(np.abs(tally.lists['area'])):.1%}",
            "",
        ),
        (
            "floors without a wet zone where one is drawn",
            f"{c['dry_with_zone']} of {c['dry_floors']}",
            "",
        ),
        ("wettest twentieth hit", f"{_share(c['hit'], c['plans']):.1%} of {c['plans']}", ">= 95%"),
        ("plans without a hole", f"{c['empty_plans']}", ""),
        ("holes nearer than 0.3 m to anything flagged", f"{c['too_near']} of {c['holes']}", "0"),
        (
            "holes nearer than 0.3 m to something embedded, flagged or not",
            f"{c['near_truth']} of {c['holes']}",
            "",
        ),
        ("CPU time of a study, mean", f"{mean['seconds']:.2f} s", ""),
    ]
    lines = ["| what | result | target |", "|---|---|---|"]
    lines += [f"| {name} | {value} | {target} |" for name, value, target in rows]
    lines += [
        "",
        "Recall by kind and by how far the reading is off:",
        "",
        "| kind | 4 to 6 noise sd | 6 to 8 | 8 and more |",
        "|---|---|---|---|",
    ]
    for kind in ("pipe", "plate", "box", "stray"):
        cells = []
        for place in range(len(CLASSES)):
            total, found = (tally.by_kind[kind, place, what] for what in ("all", "found"))
            cells.append(f"{_share(found, total):.2f} of {total}" if total else "-")
        lines.append(f"| {kind} | {' | '.join(cells)} |")
    return lines


def main() -> None:
    """Parse the command line, run, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=200, help="how many floors")
    parser.add_argument("--first", type=int, default=1000, help="seed of the first floor")
    parser.add_argument("--processes", type=int, default=1, help="how many at once")
    chosen = parser.parse_args()
    tally = run(chosen.floors, chosen.first, chosen.processes)
    print("\n".join(report(tally, chosen.floors)))


if __name__ == "__main__":
    main()
