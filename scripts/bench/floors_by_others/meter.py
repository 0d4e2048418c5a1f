"""The meter: scale, curve, step, noise, drift, and the depth it sees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .things import MeterField

STEPS = {100: (1, 1, 2, 5), 200: (1, 1, 2, 5), 999: (1, 5)}
CURVES = ("straight", "saturating", "steep at the top", "flat at the top")


@dataclass(frozen=True)
class Meter:
    """``curve`` turns the linear answer (0..1.5) into part of scale; noise and drift in scale."""

    scale: tuple[float, float]
    step: float
    curve: str
    noise: float
    drift: float
    depth: float
    field: MeterField

    @property
    def span(self) -> float:
        return self.scale[1] - self.scale[0]

    @property
    def noise_sd(self) -> float:
        """Noise of one reading with its display step, units of the scale."""
        return float(np.hypot(self.noise * self.span, self.step / np.sqrt(12)))

    def reads(self, answer: np.ndarray) -> np.ndarray:
        """Exact reading (no noise, no step) of a linear answer, units of the scale."""
        u = np.maximum(answer, 0.0)
        part = {
            "straight": lambda: u,
            "saturating": lambda: 1.15 * (1 - np.exp(-1.5 * u)),
            "steep at the top": lambda: u**1.3,
            "flat at the top": lambda: u**0.75,
        }[self.curve]()
        return self.scale[0] + self.span * np.clip(part, 0.0, 1.0)

    def answer_for(self, part: float) -> float:
        """Linear answer that reads as ``part`` of the scale."""
        u = np.linspace(0, 2.5, 5001)
        read = (self.reads(u) - self.scale[0]) / self.span
        return float(u[np.searchsorted(read, part)])

    def shows(self, rng: np.random.Generator, exact: np.ndarray, drift: np.ndarray) -> np.ndarray:
        """Return readings as displayed: noise, drift, display step, ends of the scale."""
        value = exact + drift + rng.normal(0, self.noise * self.span, len(exact))
        return np.clip(self.step * np.round(value / self.step), *self.scale)

    def sees(
        self, theta: np.ndarray, thickness: float, from_below: bool, evened: float = 0.0
    ) -> np.ndarray:
        """Depth-weighted part of a slab's moisture, weight exp(-z/depth).

        A column of mean saturation ``theta`` holds the part ``evened`` of its water evenly and the
        rest behind a sharp front in its lower or upper part.
        """
        full = 1 - np.exp(-thickness / self.depth)
        if from_below:
            top = np.exp(-(1 - theta) * thickness / self.depth)
            sharp = (top - np.exp(-thickness / self.depth)) / full
        else:
            sharp = (1 - np.exp(-theta * thickness / self.depth)) / full
        return evened * theta + (1 - evened) * sharp

    def walk(self, rng: np.random.Generator, count: int) -> np.ndarray:
        """Drift along ``count`` readings: a line and a slow random walk, units of the scale."""
        if not count:
            return np.zeros(0)
        line = rng.uniform(-1, 1) * np.linspace(0, 1, count)
        steps = np.cumsum(rng.normal(0, 1, count)) / np.sqrt(max(count, 2))
        return self.drift * self.span * (line + 0.7 * steps)


def draw_meter(rng: np.random.Generator) -> Meter:
    """Draw a meter of the ranges named in the README."""
    top = int(rng.choice(list(STEPS), p=[0.5, 0.2, 0.3]))
    return Meter(
        scale=(0.0, float(top)),
        step=float(rng.choice(STEPS[top])),
        curve=str(rng.choice(CURVES)),
        noise=float(np.exp(rng.uniform(np.log(0.005), np.log(0.02)))),
        drift=float(rng.uniform(0, 0.012)),
        depth=float(rng.uniform(0.015, 0.05)),
        field=MeterField(
            reach=float(rng.uniform(0.03, 0.07)),
            power=float(rng.uniform(4.0, 6.0)),
            footprint=float(rng.uniform(0.06, 0.20)),
            gain=float(np.exp(rng.uniform(np.log(0.08), np.log(0.40)))),
        ),
    )
