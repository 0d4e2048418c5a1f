"""The settings a result was computed with, in words: one row each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from moisturemap.geostat import SPELT
from moisturemap.report.wording import Wording, word_of

WORDS = {
    "instrument": "Instrument whose readings are mapped",
    "spacing": "Width of a cell of the map",
    "max_cells": "Most cells of the map",
    "detect.flag_from": "Anomalies: flagged from, times the noise of a reading",
    "detect.footprint_m": "Anomalies: reach of the scanner to each side",
    "mapping.kinds": "Map: models of the variogram tried",
    "mapping.scale": "Map: scale the readings are mapped on",
    "mapping.engine": "Map: way of computing",
    "mapping.in_room": "Map: distances measured inside the floor",
    "mapping.anisotropy": "Map: range may differ by direction",
    "mapping.drift": "Map: mean over the floor",
    "mapping.seed": "Map: seed of random numbers",
    "mapping.earlier": "Map: earlier floors of this instrument",
    "zones.confidence": "Wet zones: simultaneous confidence",
    "zones.interval": "Wet zones: interval of an area",
    "zones.draws": "Wet zones: simulated surfaces",
    "zones.places": "Wet zones: most places simulated at",
    "zones.reading_spacing_m": "Wet zones: distance between readings",
    "zones.smallest_m2": "Wet zones: smallest one outlined",
    "zones.scale": "Wet zones: scale of the meter",
    "zones.seed": "Wet zones: seed of random numbers",
    "drilling.count_rule": "Drill plan: rule for the number of holes",
    "drilling.count": "Drill plan: number of holes",
    "drilling.clearance_m": "Drill plan: distance from services and holes",
    "drilling.wall_clearance_m": "Drill plan: distance from walls",
    "drilling.pinned": "Drill plan: holes set by hand",
    "drilling.moved": "Drill plan: holes moved by hand",
    "drilling.kept": "Drill plan: holes kept where they were when one was moved",
    "drilling.rejected": "Drill plan: places refused by hand",
    "drilling.reject_radius_m": "Drill plan: radius of a refused place",
    "drilling.done": "Drill plan: holes drilled beside those of the tests",
    "drilling.count_earlier": "Drill plan: earlier tests count as holes",
    "drilling.beside": "Drill plan: anomalies with a hole beside them",
    "drilling.places": "Drill plan: most places weighed",
    "drilling.draws": "Drill plan: simulated surfaces",
    "drilling.patch_radius_m": "Drill plan: radius of a patch that may be missed",
    "drilling.weights.wettest": "Drill plan, how much counts: the wettest floor",
    "drilling.weights.domain": "Drill plan, how much counts: each part mapped apart",
    "drilling.weights.zone": "Drill plan, how much counts: wet zones",
    "drilling.weights.dry_reference": "Drill plan, how much counts: the floor that reads driest",
    "drilling.weights.calibration": "Drill plan, how much counts: the range of the scan",
    "drilling.weights.coverage": "Drill plan, how much counts: floor far from any hole",
    "drilling.weights.perimeter": "Drill plan, how much counts: exterior walls",
    "drilling.weights.undisturbed": "Drill plan, how much counts: keeping away from hidden things",
    "drilling.seed": "Drill plan: seed of random numbers",
}
"""What a reader calls a setting, by its group and name."""

VALUES = {
    "by-limit": "that of the method of the limit",
    "f2170-m2": "ASTM F2170, counted by the square metre",
    "f2170-ft2": "ASTM F2170, counted by the square foot",
    "f1869-m2": "ASTM F1869, counted by the square metre",
    "f1869-ft2": "ASTM F1869, counted by the square foot",
    "auto": "by the readings",
    "identity": "as read",
    "logit": "ends of the scale stretched",
    "exact": "all readings at once",
    "tiles": "in overlapping parts",
    "constant": "the same everywhere",
    "linear": "a slope",
    **SPELT,
}
"""What a reader calls a value."""


def setting_rows(
    options: Mapping[str, Any], wording: Wording, before: str = ""
) -> Iterator[tuple[str, str]]:
    """Yield the settings in words: which one, and what it was set to."""
    for name, value in options.items():
        key = f"{before}{name}"
        if isinstance(value, Mapping):
            yield from setting_rows(value, wording, f"{key}.")
        else:
            words = WORDS.get(key, key.replace("_", " ").replace(".", ": "))
            yield words, _value(key, value, wording)


def _value(key: str, value: Any, wording: Wording) -> str:
    if value is None:
        return "by the program"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple | list):
        return ", ".join(_value("", one, wording) for one in value) or "none"
    if key.endswith("_m") or key == "spacing":
        return wording.length(value)
    if key.endswith("_m2"):
        return wording.area(value)
    return VALUES.get(str(value), word_of(value))
