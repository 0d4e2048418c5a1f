"""Invented floors read on several visits, every part with its own known course."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import shapely
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.survey import READING_COLUMNS, Instrument, ScanSettings, Survey, Visit
from moisturemap.synthetic import FloorRecipe
from moisturemap.synthetic.field import Texture

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Wet:
    """A round wet place: rise at its centre, reach [m], half-life [days], growth a day."""

    x: float
    y: float
    rise: float
    reach: float
    half_life: float = 15.0
    growth: float = 0.0

    def at(self, points: np.ndarray, day: float) -> np.ndarray:
        """Rise above dry floor on a day."""
        distance = np.hypot(points[:, 0] - self.x, points[:, 1] - self.y)
        size = self.rise * 0.5 ** (day / self.half_life) + self.growth * day
        return size * np.exp(-0.5 * (distance / self.reach) ** 2)


@dataclass(frozen=True)
class Recipe:
    """What an invented floor is made of."""

    width: float = 10.0
    depth: float = 8.0
    spacing: float = 0.5
    base: float = 30.0
    texture_sd: float = 2.0
    noise_sd: float = 1.5
    days: tuple[float, ...] = (0.0, 7.0, 14.0)
    wets: tuple[Wet, ...] = ()
    pipe_x: float | None = None
    pipe_rise: float = 15.0
    offsets: tuple[float, ...] = ()
    jitter: float = 0.0
    wet_level: float | None = 45.0
    lines: tuple[PlanLine, ...] = field(default=())
    dry_reference: int = 0


@dataclass(frozen=True)
class Invented:
    """A survey with the truth behind it."""

    survey: Survey
    recipe: Recipe
    texture: Texture

    def truth(self, points: np.ndarray, day: float) -> np.ndarray:
        """Noise-free undisturbed reading on a day."""
        value = self.recipe.base + self.texture.at(points)
        for wet in self.recipe.wets:
            value = value + wet.at(points, day)
        return value


def invent(recipe: Recipe, seed: int) -> Invented:
    """Invent a floor and read it on every visit."""
    rng = np.random.default_rng(seed)
    texture = Texture.draw(FloorRecipe(texture_sd=recipe.texture_sd), rng)
    hall = box(0, 0, recipe.width, recipe.depth)
    floor = Invented(None, recipe, texture)  # type: ignore[arg-type]
    visits, frames = [], []
    offsets = recipe.offsets or (0.0,) * len(recipe.days)
    for index, (day, offset) in enumerate(zip(recipe.days, offsets, strict=True)):
        noise = recipe.noise_sd * rng.standard_normal(recipe.dry_reference)
        reference = recipe.base + offset + noise
        visits.append(
            Visit(
                f"v{index + 1}",
                START + timedelta(days=day),
                "A. Reader",
                20.0,
                50.0,
                18.0,
                tuple(float(one) for one in reference),
            )
        )
        points = _places(recipe, hall, rng)
        value = floor.truth(points, day) + offset
        if recipe.pipe_x is not None:
            value += recipe.pipe_rise * np.exp(-0.5 * ((points[:, 0] - recipe.pipe_x) / 0.2) ** 2)
        shown = np.round(value + recipe.noise_sd * rng.standard_normal(len(points)))
        frames.append(_frame(points, shown, visits[-1]))
    readings = pd.concat(frames, ignore_index=True)
    readings.insert(0, "reading", np.arange(1, len(readings) + 1))
    survey = Survey(
        name=f"Invented hall {seed}",
        plan=FloorPlan((Room("hall", hall),), recipe.lines),
        instruments={"scanner": Instrument("scanner", "relative", (0.0, 100.0), 1.0)},
        visits=tuple(visits),
        readings=readings[list(READING_COLUMNS)],
        scan=ScanSettings(wet_level=recipe.wet_level),
    )
    return Invented(survey, recipe, texture)


def _places(recipe: Recipe, hall: shapely.Polygon, rng: np.random.Generator) -> np.ndarray:
    x = np.arange(0.25, recipe.width, recipe.spacing)
    y = np.arange(0.25, recipe.depth, recipe.spacing)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    if recipe.jitter:
        points = points + rng.uniform(-recipe.jitter, recipe.jitter, points.shape)
        points = np.clip(points, 0.05, [recipe.width - 0.05, recipe.depth - 0.05])
    return np.round(points, 3)


def _frame(points: np.ndarray, shown: np.ndarray, visit: Visit) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "visit": visit.id,
            "instrument": "scanner",
            "x": points[:, 0],
            "y": points[:, 1],
            "value": shown,
            "raw": [f"{one:g}" for one in shown],
            "censored": "",
            "room": "hall",
            "label": "",
            "repeat": 1,
            "time": None,
            "note": "",
            "source": f"{visit.id}.csv",
            "row": np.arange(len(points)) + 2,
        }
    )
