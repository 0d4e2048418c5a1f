"""Plans in GeoPackage files written by another library."""

import warnings

import geopandas as gpd
import pytest
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from moisturemap.errors import FormatError, OptionError, PlanError
from moisturemap.files import read_plan


@pytest.fixture
def package(tmp_path):
    """Write layers into a GeoPackage with geopandas."""
    path = tmp_path / "plan.gpkg"

    def write(layer, geometries, crs=None, **columns):
        frame = gpd.GeoDataFrame(columns, geometry=geometries, crs=crs)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # geopandas warns of a missing CRS, which is our case
            frame.to_file(path, layer=layer, engine="pyogrio")
        return path

    return write


def test_rooms_lines_and_layers_named_after_a_kind_are_read(package):
    """Layer rooms; kind by column or by name of the layer."""
    package("rooms", [box(0, 0, 4, 3), box(4.1, 0, 8, 3)], name=["a", "b"])
    lines = [LineString([(2, 0), (2, 3)]), LineString([(1, 0), (1, 3)])]
    package("lines", lines, kind=["day-joint", "fence"], name=["j", ""])
    path = package("columns", [box(1, 1, 1.3, 1.3)], note=["c"])
    plan, notes = read_plan(path)
    assert plan.room("a").polygon.area == pytest.approx(11.91)
    assert [(line.kind, line.name) for line in plan.lines] == [
        ("day-joint", "j"),
        ("known-service", "'fence' (kind not known)"),
    ]
    assert any("'fence'" in note for note in notes)


def test_only_layer_of_areas_holds_the_rooms_and_its_place_is_kept(package):
    """A projected metric system keeps its coordinates: readings share them."""
    site = box(500_000, 5_000_000, 500_004, 5_000_003)
    path = package("ground floor", [MultiPolygon([site])], crs=32633, Label=["a"])
    plan, _ = read_plan(path)
    assert plan.room("a").polygon.bounds == pytest.approx(site.bounds)


def test_unclear_or_unknown_layer_is_refused_with_the_choice(package):
    """The message names the layers."""
    package("first", [box(0, 0, 4, 4)], name=["a"])
    path = package("second", [box(0, 0, 5, 5)], name=["b"])
    with pytest.raises(OptionError, match="first, second"):
        read_plan(path)
    with pytest.raises(OptionError, match="no such layer"):
        read_plan(path, layer="third")
    assert read_plan(path, layer="second")[0].rooms[0].name == "b"


def test_longitude_and_latitude_are_refused(package):
    """By the reference system of the layer."""
    with pytest.raises(FormatError, match="longitude and latitude"):
        read_plan(package("p", [box(11, 48, 11.1, 48.1)], crs=4326))


def test_bow_tie_is_refused_by_room(package):
    """Invalid polygons are not mended behind the back by the reader."""
    bow = Polygon([(0, 0), (4, 4), (4, 0), (0, 4)])
    with pytest.raises(PlanError, match="room 'a', outer ring"):
        read_plan(package("p", [bow], name=["a"]))


def test_damaged_packages_are_refused(package, tmp_path):
    """No database, junk behind the heading, cut off, or another database."""
    sound = package("rooms", [box(0, 0, 4, 3)], name=["a"]).read_bytes()
    for number, content in enumerate(
        (b"junk" * 100, b"SQLite format 3\x00" + b"junk" * 500, sound[: len(sound) // 3])
    ):
        path = tmp_path / f"bad{number}.gpkg"
        path.write_bytes(content)
        with pytest.raises(FormatError, match=f"bad{number}.gpkg"):
            read_plan(path)


def test_a_reference_system_in_feet_is_read_in_feet(package):
    """EPSG:2263 counts in US survey feet (EPSG dataset): 0.30 m from a pipe are 0.98 of them."""
    package("rooms", [box(982000, 201000, 982026.25, 201019.69)], crs=2263, name=["a"])
    path = package("pipes", [LineString([(982018, 201000), (982018, 201019)])], crs=2263)
    plan, notes = read_plan(path)
    assert plan.outline.area == pytest.approx(48, abs=0.1)
    assert any("counts in ft; it was read so" in note for note in notes)
    against, doubts = read_plan(path, coordinates="m")
    assert against.outline.area == pytest.approx(26.25 * 19.69)
    assert any("as you say" in note for note in doubts)


def test_a_layer_in_another_system_is_brought_to_that_of_the_rooms(package):
    """Pipes in zone 33, rooms in zone 32 (EPSG:25833, 25832): one place on the ground."""
    course = LineString([(456005.6, 5428000), (456005.6, 5428006)])
    there = gpd.GeoSeries([course], crs=25832).to_crs(25833)
    package("rooms", [box(456000, 5428000, 456008, 5428006)], crs=25832, name=["a"])
    path = package("pipes", list(there), crs=25833)
    plan, notes = read_plan(path)
    assert plan.lines[0].geometry.hausdorff_distance(course) < 0.001
    assert any("brought to theirs" in note for note in notes)


def test_a_service_far_off_the_floor_is_said_not_to_be_kept_clear_of(package):
    """Drawn in another system, as like as not."""
    package("rooms", [box(0, 0, 8, 6)], name=["a"])
    path = package("pipes", [LineString([(5000, 0), (5000, 6)])])
    _, notes = read_plan(path)
    assert any("4992.0 m off the floor" in note and "not kept clear" in note for note in notes)
