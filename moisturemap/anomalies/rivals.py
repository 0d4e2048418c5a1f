"""The rivals: a thing, wet floor, a step of the deck, and how much likelier the thing is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import THIN_M, Scene
from moisturemap.anomalies.window import Fitted, Window, log_evidence

Array = NDArray[np.float64]
Shape = Ridge | Disc

WIDTH_SPREAD = 0.3
"""Sd of the logarithm of a thing's width about that of a usual one (our choice)."""

UNEVEN, OFF_PLACE_M = 0.08, 0.03
"""A thing varies by this share from reading to reading, and places are off by this much [m]."""

WANDER, WANDER_M = 0.25, 1.2
"""A thing may also fade in and out by this share over this length [m]: its cover varies."""

BREATHE, STRAY_M, BEND_M = 0.15, 0.04, 2.0
"""Its response may be wider or narrower by this share, and its course off by so much [m], over
this length [m]: the cover varies, and no course is quite straight."""

WET_FORMS = (
    (0.35, 0.8, 1.0),
    (0.35, 0.8, 3.0),
    (0.55, 0.9, 1.0),
    (0.55, 0.9, 3.0),
    (0.9, 0.7, 0.7),
    (0.9, 0.9, 2.0),
)
"""Wet floor in the candidate's place: sd of its envelope across, correlation lengths across and
along [m]. Water in a slab spreads over decimetres at least; narrower than an sd of 0.35 m it is
small beside a patch of 1 m2 (our choice, moved by floors made from capillary flow)."""

BAND_HALVES_M = (0.3, 0.45, 0.65)
"""Half widths of wet floor with a sharp front, as capillary water has, seen through the footprint
[m]: weighed just as a thing is, which is narrower."""

RIM_M, RIM_LENGTH_M = 0.12, 0.8
"""Its rim runs in and out by this (sd), over this length [m] (our choice)."""

BROAD_M = 0.9
"""Wet forms this wide may lie under a thing as well [m]."""

WET_STRENGTHS = (0.12, 0.35)
"""Amplitudes of wet floor [share of the scale]."""

RAGGED, RAGGED_ALONG_M, RAGGED_ACROSS_M = 0.06, 0.6, 0.5
"""Ragged part of wet floor: share of its variance, lengths along and across [m]."""

PRIOR_FLOOR, PRIOR_WET, PRIOR_STEP = 0.5, 0.4, 0.1
"""Prior shares of what is no thing: the floor as seen beside it, wet floor, a step."""

PRIOR_ALONE = 0.7
"""Prior share of things that lie in floor as seen beside them; the rest lie in wet floor."""


@dataclass(frozen=True)
class Weighed:
    """A candidate with its odds.

    Attributes
    ----------
    shape : Ridge or Disc
    strength, strength_sd : float
        Rise right over it and its standard error [reading].
    log_odds : float
        Natural log of the odds of a thing against wet floor and a step.
    misfit : float
        Mean squared whitened residual about it with the thing taken out; 1 where all is told.
    rival : str
        The likeliest of what is no thing: ``"floor"``, ``"wet"`` or ``"step"``.
    told : bool
        False where it hides wet floor and a band of that as narrow would read alike.
    """

    shape: Shape
    strength: float
    strength_sd: float
    log_odds: float
    misfit: float
    rival: str
    told: bool = True


@dataclass(frozen=True)
class _Place:
    """A candidate in its window: profile, its slope, coordinates, distance from its middle."""

    rise: Array
    slope: Array
    along: Array
    across: Array
    away: Array

    @classmethod
    def of(cls, shape: Shape, points: Array) -> _Place:
        along, across = shape.frame(points)
        past = shape.past(points) if isinstance(shape, Ridge) else along
        return cls(shape.rise(points), shape.slope(points), along, across, np.hypot(across, past))


def width_prior(width: Array, scene: Scene) -> Array:
    """Log prior of a thing's width [m], but for a constant."""
    off = np.log(width / np.hypot(scene.footprint, THIN_M)) / WIDTH_SPREAD
    return np.asarray(-0.5 * off**2)


def _wet(place: _Place, form: tuple[float, float, float], amplitude: float) -> Array:
    """Covariance of wet floor of a form and amplitude in the candidate's place, (m, m)."""
    wide, across_m, along_m = form
    envelope = amplitude * np.exp(-0.5 * (place.away / wide) ** 2)
    along = place.along[:, None] - place.along
    across = place.across[:, None] - place.across
    smooth = np.exp(-0.5 * (along / along_m) ** 2 - 0.5 * (across / across_m) ** 2)
    ragged = np.exp(-0.5 * (along / RAGGED_ALONG_M) ** 2 - 0.5 * (across / RAGGED_ACROSS_M) ** 2)
    return np.asarray(np.outer(envelope, envelope) * (smooth + RAGGED * ragged))


def _wander(place: _Place, width: float) -> Array:
    """Covariance of what a long thing of unit strength may depart by from an even one, (m, m)."""
    apart = place.along[:, None] - place.along
    off = place.across / width
    fade, wider, aside = place.rise, place.rise * off**2, place.rise * off / width
    slow = np.exp(-0.5 * (apart / BEND_M) ** 2)
    return np.asarray(
        WANDER**2 * np.outer(fade, fade) * np.exp(-0.5 * (apart / WANDER_M) ** 2)
        + slow * (BREATHE**2 * np.outer(wider, wider) + STRAY_M**2 * np.outer(aside, aside))
    )


def _rim(place: _Place, rise: Array, slope: Array) -> Array:
    """Covariance of what a band of water of unit strength may depart by from an even one, (m, m).

    It fades along its course, and its rim runs in and out on either hand by itself.
    """
    apart = place.along[:, None] - place.along
    edge = rise * np.abs(slope)
    hand = np.sign(place.across)
    same = (hand[:, None] == hand) * np.exp(-0.5 * (apart / RIM_LENGTH_M) ** 2)
    return np.asarray(
        WANDER**2 * np.outer(rise, rise) * np.exp(-0.5 * (apart / WANDER_M) ** 2)
        + RIM_M**2 * np.outer(edge, edge) * same
    )


@dataclass(frozen=True)
class _Thing:
    evidence: float
    strength: float
    strength_sd: float
    residual: Array


class _Trial:
    """A candidate held against its rivals in one window."""

    def __init__(self, scene: Scene, window: Window, shape: Shape) -> None:
        self.scene, self.window, self.shape = scene, window, shape
        self.place = _Place.of(shape, window.points)
        self.plain = window.fit()
        _, information, score = self.plain.project(self.place.rise[:, None])
        self.strength = max(float(score[0] / information[0]), 0.0)

    def thing(self, extra: Array | None = None) -> _Thing:
        """Evidence of the thing in the floor as seen beside it, or with wet floor under it."""
        place = self.place
        loose = (UNEVEN * place.rise) ** 2 + (OFF_PLACE_M * place.slope) ** 2
        found = [self._on(self.window.fit(extra, self.strength**2 * loose))]
        if isinstance(self.shape, Ridge):
            wander = self.strength**2 * _wander(place, self.shape.width)
            wander = wander if extra is None else wander + extra
            found.append(self._on(self.window.fit(wander, self.strength**2 * loose)))
        best = max(found, key=lambda one: one.evidence)
        mean = np.logaddexp.reduce([one.evidence for one in found]) - np.log(len(found))
        return _Thing(float(mean), best.strength, best.strength_sd, best.residual)

    def band(self, half: float) -> float:
        """Evidence of wet floor as a band or patch in its place, flat over so much each way [m]."""
        place, fall = self.place, self.scene.footprint
        off = np.sign(place.across) * np.maximum(place.away - half, 0.0) / fall
        rise = np.exp(-0.5 * off**2)
        _, information, score = self.plain.project(rise[:, None])
        strength = max(float(score[0] / information[0]), 0.0)
        extra = strength**2 * _rim(place, rise, off / fall)
        fitted = self.window.fit(extra, (UNEVEN * strength * rise) ** 2)
        _, information, score = fitted.project(rise[:, None])
        evidence = float(log_evidence(information, score, self.scene.span)[0])
        return fitted.log_likelihood + evidence

    def _on(self, fitted: Fitted) -> _Thing:
        white, information, score = fitted.project(self.place.rise[:, None])
        evidence = float(log_evidence(information, score, self.scene.span)[0])
        strength = max(float(score[0] / information[0]), 0.0)
        prior = 0.0
        if isinstance(self.shape, Ridge):
            prior = float(width_prior(np.array(self.shape.width), self.scene))
        residual = fitted.white - strength * white[:, 0]
        error = float(1.0 / np.sqrt(information[0]))
        return _Thing(fitted.log_likelihood + evidence + prior, strength, error, residual)

    def step(self) -> float:
        """Evidence of a step of the deck along the candidate's course."""
        rise = np.tanh(self.place.across / max(0.1, 0.3 * self.scene.spacing))
        _, information, score = self.plain.project(rise[:, None])
        evidence = log_evidence(information, np.abs(score), self.scene.span)
        return self.plain.log_likelihood + float(evidence[0])


def thing_evidence(scene: Scene, window: Window, shape: Shape) -> float:
    """Log evidence of a thing of a shape in the floor as seen beside it."""
    return _Trial(scene, window, shape).thing().evidence


def weigh(scene: Scene, window: Window, shape: Shape) -> Weighed:
    """Weigh a candidate against wet floor and a step.

    Parameters
    ----------
    scene : Scene
    window : Window
        Readings about it.
    shape : Ridge or Disc
        Where and how wide it is.
    """
    trial = _Trial(scene, window, shape)
    alone = trial.thing()
    wet, under = [], []
    for form in WET_FORMS:
        for share in WET_STRENGTHS:
            extra = _wet(trial.place, form, share * scene.span)
            wet.append(window.fit(extra).log_likelihood)
            if form[0] >= BROAD_M:
                under.append(trial.thing(extra).evidence)
    wet += [trial.band(half) for half in BAND_HALVES_M]
    plain = trial.plain.log_likelihood
    rivals = {
        "floor": plain + np.log(PRIOR_FLOOR),
        "wet": float(np.logaddexp.reduce(wet)) - np.log(len(wet)) + np.log(PRIOR_WET),
    }
    if isinstance(shape, Ridge):
        rivals["step"] = trial.step() + np.log(PRIOR_STEP)
    in_wet = float(np.logaddexp.reduce(under)) - np.log(len(under))
    thing = np.logaddexp(alone.evidence + np.log(PRIOR_ALONE), in_wet + np.log(1.0 - PRIOR_ALONE))
    near = trial.place.away < max(0.9, 1.2 * scene.spacing)
    misfit = float((alone.residual[near] ** 2).mean()) if near.any() else 1.0
    odds = float(thing - np.logaddexp.reduce(list(rivals.values())))
    rival = max(rivals, key=lambda one: rivals[one])
    return Weighed(shape, alone.strength, alone.strength_sd, odds, misfit, rival)
