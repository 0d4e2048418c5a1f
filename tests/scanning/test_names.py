"""A name of a place to read means one place."""

from __future__ import annotations

import shapely

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning import LayoutOptions, NamedPlace, lay_out, named_apart

PLAN = FloorPlan((Room("hall", shapely.box(0, 0, 6, 4)),))


def _named(spacing: float) -> dict[str, NamedPlace]:
    places = lay_out(PLAN, LayoutOptions(spacing=spacing, edge=False, repeats=0)).places
    return {
        label: NamedPlace("hall", label, x, y)
        for label, x, y in zip(places["label"], places["x"], places["y"], strict=True)
    }


def test_a_second_grid_of_a_visit_gets_names_of_its_own() -> None:
    """A1 of one grid and A1 of another must not be taken for two readings of one place."""
    taken = [_named(1.0)["A1"]]
    laid = lay_out(PLAN, LayoutOptions(spacing=0.7, edge=False, repeats=0))
    named = named_apart(laid.places, taken)
    assert "A1b" in set(named["label"])
    assert not {"A1"} & set(named["label"])
    third = named_apart(
        lay_out(PLAN, LayoutOptions(spacing=0.8, edge=False, repeats=0)).places,
        [*taken, *(p._replace(label=p.label + "b") for p in _named(0.7).values())],
    )
    assert set(third["label"].str[-1]) == {"c"}


def test_the_rest_of_the_same_grid_keeps_its_names() -> None:
    """Who joins a walk reads its places under their names."""
    taken = [_named(1.0)["A1"], _named(1.0)["B2"]]
    options = LayoutOptions(spacing=1.0, edge=False, repeats=0)
    laid = lay_out(PLAN, options, [(one.x, one.y) for one in taken])
    named = named_apart(laid.places, taken)
    assert set(named["label"]) == set(_named(1.0)) - {"A1", "B2"}
