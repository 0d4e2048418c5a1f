"""The recipe of an invented floor: everything that is chosen before the dice are thrown."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from moisturemap.errors import OptionError

OUTLINES = ("rectangle", "l-shape", "c-shape", "columns", "rooms")
"""Shapes a floor may have; ``rooms`` is four rooms with thin walls on one slab."""

PLUMES = ("edge", "burst", "corner", "joint")
"""Where water came from: along a wall, a burst under the floor, out of a corner, up a joint."""


@dataclass(frozen=True)
class FloorRecipe:
    """What an invented floor is made of; lengths in metres, readings in scale units.

    Attributes
    ----------
    outline : str
        One of ``OUTLINES``.
    width, depth : float
        Extent along x and y [m].
    spacing, jitter : float
        Grid spacing and sd of each reading's place about its node [m].
    base, trend : float and (float, float)
        Level [reading] and slope along x and y [reading/m] of the dry floor.
    texture_sd, texture_length : float
        Matern-3/2 texture of the material: sd [reading] and length [m].
    plumes, plume_rise : tuple of str, float
        Wet plumes, each one of ``PLUMES``, and how far they rise above the base [reading].
    footprint, noise_sd, step, scale : float, float, float, (float, float)
        The scanner: sd of its footprint [m], noise of one reading, display step, full scale.
    repeat_share : float
        Share of the spots read twice.
    pipes, bent_pipes, loops, plates, boxes, salts, strays : int
        How many straight and bent pipes, heating loops, metal plates, floor boxes, salt patches
        and mis-keyed values.
    strength : (float, float)
        Least and greatest strength of pipes, plates and boxes [noise sd].
    mesh_pitch : float
        Pitch of a reinforcement mesh near the surface [m]; 0 without mesh.
    shifted_row : bool
        One row keyed in one place too far along.
    thickness_step : float
        Step of the reading where the slab changes thickness [reading]; 0 without.
    visits, days_apart, half_life_days : int, float, float
        Repeat visits and how fast the wetness falls; what is embedded does not.
    tests, rh_scatter : int, float
        In-situ RH tests on the last visit and their scatter about the scan relation [%RH].
    wet_level : str
        What the survey states: ``"stated"``, ``"dry-reference"`` or ``"none"``.
    """

    outline: str = "rectangle"
    width: float = 8.0
    depth: float = 6.0
    spacing: float = 0.25
    jitter: float = 0.0
    base: float = 35.0
    trend: tuple[float, float] = (0.0, 0.0)
    texture_sd: float = 3.0
    texture_length: float = 1.2
    plumes: tuple[str, ...] = ()
    plume_rise: float = 30.0
    footprint: float = 0.12
    noise_sd: float = 2.0
    step: float = 1.0
    scale: tuple[float, float] = (0.0, 100.0)
    repeat_share: float = 0.0
    pipes: int = 0
    bent_pipes: int = 0
    loops: int = 0
    plates: int = 0
    boxes: int = 0
    salts: int = 0
    strays: int = 0
    strength: tuple[float, float] = (5.0, 9.0)
    mesh_pitch: float = 0.0
    shifted_row: bool = False
    thickness_step: float = 0.0
    visits: int = 1
    days_apart: float = 14.0
    half_life_days: float = 30.0
    tests: int = 0
    rh_scatter: float = 2.0
    wet_level: str = "stated"

    def __post_init__(self) -> None:
        if self.outline not in OUTLINES:
            message = "unknown outline"
            raise OptionError(message, value=self.outline, allowed=", ".join(OUTLINES))
        for plume in self.plumes:
            if plume not in PLUMES:
                message = "unknown plume"
                raise OptionError(message, value=plume, allowed=", ".join(PLUMES))
        if self.wet_level not in ("stated", "dry-reference", "none"):
            allowed = "stated, dry-reference, none"
            raise OptionError("unknown wet level", value=self.wet_level, allowed=allowed)
        if min(self.width, self.depth) < 2.0 or self.spacing <= 0:
            message = "a floor needs at least 2 m each way and a positive spacing"
            raise OptionError(message, value=(self.width, self.depth, self.spacing))


RECIPES = {
    "dry": FloorRecipe(),
    "wet": FloorRecipe(plumes=("edge", "burst")),
    "pipes": FloorRecipe(pipes=2, plates=1, strays=1),
    "leak": FloorRecipe(
        outline="l-shape",
        plumes=("edge", "corner"),
        pipes=1,
        bent_pipes=1,
        plates=1,
        strays=2,
        repeat_share=0.1,
        tests=6,
    ),
    "flat": FloorRecipe(outline="rooms", plumes=("burst",), pipes=1, boxes=1, repeat_share=0.1),
    "hall": FloorRecipe(
        outline="columns",
        width=24.0,
        depth=18.0,
        spacing=0.45,
        footprint=0.23,
        texture_length=2.5,
        plumes=("joint", "edge"),
        pipes=2,
        bent_pipes=1,
        plates=3,
        strays=3,
    ),
    "everything": FloorRecipe(
        outline="c-shape",
        width=10.0,
        depth=8.0,
        trend=(0.4, -0.2),
        plumes=("edge", "joint"),
        pipes=1,
        bent_pipes=1,
        plates=1,
        boxes=1,
        salts=1,
        strays=2,
        thickness_step=6.0,
        repeat_share=0.1,
        visits=3,
        tests=6,
    ),
}
"""Ready-made recipes by name."""


def mixed_recipe(seed: int, *, disturbed: bool = True) -> FloorRecipe:
    """Draw a recipe at random, for benches over many floors.

    Parameters
    ----------
    seed : int
        The same seed gives the same recipe.
    disturbed : bool
        False leaves out everything embedded or mis-keyed.
    """
    rng = np.random.default_rng([seed, 7])
    footprint = float(rng.uniform(0.1, 0.2))
    count = int(rng.integers(0, 3))
    recipe = FloorRecipe(
        outline=str(rng.choice(OUTLINES)),
        width=float(rng.uniform(6.0, 11.0)),
        depth=float(rng.uniform(5.0, 8.0)),
        spacing=round(footprint * float(rng.uniform(1.3, 2.0)), 2),
        jitter=float(rng.choice([0.0, 0.0, 0.02])),
        base=float(rng.uniform(25.0, 45.0)),
        trend=(float(rng.normal(0, 0.4)), float(rng.normal(0, 0.4))),
        texture_sd=float(rng.uniform(1.5, 5.0)),
        texture_length=float(rng.uniform(0.8, 2.0)),
        plumes=tuple(str(plume) for plume in rng.choice(PLUMES, count)),
        plume_rise=float(rng.uniform(20.0, 45.0)),
        footprint=footprint,
        noise_sd=float(rng.uniform(1.0, 2.5)),
        repeat_share=float(rng.choice([0.0, 0.05])),
    )
    if not disturbed:
        return recipe
    return replace(
        recipe,
        pipes=int(rng.integers(0, 3)),
        bent_pipes=int(rng.integers(0, 2)),
        plates=int(rng.integers(0, 3)),
        boxes=int(rng.integers(0, 2)),
        strays=int(rng.integers(0, 4)),
        strength=(4.0, 10.0),
    )
