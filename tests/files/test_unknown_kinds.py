"""What a plan draws and nobody knows is kept clear of, in every format that draws lines."""

from __future__ import annotations

import json
import warnings

import geopandas as gpd
import pytest
from shapely.geometry import LineString, box

from moisturemap.files import read_plan
from moisturemap.floorplan import LINE_KINDS, check_plan, is_harmless, kind_of

ROOM = [[0, 0], [12, 0], [12, 6], [0, 6], [0, 0]]
ACROSS = [[0, 3], [12, 3]]


def geojson(path, word):
    """A room and a line of a kind."""
    features = [
        {"type": "Feature", "properties": p, "geometry": {"type": t, "coordinates": c}}
        for p, t, c in (({"name": "a"}, "Polygon", [ROOM]), ({"kind": word}, "LineString", ACROSS))
    ]
    file = path / "plan.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
    return file


def wkt(path, word):
    """A room and a line of a kind."""
    file = path / "plan.wkt"
    file.write_text(f"a; POLYGON ((0 0, 12 0, 12 6, 0 6))\n{word}: x; LINESTRING (0 3, 12 3)\n")
    return file


def geopackage(path, word):
    """A layer of rooms and one of lines, named after the kind."""
    file = path / "plan.gpkg"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a missing CRS
        for layer, one in (("rooms", box(0, 0, 12, 6)), (word, LineString(ACROSS))):
            frame = gpd.GeoDataFrame({"name": [""]}, geometry=[one])
            frame.to_file(file, layer=layer, engine="pyogrio")
    return file


def dxf(path, word):
    """A room on layer 0 and a line on a layer of its own."""
    ezdxf = pytest.importorskip("ezdxf")
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 6
    document.modelspace().add_lwpolyline(list(ROOM[:-1]), close=True)
    document.modelspace().add_line(*ACROSS, dxfattribs={"layer": word})
    file = path / "plan.dxf"
    document.saveas(file)
    return file


def test_the_inside_of_a_service_drawn_by_its_outline_belongs_to_it(tmp_path):
    """A tank drawn as a closed line; a pipe laid as a ring round the floor stays a line."""
    for size, area in ((2.0, 4.0), (5.0, 0.0)):
        ring = [[1, 1], [1 + size, 1], [1 + size, 1 + size], [1, 1 + size], [1, 1]]
        features = [
            {"type": "Feature", "properties": p, "geometry": {"type": t, "coordinates": c}}
            for p, t, c in (
                ({"name": "a"}, "Polygon", [ROOM]),
                ({"kind": "pipe"}, "LineString", ring),
            )
        ]
        file = tmp_path / "plan.geojson"
        file.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
        (line,) = read_plan(file)[0].lines
        assert (line.kind, line.geometry.area) == ("known-service", area)


FORMATS = (geojson, wkt, geopackage, dxf)


@pytest.mark.parametrize("draw", FORMATS)
@pytest.mark.parametrize("word", ["blorp", "sewer", "Fernwärme 2", "Wasserleitung", "gas pipe"])
def test_a_line_across_the_room_is_kept_clear_of_whatever_it_is_called(tmp_path, draw, word):
    """Known or not: it counts as a service; what is not known is named."""
    plan, _ = read_plan(draw(tmp_path, word))
    (line,) = plan.lines_of("known-service")
    assert line.geometry.length > 11.5
    assert line.recognised == (kind_of(word) == "known-service")
    named = [one for one in check_plan(plan) if "kept clear of as a service" in one]
    assert named == ([] if line.recognised else [named[0]])
    assert line.recognised or f"'{word}' is not known" in named[0]
    assert not any("shows no services" in one for one in check_plan(plan))


@pytest.mark.parametrize("draw", FORMATS)
@pytest.mark.parametrize("word", ["furniture", "Möbel", "A-ANNO-TEXT", "exterior wall"])
def test_what_nothing_runs_in_closes_no_floor(tmp_path, draw, word):
    """Furniture, texts and walls."""
    plan, _ = read_plan(draw(tmp_path, word))
    assert plan.lines_of("known-service") == ()


def test_an_area_of_unknown_kind_in_a_room_is_a_service_and_beside_it_a_room(tmp_path):
    """A heating mat nobody knows is no room."""
    shapes = [
        ({"name": "a"}, ROOM),
        ({"kind": "zzmat"}, [[1, 1], [3, 1], [3, 3], [1, 3], [1, 1]]),
        ({"kind": "kitchen", "name": "k"}, [[13, 0], [16, 0], [16, 3], [13, 3], [13, 0]]),
    ]
    features = [
        {"type": "Feature", "properties": p, "geometry": {"type": "Polygon", "coordinates": [r]}}
        for p, r in shapes
    ]
    file = tmp_path / "plan.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    plan, _ = read_plan(file)
    assert [room.name for room in plan.rooms] == ["a", "k"]
    assert [round(one.geometry.area, 6) for one in plan.lines] == [4]
    assert not plan.lines[0].recognised


def test_services_on_a_layer_switched_off_count(tmp_path):
    """And a form that is not read is said."""
    ezdxf = pytest.importorskip("ezdxf")
    file = dxf(tmp_path, "M-PIPE")
    document = ezdxf.readfile(file)
    document.layers.add("M-PIPE").off()
    document.modelspace().add_shape("x", (1, 1), dxfattribs={"layer": "E-CABLE"})
    document.saveas(file)
    plan, notes = read_plan(file)
    assert [line.name for line in plan.lines_of("known-service")] == ["M-PIPE"]
    assert any("switched off" in one for one in notes)
    assert any("SHAPE on layer E-CABLE" in one for one in notes)


@pytest.mark.parametrize(
    "word",
    [
        "sewer",
        "heating loop",
        "Rohr",
        "Leitung",
        "Wasserleitung",
        "Abfluss",
        "Heizung",
        "Fußbodenheizung",
        "Leerrohr",
        "Kabelkanal",
        "Elektrokabel 16A",
        "sewer DN 100",
        "Spannglied",
        "water main",
        "Abwasserrohr",
    ],
)
def test_words_of_the_trade_are_services(word):
    """English and German (common practice)."""
    assert kind_of(word) == "known-service"


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("Außenwand", "exterior-wall"),
        ("Dehnfuge", "movement-joint"),
        ("Arbeitsfuge", "day-joint"),
        ("Innentür", "door"),
        ("Heizraum", "room"),
        ("Stütze", "void"),
        ("Steckdose", "power-point"),
    ],
)
def test_other_german_words_mean_what_they_mean(word, kind):
    """Walls, joints, doors, rooms."""
    assert kind_of(word) == kind
    assert kind in (*LINE_KINDS, "room", "void")
    assert not is_harmless(word)
