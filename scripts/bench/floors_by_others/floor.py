"""One invented floor: what was read, and everything that is true about it."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import Polygon

from .meter import Meter
from .raster import Raster
from .things import Thing, added_by

SWEEP_PLACE_SD = 0.01  # m, places set out along a tape


@dataclass(frozen=True)
class Floor:
    """A scanned floor with its truth. Lengths in metres, readings in units of the scale.

    ``points`` (n, 2) are the places as recorded and ``values`` (n,) the readings; ``taken_at``
    (n, 2) is where the meter really stood. ``signal`` (n,) is what the meter would have read
    there without things, noise, drift or slips, ``disturbance`` (n,) what the things add to it,
    ``drift`` (n,) the meter's wandering, ``wrong`` (n,) the slips and ``slip`` (n,) their size.
    ``truth_wet`` (ny, nx) on ``x``, ``y`` is where the undisturbed floor reads above
    ``wet_level``; ``truth_signal`` (ny, nx) is that reading, NaN outside the rooms.

    A thing that lies under nearly all of the floor (mesh, loops) lifts all readings; that
    median lift (``lifts``, one a thing, linear answer) belongs to the undisturbed floor, as it
    does to any dry reference read there. What is left is its ``disturbance``: more where it lies
    shallow, less where it is missing.
    """

    family: str
    seed: int
    kind: str
    outline: tuple[Polygon, ...]
    points: np.ndarray
    values: np.ndarray
    spacing_m: float
    wet_level: float
    dry_level: float
    truth_wet: np.ndarray
    truth_signal: np.ndarray
    taken_at: np.ndarray
    signal: np.ndarray
    disturbance: np.ndarray
    drift: np.ndarray
    wrong: np.ndarray
    slip: np.ndarray
    things: tuple[Thing, ...]
    lifts: tuple[float, ...]
    furniture: tuple[Polygon, ...]
    meter: Meter
    raster: Raster = field(repr=False)
    answer: np.ndarray = field(repr=False)

    @property
    def x(self) -> np.ndarray:
        """Cell centres of the truth, (nx,)."""
        return self.raster.x

    @property
    def y(self) -> np.ndarray:
        """Cell centres of the truth, (ny,)."""
        return self.raster.y

    @property
    def scale(self) -> tuple[float, float]:
        return self.meter.scale

    @property
    def noise_sd(self) -> float:
        return self.meter.noise_sd

    @property
    def footprint_m(self) -> float:
        return self.meter.field.footprint

    def undisturbed(self, places: np.ndarray) -> np.ndarray:
        """Exact reading at places (n, 2) if nothing were embedded."""
        return self.meter.reads(self.raster.at(self.answer, np.asarray(places, float)))

    def disturbed_by(
        self, places: np.ndarray, things: tuple[Thing, ...] | None = None
    ) -> np.ndarray:
        """Return what the things (all by default) add to the exact reading at places (n, 2)."""
        places = np.asarray(places, float)
        chosen = self.things if things is None else things
        lifts = tuple(self.lifts[self._order(thing)] for thing in chosen)
        plain = self.raster.at(self.answer, places)
        added = added_by(self.meter.field, chosen, lifts, places)
        return self.meter.reads(plain + added) - self.meter.reads(plain)

    def _order(self, thing: Thing) -> int:
        return next(i for i, known in enumerate(self.things) if known is thing)

    def sweep(self, places: np.ndarray, seed: int = 0) -> np.ndarray:
        """Take new readings (n,) of this floor at places (n, 2), walked in the order given.

        The same places and ``seed`` give the same readings; another ``seed`` is another walk.
        """
        places = np.asarray(places, float).reshape(-1, 2)
        mark = zlib.crc32(np.round(places, 4).tobytes())
        rng = np.random.default_rng([self.seed, seed, mark])
        stood = places + rng.normal(0, SWEEP_PLACE_SD, places.shape)
        exact = self.undisturbed(stood) + self.disturbed_by(stood)
        offset = 0.5 * self.meter.drift * self.meter.span * rng.normal()
        drift = offset + 0.3 * self.meter.walk(rng, len(places))
        return self.meter.shows(rng, exact, drift)
