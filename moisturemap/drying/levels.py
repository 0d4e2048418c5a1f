"""Maps of the earlier visits on the cells, the covariance and the wet level of the latest.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies import Anomalies
from moisturemap.drying.contrast import engine
from moisturemap.drying.offset import VisitOffset
from moisturemap.geostat import BlendedKriging, BlendOptions, CovarianceFit
from moisturemap.mapping import KrigedField, MoistureSurface
from moisturemap.survey import DOUBTED, USED_FLAGS, CleanReadings

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

FEWEST = 3

SAME_PLACE_M = 0.10
"""Readings this near to one flagged on the latest visit are left out of the map as well [m]."""


def map_like(
    surface: MoistureSurface, clean: CleanReadings, offset: VisitOffset, left_out: Array
) -> MoistureSurface:
    """Map an earlier visit the way the latest was mapped.

    Parameters
    ----------
    surface : MoistureSurface
        Of the latest visit, with kriged fields.
    clean : CleanReadings
        Of the earlier visit.
    offset : VisitOffset
        Taken out of its readings.
    left_out : ndarray, shape (k, 2)
        Places not to be used [m]: readings flagged as disturbed, and strays.

    Notes
    -----
    Kind and range of the covariance are those of the latest visit; its variance is scaled by the
    scatter of the visit's own readings.
    """
    grid = surface.grid
    mean, sd = np.full(grid.shape, np.nan), np.full(grid.shape, np.nan)
    fields: dict[str, KrigedField] = {}
    refusals = dict(surface.refusals)
    locations = _without(clean.locations, left_out)
    for index, domain in enumerate(surface.domains):
        latest = surface.fields.get(domain.key)
        own = locations[locations["domain"] == domain.key]
        if not isinstance(latest, KrigedField):
            continue
        if len(own) < FEWEST:
            refusals[domain.key] = f"visit {clean.visit.id}: fewer than {FEWEST} usable readings"
            continue
        field = _field(latest, own, clean, offset)
        fields[domain.key] = field
        where = (grid.domain == index) & grid.inside
        if where.any():
            mean[where], sd[where] = field.predict(grid.centres(where))
    return replace(
        surface, mean=mean, sd=sd, fields=dict(fields), refusals=refusals, judged=None, notes=()
    ).with_wet_level(surface.wet_level, surface.unlevelled)


def _without(locations: pd.DataFrame, places: Array) -> pd.DataFrame:
    if not len(places) or not len(locations):
        return locations
    distance, _ = cKDTree(places).query(locations[["x", "y"]].to_numpy(dtype=float))
    return locations.loc[np.asarray(distance) > SAME_PLACE_M]


def _field(
    latest: KrigedField, locations: pd.DataFrame, clean: CleanReadings, offset: VisitOffset
) -> KrigedField:
    points = locations[["x", "y"]].to_numpy(dtype=float)
    raw = locations["value"].to_numpy(dtype=float) - offset.value
    values = latest.scale.forward(raw)
    fit = _scaled(latest.fit, latest, values)
    noise = None
    if clean.repeat_sd is not None and clean.repeat_pairs >= 3:
        slope = float(np.median(latest.scale.slope(raw)))
        noise = slope * clean.repeat_sd / np.sqrt(locations["n"].to_numpy(dtype=float))
    options = BlendOptions(engine=engine(len(values)))
    kriging = BlendedKriging(
        latest.embedding.coordinates(points), values, fit, noise, options=options
    )
    return KrigedField(
        kriging,
        fit,
        latest.embedding,
        latest.scale,
        locations["location"].to_numpy(dtype=np.intp),
        points,
        locations["censored"].to_numpy() != "",
    )


def _scaled(fit: CovarianceFit, latest: KrigedField, values: Array) -> CovarianceFit:
    """Return the fit with its field variance scaled by how far the readings scatter."""
    now = float(np.var(latest.kriging.observations.values))
    nugget = fit.model.nugget
    ratio = (float(np.var(values)) - nugget) / max(now - nugget, 1e-9)
    ratio = float(np.clip(ratio, 0.05, 400.0))
    model = replace(fit.model, variance=fit.model.variance * ratio)
    return replace(fit, model=model, posterior=((1.0, model),))


def flagged_places(found: Anomalies) -> Array:
    """Return places (k, 2) of readings the latest visit leaves out as disturbed [m]."""
    table = found.readings
    lasting = ~table["flag"].isin([*USED_FLAGS, "stray", DOUBTED]) & (table["location"] >= 0)
    places: Array = table.loc[lasting, ["x", "y"]].to_numpy(dtype=float)
    return places
