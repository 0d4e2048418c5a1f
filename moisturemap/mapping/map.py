"""Readings to a moisture surface, domain by domain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import NDArray

from moisturemap.floorplan import CellGrid, Domain, FloorPlan
from moisturemap.geostat import BlendedKriging, FitOptions, fit_covariance
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.options import MappingOptions
from moisturemap.mapping.surface import DomainField, MoistureSurface
from moisturemap.survey import USED_FLAGS, CleanReadings

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

FEWEST = 3
"""Spots a domain needs before a map is drawn."""


@dataclass(frozen=True)
class _Outcome:
    """What became of one domain."""

    field: DomainField | None
    refusal: str = ""
    notes: tuple[str, ...] = ()


def map_readings(
    readings: gpd.GeoDataFrame,
    clean: CleanReadings,
    plan: FloorPlan,
    domains: tuple[Domain, ...],
    grid: CellGrid,
    *,
    options: MappingOptions | None = None,
    progress: Progress = None,
) -> MoistureSurface:
    """Map the readings of one visit.

    Parameters
    ----------
    readings : geopandas.GeoDataFrame
        Readings with ``flag``, ``domain`` and ``spot``; a spot is used when all its readings carry
        a flag of ``USED_FLAGS``.
    clean : CleanReadings
        Gives the spots, the repeat noise and the step of the scale.
    plan : FloorPlan
    domains : tuple of Domain
    grid : CellGrid
    options : MappingOptions, optional
    progress : callable, optional
        Called with a phrase and a fraction 0..1; may raise ``Cancelled``.

    Returns
    -------
    MoistureSurface
        Domains that cannot be mapped stay NaN, with the reason in ``refusals``.
    """
    options = options or MappingOptions()
    spots = used_spots(readings, clean)
    mean, sd = np.full(grid.shape, np.nan), np.full(grid.shape, np.nan)
    fields: dict[str, DomainField] = {}
    refusals: dict[str, str] = {}
    notes: list[str] = []
    for place, domain in enumerate(domains):
        if progress is not None:
            progress(f"mapping {_called(domain)}", place / len(domains))
        outcome = _map_domain(spots[spots["domain"] == domain.key], clean, domain, options)
        notes += [f"{_called(domain)}: {note}" for note in outcome.notes]
        if outcome.field is None:
            refusals[domain.key] = outcome.refusal
            continue
        fields[domain.key] = outcome.field
        where = (grid.domain == place) & grid.inside
        if where.any():
            mean[where], sd[where] = outcome.field.predict(grid.centres(where))
    if progress is not None:
        progress("mapped", 1.0)
    dataset = _dataset(grid, mean, sd)
    surface = MoistureSurface(dataset, grid, domains, fields, refusals, "", notes=tuple(notes))
    return surface.with_wet_level(None)


def used_spots(readings: gpd.GeoDataFrame, clean: CleanReadings) -> pd.DataFrame:
    """Return the spots of ``clean`` none of whose readings has been set aside or flagged."""
    placed = readings[readings["spot"] >= 0]
    good = placed["flag"].isin(USED_FLAGS).groupby(placed["spot"]).all()
    kept = good.index[good.to_numpy()]
    return clean.spots[clean.spots["spot"].isin(kept)].reset_index(drop=True)


def _map_domain(
    spots: pd.DataFrame, clean: CleanReadings, domain: Domain, options: MappingOptions
) -> _Outcome:
    """Fit and krige one domain, or say why not."""
    name = _called(domain)
    if len(spots) == 0:
        return _Outcome(None, f"{name}: no usable reading, so nothing is mapped.")
    if len(spots) < FEWEST:
        read = ", ".join(f"{value:g}" for value in spots["value"])
        return _Outcome(None, f"{name}: {len(spots)} usable reading(s) ({read}); a map needs at "
                              f"least {FEWEST} spots.")  # fmt: skip
    points = spots[["x", "y"]].to_numpy(dtype=float)
    values = spots["value"].to_numpy(dtype=float)
    noise = _repeat_noise(spots, clean)
    fit = fit_covariance(
        points, values, noise_sd=noise,
        options=FitOptions(kinds=options.kinds, nugget_floor=clean.step**2 / 12.0),
    )  # fmt: skip
    field = KrigedField(BlendedKriging(points, values, fit, noise), fit.model)
    return _Outcome(field, notes=fit.notes + _layout_notes(points))


def _repeat_noise(spots: pd.DataFrame, clean: CleanReadings) -> Array:
    """Noise sd of each spot's mean as far as repeats tell it."""
    if clean.repeat_sd is None or clean.repeat_pairs < 3:
        return np.zeros(len(spots))
    return np.asarray(clean.repeat_sd / np.sqrt(spots["n"].to_numpy(dtype=float)))


def _layout_notes(points: Array) -> tuple[str, ...]:
    spread = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    if spread[-1] > 1e-3 * spread[0]:
        return ()
    return ("All readings lie on one line: away from that line the map rests on the fitted range "
            "alone.",)  # fmt: skip


def _called(domain: Domain) -> str:
    return " + ".join(domain.rooms) or domain.key


def _dataset(grid: CellGrid, mean: Array, sd: Array) -> xr.Dataset:
    return xr.Dataset(
        {
            "mean": (("y", "x"), mean, {"long_name": "moisture reading, noise-free surface"}),
            "sd": (("y", "x"), sd, {"long_name": "standard deviation of the surface"}),
        },
        coords={
            "y": ("y", grid.y, {"units": "m", "long_name": "plan y"}),
            "x": ("x", grid.x, {"units": "m", "long_name": "plan x"}),
        },
        attrs={"quantity": "relative", "unit": ""},
    )
