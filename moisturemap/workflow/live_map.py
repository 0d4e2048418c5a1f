"""The map while readings are still being taken: drawn again after each, at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moisturemap.errors import NotEnoughData
from moisturemap.floorplan import CellGrid, Domain, domains, make_grid
from moisturemap.geostat import Covariance, FitOptions, Kriging, fit_covariance
from moisturemap.mapping import CellValues
from moisturemap.mapping.areas import area_far_from
from moisturemap.results.map_layers import one_shape, surface_bands
from moisturemap.survey import CleanReadings, Survey, clean_readings

Array = NDArray[np.float64]

CELLS = 2500
"""Cells of the quick map; the study draws a finer one."""

FEWEST = 3
"""Locations a part of the floor needs before it is drawn."""

REFIT_AFTER = 1.25
"""A covariance is fitted again when a domain has this many times the locations it was fitted to."""

MOST_LOCATIONS = 1500
"""Beyond this a map after each reading would come too late; the study is asked for instead."""


@dataclass
class _Fitted:
    model: Covariance
    locations: int


class LiveMap:
    """A quick map of one job, kept between readings.

    It takes readings as they are: pipes and metal are looked for in the study, not here.
    """

    def __init__(self) -> None:
        self._fits: dict[tuple[str, str], _Fitted] = {}
        self._plan: Any = None
        self._parts: tuple[Domain, ...] = ()
        self._grid: CellGrid | None = None

    def draw(self, survey: Survey, visit: str) -> dict[str, Any]:
        """Return ``bands`` (GeoJSON, or None with too few readings), ``levels``, ``sentence``.

        With bands there is ``unknown``, the floor that is far from every reading so far.
        """
        if survey.plan != self._plan:
            self._plan, self._fits = survey.plan, {}
            self._parts = domains(survey.plan)
            self._grid = make_grid(survey.plan, self._parts, None, CELLS)
        try:
            cells, clean = self._values(survey, visit)
        except NotEnoughData as few:
            return {"bands": None, "levels": [], "sentence": str(few)}
        locations = len(clean.locations)
        if np.isnan(cells.values).all():
            sentence = f"{locations} places read; the map begins with {FEWEST} in a room."
            return {"bands": None, "levels": [], "sentence": sentence}
        levels, layer = surface_bands(cells, survey, clean.instrument.scale)
        unknown = one_shape(area_far_from(clean.locations, cells, survey.plan))
        low, high = np.nanmin(cells.values), np.nanmax(cells.values)
        sentence = (
            f"Quick map of {locations} places, {low:.3g} to {high:.3g} (relative "
            "readings). Pipes and metal are looked for under Map."
        )
        return {"bands": layer, "unknown": unknown, "levels": levels, "sentence": sentence}

    def _values(self, survey: Survey, visit: str) -> tuple[CellValues, CleanReadings]:
        clean = clean_readings(survey, visit, domains=self._parts)
        if len(clean.locations) > MOST_LOCATIONS:
            message = f"More than {MOST_LOCATIONS} places: the map is drawn under Map."
            raise NotEnoughData(message)
        grid = self._grid
        assert grid is not None
        mean = np.full(grid.shape, np.nan)
        for index, domain in enumerate(self._parts):
            locations = clean.locations[clean.locations["domain"] == domain.key]
            where = (grid.domain == index) & grid.inside
            if len(locations) < FEWEST or not where.any():
                continue
            points = locations[["x", "y"]].to_numpy(float)
            values = locations["value"].to_numpy(float)
            model = self._model((visit, domain.key), points, values, clean.step)
            mean[where], _ = Kriging(points, values, model).predict(grid.centres(where))
        return CellValues(mean, grid, self._parts), clean

    def _model(self, key: tuple[str, str], points: Array, values: Array, step: float) -> Covariance:
        kept = self._fits.get(key)
        if kept is None or len(values) > REFIT_AFTER * kept.locations:
            options = FitOptions(nugget_floor=step**2 / 12.0, posterior=1)
            fit = fit_covariance(points, values, options=options)
            kept = self._fits[key] = _Fitted(fit.model, len(values))
        return kept.model
