"""How slabs, exponentials and leaks dry, by other numerics than the package's own.

Crank's series (The Mathematics of Diffusion, 2nd ed. 1975, eq. 4.50) for constant diffusivity with
a surface film, scipy's LSODA on a method of lines for diffusivity that falls with humidity. Nothing
here imports ``moisturemap``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

Array = np.ndarray
Course = Callable[[Array], Array]
"""Excess over dry floor, as a share of that on day 0, at days since the first visit."""


@dataclass(frozen=True)
class SlabTruth:
    """A slab as nature made it."""

    thickness_mm: float
    faces: int
    diffusivity: float
    fo_start: float
    biot: float
    reach_mm: float
    box: bool
    power: float
    falling: bool = False
    wetted: float = 1.0
    exponential_law: bool = False

    @property
    def length(self) -> float:
        return self.thickness_mm / self.faces


def film_roots(biot: float, count: int) -> Array:
    """Roots of b tan b = Bi."""
    found = []
    for k in range(count):
        low, high = k * np.pi + 1e-9, k * np.pi + np.pi / 2 - 1e-9
        found.append(brentq(lambda b: b * np.tan(b) - biot, low, high))
    return np.array(found)


def seen_by_series(slab: SlabTruth, fo: Array) -> Array:
    """Excess near the surface of a slab with constant diffusivity."""
    b = film_roots(slab.biot, 160)
    # u = sum c cos(b (1 - z)) exp(-b^2 Fo), z from the drying face
    c = 4.0 * np.sin(b) / (2.0 * b + np.sin(2.0 * b))
    if slab.wetted < 1.0:
        # wet from the face to a part of the depth only
        c = 4.0 * (np.sin(b) - np.sin(b * (1.0 - slab.wetted))) / (2.0 * b + np.sin(2.0 * b))
    z = np.linspace(0.0, 1.0, 1201)
    weight = _response(slab, z)
    modes = np.cos(np.outer(b, 1.0 - z)) @ weight
    return np.exp(-np.outer(fo, b**2)) @ (c * modes)


def excess_at(slab: SlabTruth, fo: float, depth: float) -> float:
    """Excess at a depth, as a share of the drying length, at a time."""
    b = film_roots(slab.biot, 160)
    c = 4.0 * np.sin(b) / (2.0 * b + np.sin(2.0 * b))
    return float((c * np.cos(b * (1.0 - depth))) @ np.exp(-fo * b**2))


def _response(slab: SlabTruth, z: Array) -> Array:
    depth = z * slab.length
    weight = (depth <= slab.reach_mm).astype(float) if slab.box else np.exp(-depth / slab.reach_mm)
    return weight / weight.sum()


Ratio = Callable[[Array], Array]
"""Diffusivity over that of a wet slab, by humidity (fraction)."""


def humidity_law(rng: np.random.Generator) -> Ratio:
    """Draw the S-shaped law of Bazant and Najjar (1972)."""
    floor, centre, steepness = rng.uniform(0.05, 0.3), rng.uniform(0.72, 0.85), rng.uniform(5, 15)

    def ratio(h: Array) -> Array:
        return floor + (1 - floor) / (1 + ((1 - np.clip(h, 0, 1)) / (1 - centre)) ** steepness)

    return ratio


def exponential_law(rng: np.random.Generator) -> Ratio:
    """Draw D = D1 exp(-k (1 - u)): the usual law of moisture content (Hall 1977)."""
    k = rng.uniform(2.0, 6.0)
    return lambda h: np.exp(-k * (WET_H - np.clip(h, AIR_H, WET_H)) / (WET_H - AIR_H))


WET_H, AIR_H = 0.97, 0.5


def seen_by_lines(slab: SlabTruth, fo: Array, ratio: Ratio) -> Array:
    """Excess near the surface where diffusivity falls as the slab dries: method of lines."""
    edge = np.linspace(0.0, 1.0, 81) ** 1.8
    z, width = 0.5 * (edge[1:] + edge[:-1]), np.diff(edge)
    gap = np.diff(z)

    def slope(_: float, h: Array) -> Array:
        flux = ratio(0.5 * (h[1:] + h[:-1])) * np.diff(h) / gap
        # film and half the first cell in series
        inner = ratio(h[:1])[0] / z[0]
        top = (h[0] - AIR_H) / (1.0 / slab.biot + 1.0 / inner)
        return (np.r_[flux, 0.0] - np.r_[top, flux]) / width

    start = np.where(z <= slab.wetted, WET_H, AIR_H)
    solved = solve_ivp(
        slope, (0.0, fo[-1]), start, "LSODA", fo, rtol=1e-6, atol=1e-8, lband=1, uband=1
    )
    u = (solved.y - AIR_H) / (WET_H - AIR_H)
    depth = z * slab.length
    weight = width * (
        np.clip((slab.reach_mm - edge[:-1] * slab.length) / (width * slab.length), 0, 1)
        if slab.box
        else np.exp(-depth / slab.reach_mm)
    )
    return (weight / weight.sum()) @ u


def slab_course(slab: SlabTruth, rng: np.random.Generator) -> Course:
    """Course of the reading over a slab from its first visit on."""
    fo = slab.fo_start + np.r_[0.0, np.geomspace(1e-4, 20.0, 260)]
    if slab.falling or slab.exponential_law:
        law = humidity_law(rng) if slab.falling else exponential_law(rng)
        seen = seen_by_lines(slab, fo, law)
    else:
        seen = seen_by_series(slab, fo)
    share = (np.maximum(seen, 0.0) / seen[0]) ** slab.power
    days = (fo - slab.fo_start) * slab.length**2 / slab.diffusivity
    return lambda day: np.interp(day, days, share)


def fed_from_below(slab: SlabTruth) -> Course:
    """Course over a slab whose lower face stays wet: 1 - z rising to it, and the series on top."""
    depth, share = np.linspace(0.0, 1.0, 401), 1.0 / (1.0 + 1.0 / slab.biot)
    weight = _response(slab, depth)
    steady = float((1.0 - share + share * depth) @ weight)
    # excess over the steady profile: roots of b cot b = -Bi, modes sin(b (1 - z))
    b = np.array(
        [
            brentq(lambda x: x * np.cos(x) + slab.biot * np.sin(x), (k - 0.5) * np.pi, k * np.pi)
            for k in range(1, 121)
        ]
    )
    modes = np.sin(np.outer(b, 1.0 - depth))
    c = (modes @ (share * (1.0 - depth))) / (modes**2).sum(axis=1)
    seen_modes = c * (modes @ weight)
    fo = slab.fo_start + np.r_[0.0, np.geomspace(1e-4, 20.0, 260)]
    seen = steady + np.exp(-np.outer(fo, b**2)) @ seen_modes
    days = (fo - slab.fo_start) * slab.length**2 / slab.diffusivity
    return lambda day: np.interp(day, days, seen / seen[0])


def draw_slab(rng: np.random.Generator, **fixed: object) -> SlabTruth:
    """Draw a slab; what is fixed replaces what is drawn."""
    drawn: dict[str, object] = {
        "thickness_mm": float(np.exp(rng.uniform(np.log(50), np.log(200)))),
        "faces": 1,
        "diffusivity": float(np.exp(rng.uniform(np.log(12), np.log(60)))),
        "fo_start": float(np.exp(rng.uniform(np.log(0.01), np.log(1.0)))),
        "biot": float(np.exp(rng.uniform(0.0, np.log(100)))),
        "reach_mm": float(rng.uniform(10, 40)),
        "box": bool(rng.uniform() < 0.5),
        "power": float(np.exp(rng.normal(0.0, 0.2))),
    }
    return SlabTruth(**(drawn | fixed))  # type: ignore[arg-type]


def exponential(half_life: float) -> Course:
    return lambda day: 0.5 ** (np.asarray(day) / half_life)


def held(course: Course, share: float) -> Course:
    """Hold a share of the excess, as a leak does."""
    return lambda day: share + (1.0 - share) * course(day)


def rewetted(course: Course, day: float, rise: float) -> Course:
    """Let water come once more: the excess jumps by a share and dries on like at the start."""
    return lambda at: (
        course(at)
        + rise * np.where(np.asarray(at) >= day, course(np.maximum(np.asarray(at) - day, 0.0)), 0.0)
    )
