"""Capillary spread of water in a slab or screed, solved in plan by finite volumes."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .raster import CELL

SAFETY = 0.9  # of the longest stable step
STAGES = 15  # of each super step; an odd number damps the shortest waves


@dataclass
class Slab:
    """A window of slab: saturation ``theta`` (ny, nx) in 0..1 and how water moves in it.

    d(theta)/dt = div(D k grad theta) + supply (1 - theta) - loss theta, with the exponential
    diffusivity D = ``diffusivity`` exp(n (theta - 1)), m2/day. ``inside`` marks cells of slab; no
    water crosses its edge. ``ease`` (k) is the local multiple of D, same shape.
    """

    theta: np.ndarray
    inside: np.ndarray
    ease: np.ndarray
    diffusivity: float
    n: float
    taken: float = 0.0
    lost: float = 0.0
    days: float = 0.0
    _faces: tuple[np.ndarray, np.ndarray] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        k = np.where(self.inside, self.ease, 0.0)
        floor = np.finfo(float).tiny
        pairs = ((k[:, 1:], k[:, :-1]), (k[1:], k[:-1]))
        self._faces = tuple(  # type: ignore[assignment]
            2 * a * b / np.maximum(a + b, floor) * self.diffusivity / CELL**2 for a, b in pairs
        )

    def longest_step(self, supply: np.ndarray, loss: np.ndarray) -> float:
        """Stable explicit time step, days (diffusion limit and exchange together)."""
        across, along = self._faces
        fastest = max(float(across.max()), float(along.max())) * np.exp(
            self.n * (float(self.theta.max()) - 1.0)
        )
        if float(supply.max()) > 0:
            fastest = max(float(across.max()), float(along.max()))
        return SAFETY / (4 * fastest + float((supply + loss).max()))

    def _spread(self, theta: np.ndarray) -> np.ndarray:
        across, along = self._faces
        # Kirchhoff potential: its differences are the exact mean of D over the step in theta. A
        # stage may pass saturation by a little; there D stays what it is at saturation.
        full = np.minimum(theta, 1.0)
        mobile = np.exp(self.n * (full - 1.0)) / self.n + (theta - full)
        flow_x = across * np.diff(mobile, axis=1)
        flow_y = along * np.diff(mobile, axis=0)
        rate = np.zeros_like(theta)
        rate[:, :-1] += flow_x
        rate[:, 1:] -= flow_x
        rate[:-1] += flow_y
        rate[1:] -= flow_y
        return rate

    def advance(self, supply: np.ndarray, loss: np.ndarray, longest: float = np.inf) -> None:
        """One super step of at most ``longest`` days; water taken and lost is booked.

        Runge-Kutta-Legendre, first order, STAGES stages (Meyer, Balsara and Aslam 2014).
        """
        supply, loss = supply * self.inside, loss * self.inside
        tau = min(self.longest_step(supply, loss) * (STAGES**2 + STAGES) / 2, longest)
        weight = 2.0 / (STAGES**2 + STAGES)

        def rates(state: np.ndarray) -> tuple[np.ndarray, float, float]:
            gain, drop = supply * (1.0 - state), loss * state
            return self._spread(state) + gain - drop, float(gain.sum()), float(drop.sum())

        rate, gain, drop = rates(self.theta)
        before = (self.theta, 0.0, 0.0)
        now = (self.theta + weight * tau * rate, weight * tau * gain, weight * tau * drop)
        for j in range(2, STAGES + 1):
            mu, nu = (2 * j - 1) / j, (1 - j) / j
            rate, gain, drop = rates(now[0])
            step = mu * weight * tau
            after = (
                mu * now[0] + nu * before[0] + step * rate,
                mu * now[1] + nu * before[1] + step * gain,
                mu * now[2] + nu * before[2] + step * drop,
            )
            before, now = now, after
        self.theta = now[0]
        self.taken += now[1] * CELL**2
        self.lost += now[2] * CELL**2
        self.days += tau

    @property
    def water(self) -> float:
        """Water held, as area of full saturation, m2."""
        return float(self.theta[self.inside].sum()) * CELL**2
