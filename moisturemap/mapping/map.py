"""Readings to a moisture surface, domain by domain."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.floorplan import CellGrid, Domain
from moisturemap.geostat import one_thread, spacing_of
from moisturemap.mapping.domain_map import map_domain
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.options import MappingOptions
from moisturemap.mapping.quality import MapQuality
from moisturemap.mapping.surface import MoistureSurface
from moisturemap.survey import CONTESTED, USED_FLAGS, CleanReadings

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

SCREENED = 6.0
"""Distance in reading spacings beyond which others screen a reading and it no longer moves the map:
on busy invented floors what stays is within an eighth of the sd of a map made anew, and mostly
within a hundredth."""


def map_readings(
    readings: gpd.GeoDataFrame,
    clean: CleanReadings,
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
        Readings with ``flag``, ``domain`` and ``location``; a location is used when all its
        readings carry a flag of ``USED_FLAGS``.
    clean : CleanReadings
        Gives the locations, the repeat noise and the step of the scale.
    domains : tuple of Domain
    grid : CellGrid
    options : MappingOptions, optional
    progress : callable, optional
        Called with a phrase and a fraction 0..1; may raise ``Cancelled``.

    Returns
    -------
    MoistureSurface
        Domains that cannot be mapped stay NaN, with the reason in ``refusals``.

    Raises
    ------
    OptionError
        Where earlier floors of another instrument or scale are to be borrowed from.
    """
    locations = used_locations(readings, clean)
    return _mapped(locations, clean, domains, grid, options or MappingOptions(), progress=progress)


def remap(
    earlier: MoistureSurface,
    readings: gpd.GeoDataFrame,
    clean: CleanReadings,
    *,
    around: Array | None = None,
    options: MappingOptions | None = None,
    progress: Progress = None,
) -> MoistureSurface:
    """Map readings with the covariances and scales of an earlier map of the same floor.

    Nothing is fitted: one more reading is mapped again in a moment.

    Parameters
    ----------
    earlier : MoistureSurface
        Gives domains, cells, covariances and scales; a domain it could not map is fitted.
    readings : geopandas.GeoDataFrame
        As for :func:`map_readings`.
    clean : CleanReadings
    around : ndarray, shape (k, 2), optional
        Places of the readings that came or went [m], where they are known: cells that others
        screen from all of them keep the earlier map.
    options : MappingOptions, optional
    progress : callable, optional
    """
    locations, chosen = used_locations(readings, clean), options or MappingOptions()
    known = {key: field for key, field in earlier.fields.items() if isinstance(field, KrigedField)}
    return _mapped(
        locations,
        clean,
        earlier.domains,
        earlier.grid,
        chosen,
        known=_Known(known, earlier, around),
        progress=progress,
    )


def map_without(
    surface: MoistureSurface,
    readings: gpd.GeoDataFrame,
    clean: CleanReadings,
    gone: NDArray[np.bool_],
    options: MappingOptions | None = None,
) -> MoistureSurface:
    """Map once more as if some of the readings of a map had not been taken.

    Parameters
    ----------
    surface : MoistureSurface
    readings : geopandas.GeoDataFrame
        Those it was mapped from.
    clean : CleanReadings
    gone : ndarray of bool, shape (n,)
        Which of the readings.
    options : MappingOptions, optional
    """
    numbers = np.unique(readings["location"].to_numpy()[gone])
    mine = clean.locations["location"].isin(numbers)
    around = clean.locations.loc[mine, ["x", "y"]].to_numpy(dtype=float)
    known, grid = _Known(earlier=surface, around=around), surface.grid
    mean, sd = known.start(grid)
    for place, domain in enumerate(surface.domains):
        kriged = surface.fields.get(domain.key)
        if not isinstance(kriged, KrigedField) or not np.isin(numbers, kriged.locations).any():
            continue
        where = (grid.domain == place) & grid.inside & known.changed(grid, kriged)
        with one_thread():
            found = kriged.without(numbers, grid.centres(where), (mean[where], sd[where]))
        if found is None:
            aside = readings.copy()
            aside.loc[gone, "flag"] = "line"
            return remap(surface, aside, clean, around=around, options=options)
        mean[where], sd[where] = found
    return replace(surface, mean=mean, sd=sd)


@dataclass(frozen=True)
class _Known:
    """What an earlier map of the same floor tells."""

    fields: Mapping[str, KrigedField] = field(default_factory=dict)
    earlier: MoistureSurface | None = None
    around: Array | None = None

    def start(self, grid: CellGrid) -> tuple[Array, Array]:
        """Mean and sd of the cells before any is kriged, (ny, nx) each."""
        if self.earlier is None or self.around is None:
            return np.full(grid.shape, np.nan), np.full(grid.shape, np.nan)
        return self.earlier.mean.copy(), self.earlier.sd.copy()

    @property
    def judged(self) -> MapQuality | None:
        """What tells of the earlier map, where only some of its readings went; else None."""
        return None if self.earlier is None or self.around is None else self.earlier.judged

    def changed(self, grid: CellGrid, kriged: KrigedField) -> NDArray[np.bool_]:
        """Cells that have to be kriged, (ny, nx)."""
        changed = np.ones(grid.shape, dtype=bool)
        if self.around is not None and len(self.around):
            reach = SCREENED * spacing_of(kriged.points)
            away = cKDTree(self.around).query(grid.centres(changed), distance_upper_bound=reach)[0]
            changed &= np.isfinite(away).reshape(grid.shape)
        return changed


def _mapped(
    locations: pd.DataFrame,
    clean: CleanReadings,
    domains: tuple[Domain, ...],
    grid: CellGrid,
    options: MappingOptions,
    *,
    known: _Known = _Known(),
    progress: Progress = None,
) -> MoistureSurface:
    mean, sd = known.start(grid)
    fields: dict[str, KrigedField] = {}
    refusals: dict[str, str] = {}
    notes: list[str] = []
    if options.earlier is not None:
        options.earlier.check(clean.instrument)
    for place, domain in enumerate(domains):
        report = _part(progress, f"mapping {domain.label}", place, len(domains))
        with one_thread():
            mine = locations[locations["domain"] == domain.key]
            outcome = map_domain(mine, clean, domain, options, known.fields.get(domain.key))
        notes += [f"{domain.label}: {note}" for note in outcome.notes]
        if outcome.field is None:
            refusals[domain.key] = outcome.refusal
            continue
        fields[domain.key] = outcome.field
        where = (grid.domain == place) & grid.inside & known.changed(grid, outcome.field)
        if where.any():
            mean[where], sd[where] = outcome.field.predict(grid.centres(where), report)
    if progress is not None:
        progress("mapped", 1.0)
    note = "" if options.earlier is None else options.earlier.note
    judged = known.judged or MapQuality(dict(fields), domains, len(refusals), note)
    return MoistureSurface(
        mean, sd, grid, domains, dict(fields), refusals, judged, notes=tuple(notes)
    )


def used_locations(readings: gpd.GeoDataFrame, clean: CleanReadings) -> pd.DataFrame:
    """Return the locations of ``clean`` none of whose readings has been set aside or flagged.

    With ``contested``: whether a thing in the floor may have been read there.

    Parameters
    ----------
    readings : GeoDataFrame
        With ``flag`` and the number of the pooled place.
    clean : CleanReadings
    """
    number, flag = readings["location"].to_numpy(), readings["flag"]
    aside = number[~flag.isin(USED_FLAGS).to_numpy(dtype=bool)]
    unsure = number[(flag == CONTESTED).to_numpy(dtype=bool)]
    own = clean.locations["location"].to_numpy()
    kept = np.isin(own, number) & ~np.isin(own, aside)
    used = clean.locations[kept].reset_index(drop=True)
    return used.assign(contested=np.isin(own[kept], unsure))


def _part(progress: Progress, phrase: str, place: int, count: int) -> Progress:
    """Progress of one domain within the whole map."""
    if progress is None:
        return None
    progress(phrase, place / count)
    return lambda _, done: progress(phrase, (place + done) / count)
