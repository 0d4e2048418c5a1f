"""Families of floors: ``make(family, seed)``."""

from __future__ import annotations

import numpy as np
import shapely

from .floor import Floor
from .ground import Ground, draw_ground, draw_slab
from .meter import Meter, draw_meter
from .raster import Raster, raster_of
from .rooms import Rooms, make_rooms
from .services import draw_things
from .slips import draw_slips
from .things import Thing, added_by, level_lift
from .walking import draw_walk

FAMILIES = {
    "clean": "wet patches, nothing embedded",
    "dry": "things embedded, nothing wet",
    "mixed": "wet patches and things embedded",
    "nothing": "neither",
}
SPACINGS = {0.25: 0.2, 0.35: 0.2, 0.5: 0.3, 0.7: 0.15, 1.0: 0.15}
PLACE_SD = 0.035  # m, most the meter stands off the noted place (sd, each way)


def make(family: str, seed: int) -> Floor:
    """Floor ``seed`` (0, 1, 2, ...) of a family; the same seed gives the same floor."""
    if family not in FAMILIES:
        raise ValueError(f"family {family!r}: allowed are {', '.join(FAMILIES)}")
    rng = np.random.default_rng([list(FAMILIES).index(family), seed])
    spacing = float(rng.choice(list(SPACINGS), p=list(SPACINGS.values())))
    wanted = _count(rng)
    rooms = make_rooms(rng, wanted * spacing**2)
    raster = raster_of(rooms.slab)
    meter = draw_meter(rng)
    count = int(rng.choice([1, 2, 3, 4], p=[0.35, 0.3, 0.2, 0.15]))
    things = tuple(draw_things(rng, rooms, count) if family in ("dry", "mixed") else ())
    leaks = things if family in ("clean", "mixed") else None
    lifts = tuple(meter.field.lift(thing, raster) for thing in things)
    slab = draw_slab(rng, raster, rooms, meter, level_lift(lifts))
    ground = draw_ground(rng, raster, rooms, meter, (slab, spacing, leaks))
    walk = draw_walk(rng, rooms, spacing)
    scan = _scan(rng, raster, rooms, meter, ground, (things, lifts), walk.places)
    return Floor(
        family=family,
        seed=seed,
        kind=f"{rooms.shape}; {ground.kind}",
        outline=rooms.polygons,
        points=walk.places,
        spacing_m=spacing,
        wet_level=ground.wet_level,
        dry_level=ground.dry_level,
        truth_wet=ground.wet,
        truth_signal=np.where(raster.inside, ground.reading, np.nan),
        things=things,
        lifts=lifts,
        furniture=walk.furniture,
        meter=meter,
        raster=raster,
        answer=ground.answer,
        **scan,
    )


def _scan(
    rng: np.random.Generator,
    raster: Raster,
    rooms: Rooms,
    meter: Meter,
    ground: Ground,
    things: tuple[tuple[Thing, ...], tuple[float, ...]],
    places: np.ndarray,
) -> dict[str, np.ndarray]:
    """Walk over the floor: what was read and why."""
    off = rng.normal(0, rng.uniform(0.01, PLACE_SD), places.shape)
    stood = places + off
    slab = shapely.contains_xy(rooms.slab.buffer(-0.03), stood)
    stood = np.where(slab[:, None], stood, places)
    answer = raster.at(ground.answer, stood)
    signal = meter.reads(answer)
    disturbance = meter.reads(answer + added_by(meter.field, *things, stood)) - signal
    drift = meter.walk(rng, len(places))
    shown = meter.shows(rng, signal + disturbance, drift)
    values, wrong = draw_slips(rng, shown, meter.scale)
    return {
        "values": values,
        "taken_at": stood,
        "signal": signal,
        "disturbance": disturbance,
        "drift": drift,
        "wrong": wrong,
        "slip": values - shown,
    }


def _count(rng: np.random.Generator) -> int:
    """Draw the readings wanted: mostly 100-600, at times 80 or 1500."""
    low, high = (600, 1450) if rng.random() < 0.12 else (95, 600)
    return int(np.exp(rng.uniform(np.log(low), np.log(high))))
