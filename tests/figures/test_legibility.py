"""Every map can be read where it is printed: type, places of names, page."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure
from shapely.geometry import Polygon, box

sys.path.insert(0, str(Path(__file__).resolve().parent))

from legibility import faults

from moisturemap.bundles import Study
from moisturemap.figures import Format, MapOptions, check_figure, map_figure
from moisturemap.figures.labels import Floor, extent, name_rooms
from moisturemap.figures.set_out import _place
from moisturemap.figures.sheet import Sheet
from moisturemap.floorplan import Room
from moisturemap.quantities import DISCLAIMER
from moisturemap.units import Units

WIDTHS = (80, 100, 120, 160, 260, 400)
ENDS = (80, 400)


def words(figure: Figure) -> str:
    """All text of a figure in one line."""
    return " ".join(" ".join(text.get_text() for text in figure.texts).split())


@pytest.mark.parametrize(
    "width",
    [pytest.param(one, marks=() if one in ENDS else pytest.mark.thorough) for one in WIDTHS],
)
def test_a_map_is_legible_at_every_width(bakery: Study, width: float) -> None:
    """The key is whole, and the caution stands on it from 80 mm to A3."""
    figure = map_figure(bakery, MapOptions(form=Format(width_mm=width)))
    assert not faults(figure)
    assert DISCLAIMER in words(figure)
    assert figure.get_figwidth() == pytest.approx(width / 25.4)


@pytest.mark.thorough
@pytest.mark.parametrize("width", [80, 174])
def test_a_map_of_rooms_is_legible(flat: Study, width: float) -> None:
    """Names of rooms keep off holes, anomalies and each other; also the check of the map."""
    form = Format(width_mm=width, units=Units("us"))
    assert not faults(map_figure(flat, MapOptions(form=form)))
    assert not faults(check_figure(flat, form))


def test_a_long_name_stands_whole_on_its_map(bakery: Study) -> None:
    """A title is wrapped, never cut."""
    name = "The name of a building that somebody wrote out with wing, level and part number 7"
    survey = replace(bakery.survey, name=name)
    figure = map_figure(replace(bakery, survey=survey), MapOptions(form=Format(width_mm=80)))
    assert not faults(figure)
    assert name in words(figure)


def room(x: float, y: float) -> Polygon:
    """A room of 4 m by 3.6 m."""
    return box(x, y, x + 4, y + 3.6)


@pytest.mark.thorough
@settings(deadline=None, max_examples=25)
@given(
    st.integers(1, 12),
    st.integers(1, 6),
    st.sampled_from((80.0, 120.0, 174.0, 261.0)),
    st.lists(st.text("Raum östlich 1234567890", min_size=1, max_size=30), min_size=1, max_size=9),
)
def test_names_of_rooms_never_cover_each_other(
    across: int, up: int, width: float, names: list[str]
) -> None:
    """From one room to seventy-two, whatever they are called; a name is written or in the key."""
    sheet = Sheet((0.0, 0.0, 4.1 * across, 3.7 * up), Format(width_mm=width))
    rooms = [
        (
            f"{names[(i + j) % len(names)]} {i}.{j}",
            box(4.1 * i, 3.7 * j, 4.1 * i + 4, 3.7 * j + 3.6),
        )
        for i in range(across)
        for j in range(up)
    ]
    floor = sheet.floor()
    labels, numbered = name_rooms(floor, rooms)
    boxes = [box(*one) for one in floor.taken]
    for k, one in enumerate(boxes):
        for other in boxes[k + 1 :]:
            assert one.intersection(other).area < 1e-9
    if "" not in numbered:
        shown = {label.text.replace("\n", " ") for label in labels} | set(numbered.values())
        wanted = {" ".join(name.split()) for name, _ in rooms}
        assert wanted <= {" ".join(one.split()) for one in shown}


@pytest.mark.parametrize(
    ("dry", "said"), [(1.6, "Store below"), (0.5, "(1)"), (0.0, "Store below")]
)
def test_no_name_of_a_room_runs_over_the_wet_floor(dry: float, said: str) -> None:
    """A name that finds no room beside it stands in the key; one of a room all wet stays in it."""
    floor = Floor((0, 0, 2, 2), 1.0)
    wet = box(0, 0, 2 - dry, 2)
    labels, numbered = name_rooms(floor, [("Store below", box(0, 0, 2, 2))], [wet])
    assert [label.text.replace("\n", " ") for label in labels] == [said]
    assert numbered == ({"(1)": "Store below"} if said == "(1)" else {})
    (written,) = (box(*one) for one in floor.taken)
    assert dry == 0.0 or written.intersection(wet).area == 0.0


def test_a_name_of_a_room_stands_off_the_hatching_where_there_is_room() -> None:
    """It wraps beside what the map cannot tell; where all is hatched it is written all the same."""
    room, words = box(0, 0, 4, 2), "Store below the stairs"
    for hatched, wet in ((box(1.8, 0, 4, 2), box(3, 0.5, 3.8, 1.5)), (room, Polygon())):
        floor = Floor((0, 0, 4, 2), 1.0)
        (label,), numbered = name_rooms(floor, [(words, room)], [wet, hatched])
        assert label.text.replace("\n", " ") == words
        assert not numbered
        (written,) = (box(*one) for one in floor.taken)
        assert hatched == room or not written.intersects(hatched)


def test_a_label_without_room_is_led_to_its_mark() -> None:
    """Twenty marks on one place: each name stands alone, the far ones on a line."""
    floor = Floor((0, 0, 10, 10), 0.5)
    placed = [floor.beside(5, 5, f"X{k}", 7.0, gap=0.05) for k in range(20)]
    boxes = [box(*one) for one in floor.taken]
    for k, one in enumerate(boxes):
        assert all(one.intersection(other).area < 1e-9 for other in boxes[k + 1 :])
    assert any(label.led for label in placed)


def test_names_of_many_holes_stand_off_the_walls_of_their_room() -> None:
    """Small rings near a wall had their names on its line."""
    room = Room("Loft", box(0, 0, 10, 3))
    at = [(0.2, 1.0), (9.8, 2.2), *((k, 1.5) for k in range(1, 10))]
    holes = pd.DataFrame(
        {
            "hole": [f"P{k}" for k in range(len(at))],
            "x": [x for x, _ in at],
            "y": [y for _, y in at],
        }
    )
    floor = Floor((-0.3, -0.3, 10.3, 3.3), 0.6)
    names, _ = _place(floor, room, (holes, []), [], Format())
    for name in ("P0", "P1"):
        label = names[name]
        width, height = (one / floor.scale / 2 for one in extent([name], label.size, "bold"))
        drawn = box(label.x - width, label.y - height, label.x + width, label.y + height)
        assert not drawn.intersects(room.polygon.boundary)
