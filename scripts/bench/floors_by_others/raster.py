"""A floor cut into square cells: axes, which cells are floor, and fields over them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy import fft, ndimage

CELL = 0.1  # m
MARGIN = 0.3  # m around the floor


@dataclass(frozen=True)
class Raster:
    """Cell centres ``x`` (nx,), ``y`` (ny,) in metres and the mask ``inside`` (ny, nx)."""

    x: np.ndarray
    y: np.ndarray
    inside: np.ndarray

    @property
    def shape(self) -> tuple[int, int]:
        return self.inside.shape

    def mesh(self) -> tuple[np.ndarray, np.ndarray]:
        """Coordinates of every cell, each (ny, nx)."""
        return tuple(np.meshgrid(self.x, self.y))  # type: ignore[return-value]

    def mask(self, geometry: shapely.Geometry) -> np.ndarray:
        """Cells whose centre lies in a polygon, or within half a cell of a line."""
        if geometry.geom_type in ("LineString", "Point", "MultiLineString"):
            geometry = geometry.buffer(0.71 * CELL)
        return shapely.contains_xy(geometry, *self.mesh()) & self.inside

    def at(self, field: np.ndarray, points: np.ndarray) -> np.ndarray:
        """Bilinear value of a field (ny, nx) at places (n, 2)."""
        rows = (points[:, 1] - self.y[0]) / CELL
        columns = (points[:, 0] - self.x[0]) / CELL
        return ndimage.map_coordinates(field, [rows, columns], order=1, mode="nearest")

    def seen_through(self, field: np.ndarray, sd: float) -> np.ndarray:
        """Gaussian average of the floor's own cells; outside the floor it carries on."""
        weight = ndimage.gaussian_filter(self.inside.astype(float), sd / CELL, truncate=5)
        total = ndimage.gaussian_filter(np.where(self.inside, field, 0.0), sd / CELL, truncate=5)
        known = weight > 1e-4
        mean = np.where(known, total / np.where(known, weight, 1.0), 0.0)
        nearest = ndimage.distance_transform_edt(
            ~known, return_distances=False, return_indices=True
        )
        return mean[tuple(nearest)]


def raster_of(floor: shapely.Geometry) -> Raster:
    """Raster that covers a floor polygon with a margin."""
    x0, y0, x1, y1 = floor.bounds
    x = np.arange(x0 - MARGIN + CELL / 2, x1 + MARGIN, CELL)
    y = np.arange(y0 - MARGIN + CELL / 2, y1 + MARGIN, CELL)
    inside = shapely.contains_xy(floor, *np.meshgrid(x, y))
    return Raster(x=x, y=y, inside=inside)


def random_field(rng: np.random.Generator, shape: tuple[int, int], length: float) -> np.ndarray:
    """Smooth Gaussian field of mean 0 and sd 1; ``length`` (m) is the sd of its smoothing."""
    pad = int(np.ceil(3 * length / CELL)) + 2
    full = tuple(fft.next_fast_len(n + pad, real=True) for n in shape)
    fy = fft.fftfreq(full[0], CELL)[:, None]
    fx = fft.rfftfreq(full[1], CELL)[None, :]
    pass_band = np.exp(-2 * (np.pi * length) ** 2 * (fx**2 + fy**2))
    white = rng.standard_normal(full)
    field = fft.irfft2(fft.rfft2(white) * pass_band, full)
    impulse = fft.irfft2(pass_band + 0j, full)
    return field[: shape[0], : shape[1]] / np.sqrt((impulse**2).sum())
