"""The wet level: the relative reading above which floor is called wet."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import fdtrc, fdtri, nctdtrit, ndtri

from moisturemap.floorplan import FloorPlan
from moisturemap.geostat import Covariance, fit_covariance
from moisturemap.mapping import MoistureSurface
from moisturemap.survey import Survey, Visit, agreeing, contradicted
from moisturemap.zones.material import base_of, one_level_for
from moisturemap.zones.options import LevelOptions
from moisturemap.zones.populations import (
    LEAST_CONTRAST,
    Places,
    PopulationEvidence,
    population_evidence,
)
from moisturemap.zones.zones import WetLevel

Array = NDArray[np.float64]

FEWEST_FITTED, MOST_FITTED = 10, 150
"""Readings of a domain a covariance is fitted to when no map is at hand."""

OUTLYING = 0.01
"""A place whose repeats scatter so much by a smaller chance than this tells nothing of noise (the
level of an outlier in ISO 5725-2)."""

UNSTATED = "the survey states no wet level and no usable dry reference"
NOT_DRY = (
    "That does not say the floor is dry: it may be wet all over. Read floor of the same build that "
    "is known to be dry ten times, or state a wet level; test where the map is highest."
)


def choose_wet_level(
    survey: Survey,
    visit: Visit | str | None,
    used_values: pd.DataFrame | Array,
    *,
    surface: MoistureSurface | None = None,
    options: LevelOptions | None = None,
) -> WetLevel:
    """Choose the wet level: as stated, from the dry reference, or from the floor's own readings.

    Parameters
    ----------
    survey : Survey
        Its ``scan`` may state the level or the dry reference.
    visit : Visit, str or None
        The visit mapped; its own dry reference goes before the survey's.
    used_values : DataFrame or ndarray
        Readings that make the map: a table with ``x, y, value`` and ``domain`` (repeats at a place
        are averaged), or bare values.
    surface : MoistureSurface, optional
        Its fitted fields give the spatial correlation of the readings; without it a covariance is
        fitted to some of them. Bare values have no places, and then evidence for two populations
        has to be far stronger.
    options : LevelOptions, optional

    Returns
    -------
    WetLevel
        ``value`` is None when the readings show no distinct wet zone.
    """
    options = options or LevelOptions()
    known = stated_level(survey, visit, options)
    if known is not None and known.value is not None:
        return known
    refused = "" if known is None else known.explanation + " "
    level = _from_populations(used_values, surface, options, survey.plan)
    level = replace(level, explanation=refused + level.explanation)
    return level if level.value is None else _told(level, one_level_for(survey, level.base))


def stated_level(
    survey: Survey, visit: Visit | str | None, options: LevelOptions | None = None
) -> WetLevel | None:
    """Return the level the survey gives before anything is mapped: stated, or a dry reference.

    Parameters
    ----------
    survey, visit, options
        As for :func:`choose_wet_level`.

    Returns
    -------
    WetLevel or None
        None where the survey gives neither; ``value`` None where the reference cannot be used.
    """
    options = options or LevelOptions()
    scale = _scale(survey, options.meter)
    chosen = visit if isinstance(visit, Visit) else survey.visit(visit)
    recorded = chosen.dry_reference or survey.scan.dry_reference
    other = _read_with_another(survey, options.meter, recorded)
    if other and (survey.scan.wet_level is not None or recorded):
        return WetLevel(None, "none", other)
    if survey.scan.wet_level is not None:
        level = _within(_stated(float(survey.scan.wet_level)), scale)
        if level.value is None:
            return level
        return _of(_told(level, _not_used(len(recorded))), survey)
    if not recorded:
        return None
    reference = agreeing(recorded, scale)
    noise, df = _noise(survey, chosen, options)
    level = _from_reference(np.array(reference.values, dtype=float), noise, df, options)
    level = _told(_within(level, scale), reference.words)
    return level if level.value is None else _of(level, survey)


def _of(level: WetLevel, survey: Survey) -> WetLevel:
    """Say of which material a stated level is, and what it tells nothing of."""
    base = survey.scan.base.strip()
    return replace(_told(level, one_level_for(survey, base)), base=base)


def _not_used(count: int) -> str:
    """Say that dry readings were taken for nothing; "" where there are none."""
    if not count:
        return ""
    return (
        f"Its {count} dry reference readings are not used, as the stated level goes before them: "
        "leave the level out to have it follow them."
    )


def _told(level: WetLevel, more: str) -> WetLevel:
    """Add to what is said of a level."""
    return replace(level, explanation=f"{level.explanation} {more}") if more else level


def _scale(survey: Survey, meter: str) -> tuple[float, float] | None:
    """Return the scale of a meter, or of the one the survey was read with."""
    if not meter and len(survey.readings):
        meter = str(survey.readings["instrument"].value_counts().index[0])
    return getattr(survey.instruments.get(meter), "scale", None)


def _within(level: WetLevel, scale: tuple[float, float] | None) -> WetLevel:
    """Refuse a level that no reading can stand above."""
    if scale is None or level.value is None or level.value < scale[1]:
        return level
    why = (
        f"A wet level of {level.value:.4g} lies at or above the end of the scale, {scale[1]:g}: no "
        "reading can stand above it, so it is not used. Correct it, or the dry readings it is from."
    )
    return WetLevel(None, "none", why)


def _read_with_another(survey: Survey, meter: str, recorded: tuple[float, ...]) -> str:
    """Say why a level of the survey is not one of this meter; "" where it is."""
    level = survey.scan.wet_level
    if level is None and recorded:
        level = float(np.median(recorded))
    if survey.readings.empty or (survey.readings["instrument"] == meter).all():
        return ""
    first = _meter_of(survey, level)
    if not meter or first in ("", meter):
        return ""
    scales = [getattr(survey.instruments.get(name), "scale", None) for name in (first, meter)]
    if scales[0] is not None and scales[0] == scales[1]:
        return ""
    return (
        f"The wet level and the dry reference of the survey are of {first}, on whose scale {meter} "
        f"does not read: state them in a survey read with {meter} alone."
    )


def _meter_of(survey: Survey, level: float | None) -> str:
    """Return the meter whose middle reading is nearest to a level by ratio; "" without readings."""
    middles = survey.readings.groupby("instrument")["value"].median().dropna()
    if middles.empty:
        return ""
    most = str(survey.readings["instrument"].value_counts().index[0])
    if level is None:
        return most

    def apart(name: str) -> tuple[float, bool]:
        larger = max(abs(level), abs(middles[name]))
        return abs(level - middles[name]) / larger if larger else 0.0, name != most

    return str(min(map(str, middles.index), key=apart))


def _stated(value: float) -> WetLevel:
    return WetLevel(
        value,
        "stated",
        f"Wet level {value:g}: stated by the survey, on the scale of the relative readings.",
    )


def tolerance_factor(
    count: int, coverage: float, confidence: float, df: float | None = None
) -> float:
    """One-sided normal tolerance factor k.

    With the stated confidence, mean + k sd lies above the stated share of a normal population.

    Parameters
    ----------
    count : int
        Values behind the mean.
    coverage, confidence : float
        Between 0 and 1.
    df : float, optional
        Degrees of freedom behind the sd; ``count - 1`` when not given, infinity when it is known.

    Notes
    -----
    k = t'(confidence; df, z sqrt(n)) / sqrt(n) with the noncentral t (Owen, D. B. (1968),
    Technometrics 10, 445-478; ISO 16269-6).
    """
    df = count - 1 if df is None else df
    shift = ndtri(coverage) * np.sqrt(count)
    if np.isinf(df):
        return float((shift + ndtri(confidence)) / np.sqrt(count))
    return float(nctdtrit(df, shift, confidence) / np.sqrt(count))


def _noise(survey: Survey, visit: Visit, options: LevelOptions) -> tuple[float, float]:
    """Sd of one reading and its degrees of freedom: as given, or from repeats; (0, 0) unknown."""
    if options.noise_sd is not None:
        return options.noise_sd, float(options.noise_df)
    readings = survey.readings_of(visit.id)
    numeric = readings[np.isfinite(readings["value"].astype(float))]
    if numeric.empty:
        return 0.0, 0.0
    place = np.zeros(len(numeric), dtype=np.int64)
    for column in ("instrument", "x", "y"):
        code = pd.factorize(numeric[column].to_numpy())[0].astype(np.int64)
        place = pd.factorize(place * (len(numeric) + 1) + code)[0]
    value = numeric["value"].to_numpy(dtype=float)
    # a repeat that no noise explains tells nothing of noise
    kept = ~contradicted(numeric.assign(location=place), 0.0)
    value, place = value[kept], np.unique(place[kept], return_inverse=True)[1]
    count = np.bincount(place)
    mean = np.bincount(place, weights=value) / count
    squares = np.bincount(place, weights=(value - mean[place]) ** 2)
    again = count > 1
    return _pooled(np.asarray(squares[again], float), np.asarray(count[again] - 1, float))


def _pooled(squares: Array, freedom: Array) -> tuple[float, float]:
    """Pool the scatter of places, those left out that scatter far more than all others.

    Cochran's test in its F form, which allows for unequal counts (ISO 5725-2; 't Lam, Trends Anal.
    Chem. 29 (2010) 460). One wrong repeat would raise the level, and make wet floor elsewhere dry.
    """
    while freedom.size > 2:
        rest, left = squares.sum() - squares, freedom.sum() - freedom
        ratio = np.divide(squares / freedom, rest / left, out=np.zeros_like(rest), where=rest > 0)
        chance = fdtrc(freedom, left, ratio) * freedom.size
        worst = int(np.argmin(chance))
        if chance[worst] >= OUTLYING:
            break
        squares, freedom = np.delete(squares, worst), np.delete(freedom, worst)
    df = float(freedom.sum())
    return (0.0, 0.0) if df < 2 else (float(np.sqrt(squares.sum() / df)), df)


def _from_reference(
    reference: Array, noise: float, noise_df: float, options: LevelOptions
) -> WetLevel:
    """Mean of the dry readings plus a tolerance factor times a standard deviation.

    The scatter of the reference is pooled with that of repeats unless it is clearly larger.
    """
    count = reference.size
    own_df = max(count - 1, 0)
    own = float(reference.std(ddof=1)) if count > 1 else 0.0
    df = own_df + noise_df
    if not count or (own_df < 2 and noise_df < 2):
        words = "reading is" if count == 1 else "readings are"
        return WetLevel(
            None,
            "none",
            f"{count} dry reference {words} too few to set a margin: take at least 3, better 8.",
        )
    pooled = float(np.sqrt((own_df * own**2 + noise_df * noise**2) / df))
    alone = own_df >= 2 and (noise_df == 0 or _exceeds(own, own_df, noise, noise_df))
    spread, spread_df = (own, own_df) if alone else (pooled, df)
    factor = tolerance_factor(count, options.coverage, options.confidence, spread_df)
    mean = float(reference.mean())
    margin = factor * spread
    value = mean + margin
    source = f"their scatter {own:.2g}" if count > 1 else ""
    if noise_df:
        source += (" and " if source else "") + f"the repeat scatter of one reading {noise:.2g}"
    return WetLevel(
        value,
        "dry-reference",
        f"Wet level {value:.3g}: mean {mean:.3g} of {count} dry reference readings plus a margin "
        f"of {margin:.2g}, which is {factor:.2f} times {spread:.2g} (from {source}); with "
        f"{options.confidence:.0%} confidence at least {options.coverage:.0%} of single readings "
        "on floor like the reference lie below it.",
    )


def _exceeds(own: float, own_df: float, noise: float, noise_df: float) -> bool:
    """Return whether dry floor scatters more than repeats at one spot (F test at 5%)."""
    return own**2 > noise**2 * float(fdtri(own_df, noise_df, 0.95))


def _from_populations(
    used: pd.DataFrame | Array,
    surface: MoistureSurface | None,
    options: LevelOptions,
    plan: FloorPlan,
) -> WetLevel:
    """Weigh the evidence in each domain by itself: other floor may have another dry level."""
    samples = _samples(used, surface)
    beyond = _beyond_scale(used)
    if beyond:
        return WetLevel(None, "none", beyond)
    enough = [one for one in samples if one.values.size >= options.fewest_readings]
    if not enough:
        count = max((one.values.size for one in samples), default=0)
        words = "1 reading is" if count == 1 else f"{count} readings are"
        return WetLevel(
            None,
            "none",
            f"No wet zone can be told apart: {UNSTATED}, and {words} too few to tell two "
            f"populations ({options.fewest_readings} needed).",
        )
    varied = [one for one in enough if np.ptp(one.values) > 0]
    if not varied:
        value = float(enough[0].values[0])
        return WetLevel(
            None,
            "none",
            f"No wet zone can be told apart: every reading is {value:g}. Floor that is alike all "
            "over may be wet all over.",
        )
    significance = options.significance / len(varied)
    # As many as it takes to show a chance as small as is asked for.
    simulations = max(options.simulations, math.ceil(1 / significance) - 1)
    weighed = [
        (
            one,
            population_evidence(
                one.values,
                one.places,
                simulations=simulations,
                significance=significance,
                seed=options.seed,
            ),
        )
        for one in varied
    ]
    sample, best = min(
        weighed, key=lambda pair: (not pair[1].two, pair[1].p_value, -pair[1].contrast)
    )
    where = f" in {sample.name}" if sample.name and len(varied) > 1 else ""
    if not best.two:
        return WetLevel(None, "none", _say(best, where))
    base = base_of(plan, sample.room)
    return WetLevel(best.level, "two-populations", _say(best, where), base)


def _beyond_scale(used: pd.DataFrame | Array) -> str:
    """Say so when every reading stands at one end of the scale; else an empty text."""
    if not isinstance(used, pd.DataFrame) or "flag" not in used.columns or used.empty:
        return ""
    flags = set(used["flag"])
    value = float(used["value"].iloc[0])
    if flags == {"full-scale"}:
        return (
            f"No wet zone can be told apart: every reading is at or above {value:g}, the top of "
            "the scale. The floor may be wet all over, or the meter may be disturbed all over: "
            "test it."
        )
    if flags == {"below-scale"}:
        return (
            f"No wet zone can be told apart: every reading is at or below {value:g}, the bottom of "
            "the scale, so nothing was told about this floor. Check the meter."
        )
    return ""


@dataclass(frozen=True)
class _Sample:
    """One value a place of one domain, with its rooms' names and, where known, its field."""

    name: str
    values: Array
    places: Places | None
    room: str = ""


def _samples(used: pd.DataFrame | Array, surface: MoistureSurface | None) -> list[_Sample]:
    if not isinstance(used, pd.DataFrame):
        values = np.asarray(used, dtype=float).ravel()
        return [_Sample("", values[np.isfinite(values)], None)]
    table = used[np.isfinite(used["value"].astype(float))]
    if not {"x", "y", "domain"} <= set(table.columns):
        return [_Sample("", table["value"].to_numpy(float), None)]
    spots = table.groupby(["domain", "x", "y"], as_index=False)["value"].mean()
    known = {} if surface is None else {d.key: d for d in surface.domains}
    found = []
    for key, group in spots.groupby("domain"):
        points, values = group[["x", "y"]].to_numpy(float), group["value"].to_numpy(float)
        places = None
        if surface is not None and key in surface.fields:
            places = Places(points, surface.fields[str(key)].covariance)
        elif values.size >= FEWEST_FITTED and np.ptp(values) > 0:
            places = Places(points, _fitted(points, values))
        domain = known.get(str(key))
        name, room = (domain.label, domain.rooms[0]) if domain else (str(key), "")
        found.append(_Sample(name, values, places, room))
    return found


def _fitted(points: Array, values: Array) -> Covariance:
    """Fit a covariance to at most ``MOST_FITTED`` of the readings, evenly through the table."""
    chosen = np.linspace(0, len(values) - 1, min(len(values), MOST_FITTED)).round().astype(int)
    return fit_covariance(points[chosen], values[chosen]).model


def _say(evidence: PopulationEvidence, where: str) -> str:
    """Put the evidence into words."""
    if not evidence.two:
        return (
            f"No wet zone is drawn: {UNSTATED}, and its readings{where} do not show two "
            f"populations: {evidence.against}. {NOT_DRY}"
        )
    shown = (
        f"likelihood ratio {evidence.ratio:.0f}, p = {evidence.p_value:.2g} against "
        f"{evidence.null}; means {evidence.contrast:.1f} sd of the drier floor apart, "
        f"{LEAST_CONTRAST:g} or more needed"
    )
    dry, wet = evidence.mean
    return (
        f"Wet level {evidence.level:.3g}: the readings{where} fall into two populations, about "
        f"{evidence.weight[0]:.0%} around {dry:.3g} and {evidence.weight[1]:.0%} around {wet:.3g} "
        f"({shown}); at the level a reading is as likely one as the other. A dry reference read on "
        "this floor would be better evidence."
    )
