"""The moisture surface: mean, standard deviation and probability on a grid of cells."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
import xarray as xr
from numpy.typing import NDArray
from scipy.special import ndtr

from moisturemap.floorplan import CellGrid, Domain
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.mapping.cell_values import CellValues
from moisturemap.quantities import RELATIVE, Quantity

Array = NDArray[np.float64]


class DomainField(Protocol):
    """The kriged field of one domain; made by ``mapping``, used by zones and drilling."""

    @property
    def covariance(self) -> Covariance:
        """The most likely covariance."""

    def predict(self, points: Array) -> tuple[Array, Array]:
        """Mean and sd of the noise-free surface at plan places (m, 2) [m]."""

    def draws(self, points: Array, count: int, seed: int) -> Array:
        """Conditional draws of the noise-free surface at plan places: (count, m)."""

    def average(self, points: Array) -> tuple[float, float]:
        """Mean over places (m, 2) and its sd (block kriging)."""


@dataclass(frozen=True)
class MoistureSurface:
    """The map of one visit.

    Attributes
    ----------
    dataset : xarray.Dataset
        On (y, x): ``mean``, ``sd`` [reading units], ``p_wet`` [probability of exceeding the wet
        level]; NaN outside the rooms and in domains that could not be mapped.
    grid : CellGrid
    domains : tuple of Domain
    fields : dict of str to DomainField
        Kriged fields by domain key; domains that were refused are missing.
    refusals : dict of str to str
        Why a domain was not mapped, by domain key, in a sentence.
    quality : str
        Whether the interval can be trusted here, and why not.
    notes : tuple of str
    unlevelled : tuple of str
        Keys of domains the wet level says nothing of: they are of another material.
    """

    dataset: xr.Dataset
    grid: CellGrid
    domains: tuple[Domain, ...]
    fields: dict[str, DomainField]
    refusals: dict[str, str] = field(default_factory=dict)
    quality: str = ""
    quantity: Quantity = RELATIVE
    notes: tuple[str, ...] = ()
    unlevelled: tuple[str, ...] = ()

    @property
    def unmapped_rooms(self) -> tuple[str, ...]:
        """Rooms that have no map, or not all over."""
        missing = [one for one in self.domains if one.key not in self.fields]
        return tuple(dict.fromkeys(name for domain in missing for name in domain.rooms))

    def cells(self, variable: str = "mean") -> CellValues:
        """Return a variable of the dataset as values on cells."""
        return self.on_cells(self.dataset[variable].to_numpy())

    def on_cells(self, values: Array) -> CellValues:
        """Return values, shape (ny, nx), on the cells of this map."""
        return CellValues(values, self.grid, self.domains)

    @property
    def levelled_mean(self) -> Array:
        """Mean on the cells, shape (ny, nx) [reading units]; NaN where no wet level holds."""
        mean = self.dataset["mean"].to_numpy()
        other = [k for k, one in enumerate(self.domains) if one.key in self.unlevelled]
        return np.where(np.isin(self.grid.domain, other), np.nan, mean) if other else mean

    def with_wet_level(
        self, level: float | None, unlevelled: tuple[str, ...] = ()
    ) -> MoistureSurface:
        """Return the surface with ``p_wet`` for a wet level; NaN throughout when it is None.

        NaN too in the domains ``unlevelled``, which it says nothing of.
        """
        mean, sd = self.dataset["mean"].to_numpy(), self.dataset["sd"].to_numpy()
        p_wet = np.full_like(mean, np.nan)
        if level is not None:
            with np.errstate(divide="ignore", invalid="ignore"):
                p_wet = ndtr((mean - level) / np.where(sd > 0, sd, np.nan))
            exact = sd == 0
            p_wet[exact] = (mean[exact] > level).astype(float)
            other = [k for k, one in enumerate(self.domains) if one.key in unlevelled]
            p_wet[np.isin(self.grid.domain, other)] = np.nan
        dataset = self.dataset.assign(p_wet=(("y", "x"), p_wet))
        dataset.attrs["wet_level"] = np.nan if level is None else float(level)
        return replace(self, dataset=described(dataset, self.quantity), unlevelled=unlevelled)


def described(dataset: xr.Dataset, quantity: Quantity) -> xr.Dataset:
    """Return a dataset whose variables say what they are and in which unit (CF 1.11)."""
    unit = quantity.unit or "1"
    said = {
        "mean": (f"{quantity.label}, kriged mean of the noise-free surface", unit),
        "sd": ("standard deviation of the mean", unit),
        "p_wet": ("probability that the surface exceeds the wet level", "1"),
        "x": ("x in the plan frame", "m"),
        "y": ("y in the plan frame", "m"),
    }
    made = dataset.copy()
    for name, (label, of) in said.items():
        if name in made.variables:
            made[name].attrs.update(long_name=label, units=of)
    for axis in ("x", "y"):
        made[axis].attrs["axis"] = axis.upper()
    return made
