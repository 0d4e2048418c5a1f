"""What Map and Drying say alike of a visit: its wet area, and places with values that differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moisturemap.bundles import Study, VisitComparison
    from moisturemap.survey import CleanReadings


def wet_area_words(study: Study) -> str:
    """Return the expected wet area of a visit, as Drying counts it; "" without a wet level."""
    from moisturemap.drying import wet_area_of

    level = study.wet.level.value
    if level is None:
        return ""
    wet = wet_area_of(study.clean, study.moisture, level)
    return (
        f"Expected floor above {level:.3g}, the smallest patches counted: {wet.area_m2:.0f} m2 "
        f"({wet.low_m2:.0f} to {wet.high_m2:.0f})."
    )


def level_words(comparison: VisitComparison) -> str:
    """Say by which wet level the visits of Drying are counted; "" without one."""
    level, latest = comparison.latest.wet.level.value, comparison.latest.visit.id
    if level is None:
        return ""
    words = f"Wet level {level:.3g}, that of the map of visit {latest}."
    if len(comparison.drying.series.clean) > 1:
        words += (
            " Every visit is counted by it here; the map of an earlier visit stands on the wet "
            "level of its own day, so that its area may differ."
        )
    return words


def off_the_plan(clean: CleanReadings) -> list[str]:
    """Say how many readings of a visit lie outside every room, as after its outline was changed."""
    off = int((clean.readings["flag"] == "off-plan").sum())
    if not off:
        return []
    return [
        f"Not in this map: {off} of {len(clean.readings)} readings, which lie outside every room. "
        "Check the outline, and position, origin and unit of the readings."
    ]


def differing_values(*visits: CleanReadings) -> list[str]:
    """Name each place whose values contradict each other, with the one that is mapped."""
    said = []
    for clean in visits:
        readings = clean.readings
        low = readings[readings["flag"] == "repeat-differs"]
        for (x, y), rows in low.groupby(["x", "y"], sort=False):
            here = readings[(readings["x"] == x) & (readings["y"] == y)]
            kept = here.loc[here["location"] >= 0, "value"]
            name = " ".join(part for part in (rows["label"].iloc[0], rows["room"].iloc[0]) if part)
            aside = " and ".join(f"{value:g}" for value in rows["value"])
            said.append(
                f"Visit {clean.visit.id}, {name or 'a place'} at x {x:.2f} m, y {y:.2f} m: "
                f"{kept.mean():g} is mapped, {aside} set aside, since they contradict each other "
                "and a wet place must not be hidden. Read the place again."
            )
    return said
