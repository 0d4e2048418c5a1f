"""A room with the places to read, in walking order, for the sheet that goes on site."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
from matplotlib.figure import Figure

from moisturemap.bundles import LaidOut
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key import Key, Row
from moisturemap.figures.labels import RINGS, SMALLEST_PT, Floor, Label
from moisturemap.figures.sheet import Format, Sheet, Texts
from moisturemap.figures.style import INK, MUTED
from moisturemap.floorplan import FloorPlan, Room

ROOM_FOR_A_NAME = 0.26
"""Where places stand closer than this, only the first and last of each row is named [in]."""


def scan_plan(laid: LaidOut, room: Room, form: Format = Format()) -> Figure:
    """Draw one room with its places by name and the way from one to the next."""
    places = laid.layout.places[laid.layout.places["room"] == room.name].sort_values("order")
    sheet = Sheet(room.polygon.bounds, form)
    labels = _names(sheet.floor(), places, sheet.scale * laid.layout.spacing)
    reach = room.polygon.buffer(0.3)
    kept = tuple(line for line in laid.plan.lines if line.geometry.intersects(reach))
    rows = (Row("clear", "place to read"), Row("tape", "way to walk"))
    caption = (
        'Lift and turn the meter between readings. Read the places marked "again" a second time '
        "when you come by, and ten times on floor known to be dry."
    )
    told = f"{len(places)} readings every {form.units.length(laid.layout.spacing)}"
    figure, (ax,) = sheet.draw(Texts(room.name, told, caption), Key(rows))
    layers.draw_plan(ax, FloorPlan((room,), kept))
    ax.plot(places["x"], places["y"], color=MUTED, linewidth=0.6, linestyle=(0, (5, 2)), zorder=8)
    ax.scatter(places["x"], places["y"], s=5, color=INK, zorder=9)
    layers.write_labels(ax, labels, INK)
    return figure


def _names(floor: Floor, places: gpd.GeoDataFrame, apart_in: float) -> list[Label]:
    """Return the names that find room: all, or the ends of each row where places stand close."""
    once = places.drop_duplicates(["x", "y"])
    for place in once.itertuples():
        floor.occupy(place.x, place.y, 0.05, 0.05)
    named: list[Any] = list(once.itertuples())
    if apart_in < ROOM_FOR_A_NAME:
        rows = once.groupby(once["label"].str.extract(r"^(\D+)", expand=False), sort=False)
        named = [one for _, row in rows for one in row.iloc[[0, -1]].itertuples()]
    marks = {(one.x, one.y, str(one.label)): one for one in named}
    found = [
        floor.beside_if_free(x, y, name, SMALLEST_PT, gap=0.03, reach=RINGS[1])
        for x, y, name in marks
    ]
    # A name further off would be taken for that of another place. The table lists every place;
    # one without room for its name lies between two that have it.
    return [label for label in found if label is not None]
