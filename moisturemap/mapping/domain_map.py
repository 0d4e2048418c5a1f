"""One domain: fit, krige and check, or say plainly why not."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.errors import NotEnoughData
from moisturemap.floorplan import Domain
from moisturemap.geostat import (
    IDENTITY,
    BlendedKriging,
    BlendOptions,
    Censored,
    FitOptions,
    ValueScale,
    drift_over,
    fill_in,
    fit_censored,
    pool,
    spacing_of,
)
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.floor_embedding import FloorEmbedding
from moisturemap.mapping.options import MappingOptions
from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]

FEWEST = 3
"""Locations inside the scale that a domain needs before a map is drawn."""

EARNED = 3.0
"""Log score by which the stretched scale must predict left-out readings better, in all."""

EDGE, EDGE_SHARE = 0.1, 0.05
"""The stretched scale is tried when so large a share of locations reads so near an end."""

REPEATS_WANTED = 3
"""Repeat readings needed before their scatter counts as known noise."""

APART_M = 0.001
"""Distance at which two locations of one place are kept [m]."""

NEIGHBOURS = 1.5
"""Distance in spacings within which readings of a grid are neighbours, also across a corner."""

SIDES = {"": 0, "above": 1, "below": -1}


@dataclass(frozen=True)
class Outcome:
    """What became of one domain."""

    field: KrigedField | None
    refusal: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Locations:
    """Locations of a domain as arrays."""

    number: NDArray[np.intp]
    points: Array
    values: Array
    side: NDArray[np.int_]
    noise_sd: Array
    repeat_pairs: int


def map_domain(
    locations: pd.DataFrame,
    clean: CleanReadings,
    domain: Domain,
    options: MappingOptions,
    known: KrigedField | None = None,
) -> Outcome:
    """Fit and krige one domain from its locations, or refuse in a sentence.

    With a known field its covariance, scale and paths are taken and nothing is fitted. A contested
    reading that stands alone is mapped, and decides nothing of how the floor varies: taken for
    noise, one high value would smooth a wet patch away elsewhere.
    """
    refusal = _refusal(locations, domain)
    if refusal:
        return Outcome(None, refusal)
    alone = _alone(locations) if known is None else np.zeros(len(locations), dtype=bool)
    if alone.any():
        known = map_domain(locations[~alone], clean, domain, options).field
    data = _arrays(locations, clean)
    if known is not None:
        field = _with_known(data, known, options)
        return Outcome(field, notes=_notes(field, data))
    embedding = (
        FloorEmbedding.of(domain.geometry) if options.in_room else FloorEmbedding(domain.geometry)
    )
    try:
        fields = [
            _krige(data, embedding, scale, (clean.step, options))
            for scale in _scales(data.values, clean, options)
        ]
    except NotEnoughData as error:
        return Outcome(None, f"{domain.label}: {error}; nothing is mapped.")
    field = fields[0]
    if len(fields) > 1 and _score(fields[1], data) > _score(fields[0], data) + EARNED:
        field = fields[1]
    return Outcome(field, notes=_notes(field, data))


def _alone(locations: pd.DataFrame) -> NDArray[np.bool_]:
    """Which contested locations have no contested neighbour, (n,)."""
    contested = locations["contested"].to_numpy(dtype=bool)
    alone = np.zeros(len(locations), dtype=bool)
    if not contested.any() or len(locations) <= FEWEST:
        return alone
    points = locations[["x", "y"]].to_numpy(dtype=float)
    near = cKDTree(points[contested])
    found = near.query_ball_point(points[contested], NEIGHBOURS * spacing_of(points))
    alone[contested] = [len(others) == 1 for others in found]
    return alone


def _refusal(locations: pd.DataFrame, domain: Domain) -> str:
    """Why a domain cannot be mapped; "" when it can."""
    name = domain.label
    if len(locations) == 0:
        return f"{name}: no usable reading, so nothing is mapped."
    inside = locations["censored"] == ""
    values = locations["value"].to_numpy(dtype=float)
    if not inside.any():
        ends = " or ".join(sorted({f"at or {end}" for end in locations["censored"]}))
        return (
            f"{name}: all {len(locations)} readings are off the scale ({ends} {np.max(values):g}); "
            "the pattern cannot be mapped."
        )
    if int(inside.sum()) < FEWEST:
        read = ", ".join(f"{value:g}" for value in values[inside.to_numpy()])
        return (
            f"{name}: usable readings inside the scale: {int(inside.sum())} ({read}); a map "
            f"needs at least {FEWEST} locations."
        )
    return ""


def _arrays(locations: pd.DataFrame, clean: CleanReadings) -> _Locations:
    """Locations as arrays; a censored one stands at the end of the scale."""
    side = np.array([SIDES[censored] for censored in locations["censored"]], dtype=np.int_)
    values = locations["value"].to_numpy(dtype=float, copy=True)
    if clean.instrument.scale is not None:
        low, high = clean.instrument.scale
        values = np.where(np.isfinite(values), values, np.where(side > 0, high, low))
    known = known_noise_sd(clean)
    pairs = clean.repeat_pairs if known else 0
    noise = known / np.sqrt(locations["n"].to_numpy(dtype=float))
    number = locations["location"].to_numpy(dtype=np.intp)
    points = set_apart(locations[["x", "y"]].to_numpy(dtype=float))
    return _Locations(number, points, values, side, noise, pairs)


def known_noise_sd(clean: CleanReadings) -> float:
    """Return the sd of one reading that its repeats tell [reading]; 0 where too few do."""
    enough = clean.repeat_pairs >= REPEATS_WANTED
    return clean.repeat_sd if enough and clean.repeat_sd is not None else 0.0


def set_apart(points: Array) -> Array:
    """Move locations that share a place a millimetre apart, so that each stays one of its own."""
    member = pool(points, np.zeros(len(points))).member
    order = np.argsort(member, kind="stable")
    first = np.searchsorted(member[order], member[order])
    rank = np.empty(len(points))
    rank[order] = np.arange(len(points)) - first
    return points + np.column_stack([APART_M * rank, np.zeros(len(points))])


def _scales(values: Array, clean: CleanReadings, options: MappingOptions) -> list[ValueScale]:
    """Scales to try, the plain one first; in the middle of a scale both are alike."""
    bounded = clean.instrument.scale
    if options.scale == "identity" or bounded is None or not np.isfinite(bounded).all():
        return [IDENTITY]
    stretched = ValueScale.bounded(bounded, clean.step)
    if options.scale == "logit":
        return [stretched]
    low, high = bounded
    edge = EDGE * (high - low)
    ends = np.mean((values < low + edge) | (values > high - edge))
    return [IDENTITY, stretched] if ends > EDGE_SHARE else [IDENTITY]


def _krige(
    data: _Locations,
    embedding: FloorEmbedding,
    scale: ValueScale,
    how: tuple[float, MappingOptions],
) -> KrigedField:
    """Fit and krige on one scale."""
    step, options = how
    values = scale.forward(data.values)
    slope = float(np.median(scale.slope(data.values)))
    noise = data.noise_sd * slope
    places = embedding.coordinates(data.points)
    drift = drift_over(places, options.drift if embedding.is_straight else "constant")
    fitted = fit_censored(
        places,
        values,
        data.side,
        noise_sd=noise,
        options=FitOptions(
            kinds=options.kinds,
            nugget_floor=(step * slope) ** 2 / 12.0,
            repeat_pairs=data.repeat_pairs or None,
            anisotropy=options.anisotropy and embedding.is_straight,
            drift=drift,
            earlier=options.earlier.floors if options.earlier and scale.is_identity else None,
        ),
        seed=options.seed,
    )
    kriging = BlendedKriging(
        places,
        values,
        fitted.fit,
        noise,
        options=BlendOptions(engine=options.engine, drift=drift, copies=fitted.copies),
    )
    return KrigedField(
        kriging, fitted.fit, embedding, scale, data.number, data.points, data.side != 0
    )


def _with_known(data: _Locations, known: KrigedField, options: MappingOptions) -> KrigedField:
    """Krige with the covariance, scale and ways of an earlier map."""
    values = known.scale.forward(data.values)
    noise = data.noise_sd * float(np.median(known.scale.slope(data.values)))
    places, copies = known.embedding.coordinates(data.points), None
    if data.side.any():
        hidden = Censored(places, values, data.side, noise)
        copies = fill_in(hidden, known.fit.model, np.random.default_rng(options.seed))
    how = replace(known.kriging.options, engine=options.engine, copies=copies)
    kriging = BlendedKriging(places, values, known.fit, noise, options=how)
    return replace(
        known,
        kriging=kriging,
        locations=data.number,
        points=data.points,
        censored=data.side != 0,
    )


def _score(field: KrigedField, data: _Locations) -> float:
    """Log score of left-out readings in reading units, in all."""
    inside = data.side == 0
    jacobian = np.log(field.scale.slope(data.values[inside])).sum()
    return float(field.check.log_score * np.count_nonzero(inside) + jacobian)


def _notes(field: KrigedField, data: _Locations) -> tuple[str, ...]:
    notes = list(field.fit.notes)
    spread = np.linalg.svd(data.points - data.points.mean(axis=0), compute_uv=False)
    if spread[-1] <= 1e-3 * spread[0]:
        notes.append(
            "All readings lie on one line: away from that line the map rests on the "
            "fitted range alone."
        )
    count = int(np.count_nonzero(data.side))
    if count:
        notes.append(
            f"{count} of {len(data.values)} locations are off the scale and are used as at or "
            "beyond its end."
        )
    if not field.scale.is_identity:
        notes.append(
            "Mapped on a scale stretched at its ends, which predicts left-out readings "
            "better; the map shows medians."
        )
    if field.embedding.scaling is not None:
        notes.append(
            "Distances are measured inside the floor, round its corners (embedded with "
            f"{100 * field.embedding.scaling.stretch:.0f}% distortion)."
        )
    return tuple(notes)
