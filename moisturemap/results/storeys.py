"""A building by storey: what each holds, and wet floor that lies below wet floor."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import pandas as pd
from shapely.affinity import translate

from moisturemap.bundles import Study
from moisturemap.floorplan import Storey
from moisturemap.results.parts import on_rooms

BELOW_M = 1.5
"""Wet floor this near in plan to wet floor of the storey above is named with it [m].

Our choice: water that comes through a slab runs along its underside before it drips.
"""

STOREY_COLUMNS = ("storey", "rooms", "area_m2", "readings", "zones", "wet_m2", "contested_m2")
"""``rooms`` counts them; areas in m2, ``contested_m2`` a part of ``wet_m2``; zones belong to the
storey of their peak."""


def storeys_of(study: Study) -> tuple[Storey, ...]:
    """Return the storeys of a plan from the top down; empty when none is stated."""
    found = {room.storey.name: room.storey for room in study.survey.plan.rooms if room.storey}
    return tuple(
        sorted(
            found.values(),
            key=lambda one: (one.level is None, -(one.level or 0), one.name),
        )
    )


def storey_table(study: Study) -> pd.DataFrame:
    """List the storeys; columns ``STOREY_COLUMNS``.

    Parameters
    ----------
    study : Study
    """
    rows = []
    for storey in storeys_of(study):
        rooms = [room for room in study.survey.plan.rooms if room.storey == storey]
        names = {room.name for room in rooms}
        zones = study.zones[study.zones["room"].isin(names)]
        contested = zones["standing"] == "contested"
        rows.append(
            {
                "storey": storey.name,
                "rooms": len(rooms),
                "area_m2": round(sum(float(room.polygon.area) for room in rooms), 1),
                "readings": int(study.readings["room"].isin(names).sum()),
                "zones": len(zones),
                "wet_m2": round(float(zones["area_m2"].sum()), 1),
                "contested_m2": round(float(zones.loc[contested, "area_m2"].sum()), 1),
            }
        )
    return pd.DataFrame(rows, columns=list(STOREY_COLUMNS))


def on_storey(study: Study, storey: Storey) -> Study:
    """Return a study with only one storey to be drawn; its surface stays that of the building.

    Parameters
    ----------
    study : Study
    storey : Storey
        One of ``storeys_of(study)``.
    """
    rooms = tuple(room for room in study.survey.plan.rooms if room.storey == storey)
    return on_rooms(study, rooms)


def from_above(study: Study) -> tuple[str, ...]:
    """Name wet floor that lies below wet floor of the storey above, in sentences.

    Parameters
    ----------
    study : Study
        Storeys need a level and the place of a shared point; see :class:`floorplan.Storey`.
    """
    said = []
    storeys = [one for one in storeys_of(study) if one.level is not None]
    for upper in storeys:
        for lower in (one for one in storeys if one.level == (upper.level or 0) - 1):
            above, below = (_stacked(study, one) for one in (upper, lower))
            for zone in below.itertuples():
                near = above[above.distance(zone.geometry) <= BELOW_M]
                if len(near):
                    names = ", ".join(near["zone"].astype(str))
                    said.append(
                        f"Zone {zone.zone} on {lower.name} lies below zone {names} on {upper.name} "
                        f"(within {BELOW_M:g} m in plan): look there for the source first. Water "
                        "near electrical fittings is a matter for an electrician."
                    )
    return tuple(said)


def _stacked(study: Study, storey: Storey) -> gpd.GeoDataFrame:
    """Zones of a storey, moved so that the shared point lies at 0, 0."""
    names = {room.name for room in study.survey.plan.rooms if room.storey == storey}
    zones = study.zones[study.zones["room"].isin(names)]
    x, y = storey.origin
    return zones.set_geometry([translate(shape, -x, -y) for shape in zones.geometry])


def summarise_storeys(study: Study) -> dict[str, Any]:
    """Return the storeys in plain types: ``table`` and ``from_above``."""
    return {
        "table": storey_table(study).to_dict("records"),
        "from_above": list(from_above(study)),
    }
