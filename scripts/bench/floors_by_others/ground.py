"""The undisturbed floor as a meter answers to it: dry slab, water, and the level between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .concrete import draw_concrete
from .meter import Meter
from .raster import CELL, Raster, random_field
from .rooms import Rooms
from .things import Thing
from .water import draw_water

LEAST_WET = 0.4  # m2 that a floor with water has above its wet level
MOST_WET = 0.6  # of the floor, unless it is damp throughout
DAMP_ODDS = 0.07  # of floors with water that are damp throughout
FULL_SCALE_ODDS = 0.15  # of meters that run towards the end of their scale on a soaked slab
TRIES = 10


@dataclass(frozen=True)
class Ground:
    """Linear answer and exact reading (ny, nx), wet cells, levels of the scale, the story."""

    answer: np.ndarray
    reading: np.ndarray
    wet: np.ndarray
    dry_level: float
    wet_level: float
    kind: str


@dataclass(frozen=True)
class Slab:
    """Dry answer (ny, nx), answer that full saturation adds, thickness (m), dry and wet level."""

    dry: np.ndarray
    contrast: float
    thickness: float
    levels: tuple[float, float]


def draw_slab(
    rng: np.random.Generator, raster: Raster, rooms: Rooms, meter: Meter, lift: float
) -> Slab:
    """Draw the dry slab; ``lift`` is what steel under the whole floor adds to the answer."""
    concrete = draw_concrete(rng, raster, rooms)
    low = rng.uniform(0.12, 0.32)
    high = low + rng.uniform(0.22, 0.5)
    slope = (meter.answer_for(low + 0.02) - meter.answer_for(low - 0.02)) / 0.04
    dry = meter.answer_for(low) + lift + slope * concrete.field
    shown = meter.reads(raster.seen_through(dry, meter.field.footprint))[raster.inside]
    dry_level = float(np.median(shown))
    contrast = meter.answer_for(high) - meter.answer_for(low)
    if rng.random() < FULL_SCALE_ODDS:
        contrast *= rng.uniform(1.4, 2.0)
    soaked = float(meter.reads(np.array([meter.answer_for(low) + lift + contrast]))[0])
    wet_level = max(
        dry_level + rng.uniform(0.38, 0.5) * (soaked - dry_level),
        float(shown.max()) + 0.01 * meter.span,
    )
    return Slab(dry, contrast, float(rng.uniform(0.05, 0.15)), (dry_level, wet_level))


def draw_ground(
    rng: np.random.Generator,
    raster: Raster,
    rooms: Rooms,
    meter: Meter,
    given: tuple[Slab, float, tuple[Thing, ...] | None],
) -> Ground:
    """Wet the slab for readings at a spacing; dry if the things that may leak are None."""
    slab, spacing, leaks = given
    if leaks is None:
        return _read(raster, meter, slab.dry, slab.levels, "dry")
    if rng.random() < DAMP_ODDS:
        everywhere = rng.uniform(0.6, 0.9) + 0.06 * random_field(rng, raster.shape, 0.8)
        damp = slab.dry + slab.contrast * everywhere
        return _read(raster, meter, damp, slab.levels, "damp throughout")
    floor = float(raster.inside.sum()) * CELL**2
    for attempt in range(TRIES):
        ground = _wetted(rng, raster, rooms, meter, (slab, spacing, leaks, attempt))
        if LEAST_WET <= float(ground.wet.sum()) * CELL**2 <= MOST_WET * floor:
            return ground
    raise RuntimeError(f"no wetting of {TRIES} gave {LEAST_WET} m2 to {MOST_WET:.0%} of the floor")


def _wetted(
    rng: np.random.Generator,
    raster: Raster,
    rooms: Rooms,
    meter: Meter,
    given: tuple[Slab, float, tuple[Thing, ...], int],
) -> Ground:
    slab, spacing, leaks, attempt = given
    wettings = draw_water(rng, raster, rooms, list(leaks), spacing)
    left = np.ones(raster.shape)
    for wetting in wettings:
        theta = np.clip(wetting.theta, 0.0, 1.0)
        evened = rng.uniform(0.2, 0.8)
        left *= 1.0 - meter.sees(theta, slab.thickness, wetting.from_below, evened)
    uneven = 1.0 + 0.08 * random_field(rng, raster.shape, 0.3)
    water = slab.contrast * (1 + 0.1 * attempt) * (1.0 - left) * uneven
    kind = " and ".join(wetting.story for wetting in wettings)
    return _read(raster, meter, slab.dry + water, slab.levels, kind)


def _read(
    raster: Raster, meter: Meter, field: np.ndarray, levels: tuple[float, float], kind: str
) -> Ground:
    answer = raster.seen_through(field, meter.field.footprint)
    reading = meter.reads(answer)
    wet = (reading > levels[1]) & raster.inside
    return Ground(answer, reading, wet, dry_level=levels[0], wet_level=levels[1], kind=kind)
