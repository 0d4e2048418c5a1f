"""An invented floor: the survey a person would have brought home, and the truth behind it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from moisturemap.floorplan import FloorPlan
from moisturemap.survey import READING_COLUMNS, Instrument, ScanSettings, Survey, Visit
from moisturemap.synthetic.field import MoistureField, draw_field
from moisturemap.synthetic.outline import make_plan
from moisturemap.synthetic.recipe import RECIPES, FloorRecipe
from moisturemap.synthetic.rhtest import draw_tests
from moisturemap.synthetic.scanner import mis_key, scan_grid, shift_row, show, with_repeats
from moisturemap.synthetic.service import Service, draw_services

Array = NDArray[np.float64]

START = datetime(2024, 3, 4, 8, 0, tzinfo=UTC)

DISTURBED_FROM = 2.0
"""A reading counts as disturbed when it is off by at least this many noise sd."""


@dataclass(frozen=True)
class SyntheticFloor:
    """A survey with the truth behind it.

    Attributes
    ----------
    survey : Survey
    recipe : FloorRecipe
    seed : int
    field : MoistureField
    services : tuple of Service
        What is embedded.
    disturbance : ndarray, shape (n,)
        By how much each row of ``survey.readings`` is off its undisturbed, noise-free value.
    cause : ndarray of str, shape (n,)
        ``""``, or what disturbs it most: a service kind, ``"stray"``, ``"shifted"``, ``"step"``.
    wet_level : float
        Reading above which the floor counts as wet.
    """

    survey: Survey
    recipe: FloorRecipe
    seed: int
    field: MoistureField
    services: tuple[Service, ...]
    disturbance: Array
    cause: NDArray[np.str_]
    wet_level: float

    @property
    def disturbed(self) -> NDArray[np.bool_]:
        """True for each reading that is off by at least 2 noise sd, shape (n,)."""
        return np.asarray(np.abs(self.disturbance) >= DISTURBED_FROM * self.recipe.noise_sd)

    def wetness(self, visit: str | None = None) -> float:
        """Share of the plumes' rise that is left at a visit (the latest when none is named)."""
        ids = [one.id for one in self.survey.visits]
        index = len(ids) - 1 if visit is None else ids.index(visit)
        return float(0.5 ** (index * self.recipe.days_apart / self.recipe.half_life_days))

    def truth(self, points: Array, visit: str | None = None) -> Array:
        """Undisturbed, noise-free reading at places (n, 2) [m], not clipped to the scale."""
        return self.field.at(points, self.wetness(visit))

    def wet(self, points: Array, level: float | None = None) -> NDArray[np.bool_]:
        """Truth zones at a level (``wet_level`` by default): True where the floor is wet."""
        return np.asarray(self.truth(points) > (self.wet_level if level is None else level))


def _step(plan: FloorPlan, recipe: FloorRecipe, points: Array, rng: np.random.Generator) -> Array:
    west, _, east, _ = plan.bounds
    edge = rng.uniform(0.35, 0.65) * (east - west) + west
    return np.asarray(recipe.thickness_step * (points[:, 0] > edge).astype(float))


def _causes(
    services: tuple[Service, ...], points: Array, step: Array
) -> tuple[Array, NDArray[np.str_]]:
    parts = [service.at(points) for service in services] + [step]
    names = np.array([service.kind for service in services] + ["step"])
    stack = np.array(parts)
    return stack.sum(axis=0), names[np.argmax(np.abs(stack), axis=0)]


def _instruments(recipe: FloorRecipe) -> dict[str, Instrument]:
    found = {
        "scanner": Instrument(
            "scanner", "relative", recipe.scale, recipe.step or None, serial="S-001"
        )
    }
    if recipe.tests:
        found["probe"] = Instrument("probe", "rh-probe", (0.0, 100.0), 0.1, serial="P-001")
    return found


def _frame(
    floor_plan: FloorPlan, points: Array, shown: Array, censored: NDArray[np.str_], visit: Visit
) -> pd.DataFrame:
    places = shapely.points(points)
    room = np.full(len(points), "", dtype=object)
    for one in floor_plan.rooms:
        room[shapely.covers(one.polygon, places)] = one.name
    raw = [
        f">{value:g}" if mark == "above" else f"<{value:g}" if mark == "below" else f"{value:g}"
        for value, mark in zip(shown, censored, strict=True)
    ]
    keys = pd.DataFrame({"x": points[:, 0], "y": points[:, 1]})
    return pd.DataFrame(
        {
            "visit": visit.id,
            "instrument": "scanner",
            "x": points[:, 0],
            "y": points[:, 1],
            "value": shown,
            "raw": raw,
            "censored": censored,
            "room": room,
            "label": "",
            "repeat": keys.groupby(["x", "y"]).cumcount() + 1,
            "time": [
                None if visit.started is None else visit.started + timedelta(seconds=8 * i)
                for i in range(len(points))
            ],
            "note": "",
            "source": f"readings-{visit.id}.csv",
            "row": np.arange(len(points)) + 2,
        }
    )


def _level(recipe: FloorRecipe) -> float:
    rise = recipe.plume_rise if recipe.plumes else 6.0 * recipe.texture_sd
    return float(np.round(recipe.base + 0.5 * rise))


def _scan_settings(recipe: FloorRecipe, level: float, rng: np.random.Generator) -> ScanSettings:
    if recipe.wet_level == "stated":
        return ScanSettings(wet_level=level)
    if recipe.wet_level == "none":
        return ScanSettings()
    spread = float(np.hypot(recipe.texture_sd, recipe.noise_sd))
    shown, _ = show(recipe.base + spread * rng.standard_normal(8), recipe)
    return ScanSettings(dry_reference=tuple(float(value) for value in shown))


def _read(
    clean: Array,
    cause: NDArray[np.str_],
    row: NDArray[np.intp],
    recipe: FloorRecipe,
    rng: np.random.Generator,
) -> tuple[Array, NDArray[np.str_]]:
    """Values as they were keyed in, before noise, and what disturbs each most."""
    keyed, name = clean.copy(), cause.astype("<U8")
    if recipe.shifted_row:
        name[shift_row(keyed, row, rng)] = "shifted"
    name[mis_key(keyed, recipe.strays, recipe, rng)] = "stray"
    return keyed, name


def make_floor(recipe: FloorRecipe | str, seed: int) -> SyntheticFloor:
    """Invent a floor.

    Parameters
    ----------
    recipe : FloorRecipe or str
        A recipe, or the name of one of ``RECIPES``.
    seed : int
        The same recipe and seed give the same floor.
    """
    recipe = RECIPES[recipe] if isinstance(recipe, str) else recipe
    rng = np.random.default_rng(seed)
    plan = make_plan(recipe)
    field = draw_field(plan, recipe, rng)
    services = draw_services(plan, recipe, rng)
    places, row = scan_grid(plan, recipe, rng)
    index = with_repeats(len(places), recipe.repeat_share, rng)
    points = places[index]
    steady, cause = _causes(services, points, _step(plan, recipe, points, rng))
    visits = tuple(
        Visit(
            f"v{count + 1}",
            START + timedelta(days=count * recipe.days_apart),
            "A. Operator",
            20.0,
            50.0,
            18.0,
        )
        for count in range(recipe.visits)
    )
    frames, offs, causes = [], [], []
    for count, visit in enumerate(visits):
        wetness = 0.5 ** (count * recipe.days_apart / recipe.half_life_days)
        truth = field.at(points, wetness)
        read, name = _read(truth + steady, cause, row[index], recipe, rng)
        shown, censored = show(read + recipe.noise_sd * rng.standard_normal(len(points)), recipe)
        frames.append(_frame(plan, points, shown, censored, visit))
        offs.append(read - truth)
        causes.append(np.where(np.abs(read - truth) >= DISTURBED_FROM * recipe.noise_sd, name, ""))
    readings = pd.concat(frames, ignore_index=True)
    readings.insert(0, "reading", np.arange(1, len(readings) + 1))
    level = _level(recipe)
    survey = Survey(
        name=f"Invented floor {seed}",
        plan=plan,
        instruments=_instruments(recipe),
        visits=visits,
        readings=readings[list(READING_COLUMNS)],
        tests=draw_tests(plan, recipe, field, visits[-1], rng),
        scan=_scan_settings(recipe, level, rng),
    )
    return SyntheticFloor(
        survey, recipe, seed, field, services, np.concatenate(offs), np.concatenate(causes), level
    )
