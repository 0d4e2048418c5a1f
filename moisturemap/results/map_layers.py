"""A study as layers a page can draw: GeoJSON in metres of the plan frame."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.bundles import Overrides, Study, override_of
from moisturemap.floorplan import FloorPlan
from moisturemap.mapping import CellValues
from moisturemap.mapping.areas import poorly_known_area, wet_line
from moisturemap.mapping.bands import band_levels, bands
from moisturemap.results.rule_depth import off_rule_depth
from moisturemap.results.summary import records
from moisturemap.survey import Survey

DECIMALS_M = 0.001
"""Coordinates are rounded to this [m]: finer than any plan, and half the bytes."""

SCALE_BANDS = 20
"""Most bands over the scale of an instrument: a floor seldom fills half of it (our choice)."""

Layer = dict[str, Any]

READING_FIELDS = ("reading", "label", "room", "x", "y", "value", "censored", "flag", "reason")


def collection(frame: gpd.GeoDataFrame) -> Layer:
    """Return a table with geometry as a GeoJSON feature collection."""
    if frame.empty:
        return {"type": "FeatureCollection", "features": []}
    shapes = shapely.set_precision(frame.geometry.to_numpy(), DECIMALS_M, mode="pointwise")
    return {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "geometry": geometry, "properties": row}
            for geometry, row in zip(_mappings(shapes), records(frame), strict=True)
            if geometry is not None
        ],
    }


def _mappings(shapes: NDArray[np.object_]) -> list[Layer | None]:
    """Return shapes as GeoJSON geometries, None for those that are missing or empty."""
    there = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    if there.all() and (shapely.get_type_id(shapes) == shapely.GeometryType.POINT).all():
        places = shapely.get_coordinates(shapes).tolist()
        return [{"type": "Point", "coordinates": place} for place in places]
    return [_mapping(shape) if drawn else None for shape, drawn in zip(shapes, there, strict=True)]


def _mapping(shape: BaseGeometry) -> Layer:
    mapping: Layer = shapely.geometry.mapping(shape)
    return mapping


def one_shape(shape: BaseGeometry) -> Layer:
    """Return one geometry as a feature collection, empty when it is."""
    return collection(gpd.GeoDataFrame(geometry=[] if shape.is_empty else [shape]))


def colour_limits(
    values: NDArray[np.float64], scale: tuple[float, float] | None
) -> NDArray[np.float64]:
    """Return band limits over a scale of an instrument, else over the values themselves.

    Parameters
    ----------
    values : ndarray, any shape
    scale : tuple of float or None
        Ends of the scale [reading units]; floors read with one instrument then share colours.

    Returns
    -------
    ndarray, shape (k + 1,)
        Ascending [reading units].
    """
    if scale is None:
        return band_levels(values)
    return band_levels(np.array(scale, float), SCALE_BANDS)


def band_layer(study: Study, *, own: bool = False) -> tuple[list[float], Layer]:
    """Return band limits [reading units] and the bands with ``low, high, area_m2, step``.

    The limits span the scale of the instrument, with `own` the values of this floor alone.
    """
    scale = None if own else study.clean.instrument.scale
    return surface_bands(study.moisture.cells(), study.survey, scale)


def surface_bands(
    cells: CellValues, survey: Survey, scale: tuple[float, float] | None = None
) -> tuple[list[float], Layer]:
    """Return band limits and bands of values on cells; see :func:`band_layer`."""
    levels = colour_limits(cells.values, scale)
    frame = limited_bands(cells, survey.plan, levels)
    frame["area_m2"] = frame.geometry.area.round(3)
    return [float(level) for level in levels], collection(frame)


def limited_bands(
    cells: CellValues, plan: FloorPlan, levels: NDArray[np.float64]
) -> gpd.GeoDataFrame:
    """Return the bands between limits with their ``step``; what lies beyond the ends joins these.

    Parameters
    ----------
    cells : CellValues
    plan : FloorPlan
    levels : ndarray, shape (k + 1,)

    Returns
    -------
    geopandas.GeoDataFrame
        ``domain, low, high, step, geometry``.
    """
    if len(levels) < 2 or not np.isfinite(cells.values).any():
        frame = bands(cells, plan, levels)
        return frame.assign(step=pd.Series(dtype=int))
    inside = np.clip(cells.values, levels[0], np.nextafter(levels[-1], levels[0]))
    first = max(int(np.searchsorted(levels, np.nanmin(inside), "right")) - 1, 0)
    last = int(np.searchsorted(levels, np.nanmax(inside), "right")) + 1
    frame = bands(replace(cells, values=inside), plan, levels[first:last])
    frame["step"] = np.searchsorted(levels, frame["low"].to_numpy(float))
    return frame


def reading_layer(study: Study) -> Layer:
    """Return the readings with their flags."""
    frame = study.readings
    return collection(frame[[*READING_FIELDS, "anomaly", "geometry"]])


def anomaly_layer(study: Study, decisions: Overrides) -> Layer:
    """Return the anomalies, each with a place on it and the decision about it, if any."""
    frame = study.anomalies.copy()
    frame["decision"] = ""
    layer = collection(frame)
    for feature, row in zip(layer["features"], study.anomalies.itertuples(), strict=True):
        place = row.geometry.representative_point()
        feature["properties"]["at"] = [round(place.x, 3), round(place.y, 3)]
        decision = override_of(row, decisions.anomalies)
        feature["properties"]["decision"] = decision.verdict if decision else ""
    return layer


def layer_of_tests(study: Study) -> Layer:
    """Return the calibrated tests up to the visit that have a place."""
    tests = study.survey.tests
    order = [visit.id for visit in study.survey.visits]
    shown = set(order[: order.index(study.visit.id) + 1])
    tests = tests[tests["visit"].isin(shown) & tests["x"].notna() & tests["y"].notna()]
    if tests.empty:
        return collection(gpd.GeoDataFrame(geometry=[]))
    names = ["test", "visit", "hole", "method", "depth_mm", "value", "unit"]
    geometry = gpd.points_from_xy(tests["x"].astype(float), tests["y"].astype(float))
    off = pd.Series(off_rule_depth(tests, study.survey.plan), index=tests.index, dtype=float)
    shown_tests = tests[names].assign(off_depth_mm=off)
    shown_tests["read"] = [None if pd.isna(one) else one.isoformat() for one in tests["read"]]
    return collection(gpd.GeoDataFrame(shown_tests, geometry=geometry))


def map_layers(
    study: Study, decisions: Overrides | None = None, *, own: bool = False
) -> tuple[list[float], dict[str, Layer]]:
    """Return band limits and all layers of a study by name.

    ``bands``, ``zones``, ``readings``, ``anomalies``, ``holes``, ``sweeps``, ``tests``, and of the
    map the ``wet_line``, the ``unsure`` floor and that which is ``unknown``. For `own` see
    :func:`band_layer`.
    """
    moisture, plan = study.moisture, study.survey.plan
    levels, areas = band_layer(study, own=own)
    return levels, {
        "bands": areas,
        "zones": collection(study.zones),
        "readings": reading_layer(study),
        "anomalies": anomaly_layer(study, decisions or Overrides()),
        "holes": collection(study.drill_plan),
        "sweeps": collection(study.sweeps),
        "tests": layer_of_tests(study),
        "wet_line": one_shape(wet_line(moisture, plan, study.wet.level.value)),
        "unsure": one_shape(study.wet.unsure),
        "unknown": one_shape(poorly_known_area(moisture, plan, study.readings)),
    }
