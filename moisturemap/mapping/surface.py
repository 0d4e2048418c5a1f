"""The moisture surface: mean, standard deviation and probability on a grid of cells."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from moisturemap.floorplan import CellGrid, Domain
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.mapping.cell_values import CellValues
from moisturemap.quantities import RELATIVE, Quantity

if TYPE_CHECKING:
    import xarray as xr

    from moisturemap.mapping.quality import MapQuality

Array = NDArray[np.float64]


class DomainField(Protocol):
    """The kriged field of one domain; made by ``mapping``, used by zones and drilling."""

    @property
    def covariance(self) -> Covariance:
        """The most likely covariance."""

    def predict(self, points: Array) -> tuple[Array, Array]:
        """Mean and sd of the noise-free surface at plan places (m, 2) [m]."""

    def draws(self, points: Array, count: int, seed: int, *, nearest: int | None = None) -> Array:
        """Conditional draws of the noise-free surface at plan places: (count, m).

        From so many readings nearest to each place, where readings are many.
        """

    def average(self, points: Array) -> tuple[float, float]:
        """Mean over places (m, 2) and its sd (block kriging)."""


@dataclass(frozen=True)
class MoistureSurface:
    """The map of one visit.

    Attributes
    ----------
    mean, sd : ndarray, shape (ny, nx)
        [reading units]; NaN outside the rooms and in domains that could not be mapped.
    grid : CellGrid
    domains : tuple of Domain
    fields : dict of str to DomainField
        Kriged fields by domain key; domains that were refused are missing.
    refusals : dict of str to str
        Why a domain was not mapped, by domain key, in a sentence.
    judged : MapQuality or None
        What tells whether the interval can be trusted here.
    notes : tuple of str
    wet_level : float or None
        [reading units]; None where none is chosen.
    p_wet : ndarray, shape (ny, nx), or None
        Probability of exceeding the wet level; None before one was asked for.
    unlevelled : tuple of str
        Keys of domains the wet level says nothing of: they are of another material.
    """

    mean: Array
    sd: Array
    grid: CellGrid
    domains: tuple[Domain, ...]
    fields: dict[str, DomainField]
    refusals: dict[str, str] = field(default_factory=dict)
    judged: MapQuality | None = None
    quantity: Quantity = RELATIVE
    notes: tuple[str, ...] = ()
    wet_level: float | None = None
    p_wet: Array | None = None
    unlevelled: tuple[str, ...] = ()

    @property
    def quality(self) -> str:
        """Whether the interval can be trusted here, and why not; "" where nothing tells."""
        return "" if self.judged is None else self.judged.sentence

    @cached_property
    def dataset(self) -> xr.Dataset:
        """``mean``, ``sd`` and ``p_wet`` on (y, x), with long names and units (CF 1.11)."""
        import xarray as xr  # loads what only some who map need

        return xr.Dataset(
            {
                name: (("y", "x"), values, self.described(name))
                for name, values in self.variables.items()
            },
            coords={name: (name, self.axes[name], self.described(name)) for name in self.axes},
            attrs=self.attributes,
        )

    @property
    def axes(self) -> dict[str, Array]:
        """Centres of the cells along both axes [m]."""
        return {"y": self.grid.y, "x": self.grid.x}

    @property
    def variables(self) -> dict[str, Array]:
        """What is known of each cell by name, (ny, nx) each."""
        known = {"mean": self.mean, "sd": self.sd}
        return known if self.p_wet is None else {**known, "p_wet": self.p_wet}

    @property
    def unmapped_rooms(self) -> tuple[str, ...]:
        """Rooms that have no map, or not all over."""
        missing = [one for one in self.domains if one.key not in self.fields]
        return tuple(dict.fromkeys(name for domain in missing for name in domain.rooms))

    @property
    def attributes(self) -> dict[str, str | float]:
        """What is said of the whole grid."""
        told: dict[str, str | float] = {"quantity": "relative", "unit": ""}
        if self.p_wet is not None:
            told["wet_level"] = np.nan if self.wet_level is None else float(self.wet_level)
        return told

    def described(self, name: str) -> dict[str, str]:
        """Return what a variable or axis is and in which unit (CF 1.11)."""
        unit = self.quantity.unit or "1"
        label, of = {
            "mean": (f"{self.quantity.label}, kriged mean of the noise-free surface", unit),
            "sd": ("standard deviation of the mean", unit),
            "p_wet": ("probability that the surface exceeds the wet level", "1"),
            "x": ("x in the plan frame", "m"),
            "y": ("y in the plan frame", "m"),
        }[name]
        axis = {"axis": name.upper()} if name in ("x", "y") else {}
        return {"long_name": label, "units": of, **axis}

    def cells(self) -> CellValues:
        """Return the mean as values on cells."""
        return self.on_cells(self.mean)

    def on_cells(self, values: Array) -> CellValues:
        """Return values, shape (ny, nx), on the cells of this map."""
        return CellValues(values, self.grid, self.domains)

    @property
    def levelled_mean(self) -> Array:
        """Mean on the cells, shape (ny, nx) [reading units]; NaN where no wet level holds."""
        if not self.unlevelled:
            return self.mean
        return np.where(self._of(self.unlevelled), np.nan, self.mean)

    def _of(self, keys: tuple[str, ...]) -> NDArray[np.bool_]:
        """Cells of some domains, shape (ny, nx)."""
        chosen = [k for k, one in enumerate(self.domains) if one.key in keys]
        return np.isin(self.grid.domain, chosen)

    def with_wet_level(
        self, level: float | None, unlevelled: tuple[str, ...] = ()
    ) -> MoistureSurface:
        """Return the surface with ``p_wet`` for a wet level; NaN throughout when it is None.

        NaN too in the domains ``unlevelled``, which it says nothing of.
        """
        mean, sd = self.mean, self.sd
        p_wet = np.full_like(mean, np.nan)
        if level is not None:
            with np.errstate(divide="ignore", invalid="ignore"):
                p_wet = ndtr((mean - level) / np.where(sd > 0, sd, np.nan))
            exact = sd == 0
            p_wet[exact] = (mean[exact] > level).astype(float)
            p_wet[self._of(unlevelled)] = np.nan
        return replace(self, wet_level=level, p_wet=p_wet, unlevelled=unlevelled)
