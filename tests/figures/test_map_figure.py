"""The map figure says what it is and shows what was found."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text
from shapely import contains_xy
from shapely.geometry import LineString, MultiLineString, Point, box

sys.path.insert(0, str(Path(__file__).resolve().parent))

from studied import studied

from moisturemap.bundles import Study
from moisturemap.errors import OptionError
from moisturemap.figures import MapOptions, map_figure, save_map
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.drilled_holes import (
    DrilledHole,
    draw_drilled,
    drilled_already,
    name_drilled,
    proposed,
)
from moisturemap.figures.drying_maps import OFF_WALLS
from moisturemap.figures.floor_map import _rows, _seen
from moisturemap.figures.key import Row
from moisturemap.figures.labels import Floor, extent
from moisturemap.figures.material_scales import material_scales
from moisturemap.figures.samples import draw_sample, line_names
from moisturemap.figures.set_out import rooms_to_set_out, set_out_sheet
from moisturemap.figures.sheet import Format
from moisturemap.figures.style import PAPER
from moisturemap.floorplan import FloorPlan, PlanLine, Room


def texts(figure: Figure) -> str:
    """All text of a figure."""
    return " ".join(item.get_text() for item in figure.findobj(Text))


@pytest.mark.thorough
def test_caption_says_what_the_numbers_are_not(bakery: Study) -> None:
    """Visit, instrument, method and the warning stand on the figure."""
    words = " ".join(texts(map_figure(bakery)).split())
    for phrase in ("Visit v1", "scanner A", "kriging", "not a moisture content", "wet level"):
        assert phrase in words
    assert "safe" not in words.lower()


def test_zones_anomalies_and_holes_are_labelled(bakery: Study) -> None:
    """Letters of zones, with a question mark where contested; names of anomalies and of holes."""
    words = texts(map_figure(bakery)).split()
    marked = {
        f"{one.zone}{'?' * (one.standing == 'contested')}" for one in bakery.zones.itertuples()
    }
    assert marked <= set(words)
    assert set(bakery.anomalies["anomaly"]) <= set(words)
    assert set(bakery.drill_plan["hole"]) <= set(words)


def test_parts_can_be_left_out(bakery: Study) -> None:
    """A map without holes and anomalies has no key for them."""
    options = MapOptions(anomalies=False, holes=False, title="Moisture $map$")
    words = texts(map_figure(bakery, options))
    assert "test hole" not in words
    assert "Moisture $map$" in words


@pytest.mark.thorough
def test_the_short_key_keeps_known_services(bakery: Study) -> None:
    """It leaves out walls, and not what must not be drilled into."""
    words = texts(map_figure(bakery, MapOptions(brief=True)))
    assert "known service" in words
    assert "exterior wall" not in words


@pytest.mark.thorough
def test_same_study_gives_same_file(bakery: Study, tmp_path: Path) -> None:
    """SVG and PDF are the same bytes each time, so a change can be seen."""
    for name in ("svg", "pdf"):
        one = save_map(bakery, tmp_path / "one", formats=[name])[0].read_bytes()
        other = save_map(bakery, tmp_path / "other", formats=[name])[0].read_bytes()
        assert one == other


def test_unknown_format_is_refused(bakery: Study, tmp_path: Path) -> None:
    """The refusal names the formats there are."""
    with pytest.raises(OptionError, match="png, svg, pdf"):
        save_map(bakery, tmp_path, formats=["bmp"])


def test_the_letter_of_a_contested_zone_stands_beside_its_sign() -> None:
    """A small zone round one contested spot: the letter does not cover what it is about."""
    floor = Floor((0.0, 0.0, 8.0, 6.0), 0.6)
    at = Point(4.0, 3.0)
    zones = gpd.GeoDataFrame({"zone": ["A"], "standing": ["contested"]}, geometry=[at.buffer(0.8)])
    spots = gpd.GeoDataFrame({"anomaly": ["S1"]}, geometry=[at])
    signs = layers.keep_off_signs(floor, spots)
    placed = [*layers.place_zones(floor, zones), *layers.name_signs(floor, signs)]
    half = layers.SIGN_PT / 72 / 2
    for label in placed:
        width, height = extent([label.text], label.size, "bold")
        off = (abs(label.x - at.x) * floor.scale, abs(label.y - at.y) * floor.scale)
        assert off[0] >= width / 2 + half or off[1] >= height / 2 + half, label.text


def test_names_stand_off_walls_and_the_wet_line_where_there_is_room() -> None:
    """A mark beside a wall has its name within the room; one in a narrow strip keeps its name."""
    floor = Floor((0.0, 0.0, 8.0, 6.0), 0.6)
    wall, wet = LineString([(4.0, 0.0), (4.0, 6.0)]), Point(6.5, 3.0).buffer(1.0).boundary
    floor.shun(wall, wet)
    for x, y in ((3.9, 3.0), (4.1, 4.5), (5.4, 3.0)):
        label = floor.beside(x, y, "P1", 7.0, gap=0.05)
        width, height = (one / floor.scale for one in extent(["P1"], label.size, "bold"))
        drawn = box(
            label.x - width / 2, label.y - height / 2, label.x + width / 2, label.y + height / 2
        )
        assert not drawn.intersects(wall)
        assert not drawn.intersects(wet)
        assert not label.led
    floor = Floor((0.0, 0.0, 8.0, 6.0), 0.6)
    floor.shun(*(LineString([(0.0, y), (8.0, y)]) for y in np.arange(0.0, 6.1, 0.1)))
    assert not floor.beside(4.0, 3.0, "P1", 7.0, gap=0.05).led


def test_narrow_wet_floor_keeps_its_colour_between_its_outlines() -> None:
    """The light casing of the wet level lies on its drier side alone: no wet band is left pale."""
    figure = Figure(figsize=(2, 2), dpi=100)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set_axis_off()
    ax.set(xlim=(0, 100), ylim=(0, 100))
    wet = box(-10, 48, 110, 52)
    band = layers.patch(wet)
    band.set(facecolor="#123456", linewidth=0)
    ax.add_patch(band)
    layers.draw_outline(ax, MultiLineString([[(-10, y), (110, y)] for y in (48, 52)]), wet)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    column = np.asarray(canvas.buffer_rgba())[:, 100, :3].astype(int)
    assert column[100].tolist() == [0x12, 0x34, 0x56]
    assert (column[95:106].sum(axis=1) < 500).all()
    assert column[88].tolist() == [255, 255, 255]


def test_the_wet_level_is_cased_all_round() -> None:
    """Wherever else something is drawn: the casing ended a metre beside a service."""
    figure = Figure(figsize=(2, 2), dpi=100, facecolor="#808080")
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set_axis_off()
    ax.plot([0, 100], [90, 90])
    wet = Point(50, 40).buffer(20)
    layers.draw_outline(ax, wet.boundary, wet)
    layers.draw_outline(ax, wet.boundary.intersection(Point(0, 0)), wet)
    ax.set(xlim=(0, 100), ylim=(0, 100))
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())[..., 0].astype(int)
    across, up = pixels[120, :], pixels[:, 100]  # through the middle of the ring
    for line in (across[40:66], across[134:160], up[60:86], up[155:181]):
        assert line.max() > 170


def test_each_sign_of_an_anomaly_has_its_own_in_the_key() -> None:
    """A set-out sheet names dashed lines, squares and saltires, not ticked lines alone."""
    table = gpd.GeoDataFrame(
        {
            "kind": ["line", "line", "spot", "spot", "stray", "mesh", "line"],
            "standing": ["thing", "contested", "thing", "contested", "thing", "thing", "thing"],
            "anomaly": ["L1", "L2", "S1", "S2", "X1", "M1", "L3"],
        },
        geometry=[
            *(MultiLineString([[(0, 0), (1, 1)]]) for _ in range(2)),
            *(Point(1, 1) for _ in range(3)),
            box(0, 0, 1, 1),
            MultiLineString([[(0, 0), (1, 1)]]),
        ],
    )
    assert layers.signs_of(table) == {
        "line": ["L1", "L3"],
        "contested-line": ["L2"],
        "spot": ["S1"],
        "contested-spot": ["S2"],
        "stray": ["X1"],
        "hatch++": ["M1"],
    }
    assert not layers.signs_of(table.iloc[:0])


def test_a_contested_spot_is_dotted_on_the_map_and_in_its_key() -> None:
    """The key showed a square of one line."""
    drawn, keyed = Figure().add_subplot(), Figure().add_subplot()
    table = {"kind": ["spot"], "standing": ["contested"], "anomaly": ["S1"]}
    layers.draw_anomalies(drawn, gpd.GeoDataFrame(table, geometry=[Point(1, 1)]))
    draw_sample(keyed, "contested-spot", 0.0, 0.0)
    (sign,), (sample,) = drawn.collections, keyed.collections
    for look in ("get_linestyle", "get_sizes", "get_linewidth"):
        assert str(getattr(sign, look)()) == str(getattr(sample, look)())
    assert sample.get_linestyle()[0][1] is not None


def test_the_disc_of_a_hole_beside_a_wall_is_drawn_whole() -> None:
    """The edge of the drawing cut it; one beyond the part shown stays out of it."""
    ax = Figure().add_subplot()
    ax.set(xlim=(0, 4), ylim=(0, 3))
    holes = gpd.GeoDataFrame(
        {"hole": ["H1", "H2"], "x": [0.12, 7.0], "y": [1.0, 1.0]},
        geometry=[Point(0.12, 1.0), Point(7.0, 1.0)],
    )
    layers.draw_holes(ax, holes)
    assert [line.get_clip_on() for line in ax.lines] == [False, True]


def test_holes_drilled_already_have_a_sign_and_a_key(bakery: Study) -> None:
    """Where tests were drilled stands on the map of the plan and on its set-out sheets."""
    drilled = drilled_already(bakery)
    tests = bakery.survey.tests.dropna(subset=["x", "y"])
    assert {(one.x, one.y) for one in drilled} == set(zip(tests["x"], tests["y"], strict=True))
    room = next(room for room in rooms_to_set_out(bakery) if drilled_already(bakery, room))
    for figure in (map_figure(bakery), set_out_sheet(bakery, room)):
        assert "drilled already" in texts(figure)
        marked = {tuple(line.get_xydata()[0]) for line in figure.axes[0].lines if crossed(line)}
        assert marked == {(one.x, one.y) for one in drilled}
    assert "drilled already" not in texts(map_figure(bakery, MapOptions(holes=False)))


def crossed(line: Line2D) -> bool:
    """Whether a line of a figure is the light cross on a drilled hole."""
    return line.get_marker() == "x" and line.get_markeredgecolor() == PAPER


def test_a_hole_told_done_is_no_proposed_one(bakery: Study) -> None:
    """It is drawn as drilled."""
    plan = bakery.drill_plan.copy()
    plan.loc[plan.index[0], "status"] = "done"
    told = replace(bakery, drilling=replace(bakery.drilling, holes=plan))
    assert len(proposed(plan)) == len(plan) - 1
    assert str(plan["hole"].iat[0]) in [one.names for one in drilled_already(told)]


def test_another_material_has_a_scale_of_its_own(flat: Study) -> None:
    """Timber under the roof is not drawn on the scale of the screed below."""
    assert flat.unlevelled_rooms == ("loft room",)
    screed, timber = material_scales(flat)
    loft = next(room.polygon for room in flat.survey.plan.rooms if room.name == "loft room")
    for scale, inside in ((screed, False), (timber, True)):
        known = np.isfinite(scale.cells.values)
        centres = scale.cells.grid.centres(known)
        assert (contains_xy(loft.buffer(0.3), *centres.T) == inside).all()
    assert timber.levels[-1] < screed.levels[-1]
    assert timber.colours(0) != screed.colours(0)
    words = " ".join(texts(map_figure(flat)).split())
    assert "Relative reading in loft room: another material, another scale" in words


def test_one_material_has_one_scale(bakery: Study) -> None:
    """Nothing is told of another."""
    (scale,) = material_scales(bakery)
    assert not scale.rooms
    assert "another scale" not in texts(map_figure(bakery))


def test_a_service_drawn_as_an_area_is_drawn_by_its_edge() -> None:
    """A wide drain was kept clear of and not shown."""
    axes = Figure().add_subplot()
    drain = PlanLine("known-service", box(0, 1, 4, 2), "drain, 1 m wide")
    layers.draw_plan(axes, FloorPlan((Room("hall", box(0, 0, 4, 4)),), (drain,)))
    (edge,) = axes.lines
    assert (edge.get_ydata().min(), edge.get_ydata().max()) == (1, 2)


@pytest.mark.thorough
def test_no_distance_of_a_tape_is_written_across_a_known_service() -> None:
    """Of the clinic's ward "H3 ← 0.81 m" stood on the waste pipe of the basin."""
    findings, _ = studied("clinic")
    study = findings.study
    assert study is not None
    room = next(one for one in rooms_to_set_out(study) if one.name == "ward")
    figure = set_out_sheet(study, room)
    ax = figure.axes[0]
    figure.canvas.draw()
    told = [one for one in ax.texts if re.search(r"[←↑→↓]", one.get_text())]
    for line in study.survey.plan.lines_of("known-service"):
        drawn = LineString(ax.transData.transform(np.array(line.geometry.coords)))
        for text in told:
            assert not box(*text.get_window_extent().extents).intersects(drawn), text.get_text()


@pytest.mark.parametrize("width", [80.0, 174.0])
def test_the_mark_of_the_wet_level_strikes_no_letter(bakery: Study, width: float) -> None:
    """It ran into "wet level 35.8" above it, and through a number of the scale below."""
    figure = map_figure(bakery, MapOptions(form=Format(width_mm=width)))
    renderer = FigureCanvasAgg(figure).get_renderer()
    named = next(one for one in figure.findobj(Text) if one.get_text().startswith("wet level"))
    scale = named.axes
    assert scale is not None
    marks = [one for one in scale.lines if one.get_color() == PAPER and len(one.get_xdata()) == 2]
    upright = [one for one in marks if one.get_xdata()[0] == one.get_xdata()[1]]
    assert upright
    for mark in upright:
        box = mark.get_window_extent(renderer)
        low, high = (figure.dpi * mark.get_linewidth() / 72 / 2 * side for side in (-1, 1))
        reach = 0.0 if mark.get_solid_capstyle() == "butt" else high
        for text in scale.texts:
            letters = text.get_window_extent(renderer)
            beside = letters.x1 < box.x0 + low or letters.x0 > box.x1 + high
            assert beside or letters.y0 >= box.y1 + reach or letters.y1 <= box.y0 - reach, (
                text.get_text()
            )


def test_a_sign_has_one_entry_in_the_key(bakery: Study) -> None:
    """Two entries had one grey cross: readings left out, and wet floor that some of them hide."""
    figure = map_figure(bakery, MapOptions(holes=False))
    words = " ".join(texts(figure).split())
    assert words.count("left out of the map") == 1
    assert "left out as things" not in words
    entries = _rows(bakery, MapOptions(), bakery.wet.unsure, Point().buffer(0.0))
    kinds = [one.kind for one in entries if isinstance(one, Row)]
    assert len(kinds) == len(set(kinds))


def test_dots_too_small_to_show_are_not_in_the_key() -> None:
    """A key had dotted floor of which the drawing showed no dot."""
    sliver, part = box(0, 0, 6, 0.03), box(0, 5, 2, 7)
    assert _seen(sliver, 0.15).is_empty
    assert _seen(sliver.union(part), 0.15).equals(part)


def test_columns_and_openings_stand_in_the_key() -> None:
    """White squares of a warehouse stood in no key."""
    floor = box(0, 0, 10, 8).difference(box(2, 2, 2.5, 2.5)).difference(box(5, 3, 8, 6))
    plan = FloorPlan((Room("hall", floor),))
    assert set(line_names(plan)) == {"column", "opening"}
    inner = Room("shaft", box(5, 3, 8, 6))
    assert set(line_names(FloorPlan((*plan.rooms, inner)))) == {"column"}
    assert not line_names(plan, ("known-service",))


def test_a_line_leads_from_a_drilled_hole_to_a_name_that_stands_off_it() -> None:
    """On a small map the names of tests stood among signs of other holes, with nothing between."""
    floor = Floor((0.0, 0.0, 10.0, 10.0), 0.2)
    floor.occupy(5.0, 5.0, 0.9, 0.9)
    hole = DrilledHole("T1", 5.0, 5.0)
    (name,) = name_drilled(floor, [hole])
    ax = Figure().subplots()
    draw_drilled(ax, [hole], [name])
    ends = [line.get_xydata().tolist() for line in ax.lines if len(line.get_xydata()) == 2]
    assert ends == [[[5.0, 5.0], [name.x, name.y]]]


def test_a_name_is_led_off_a_wall_before_it_may_stand_on_it() -> None:
    """The name of an area in a corner stood across the wall, room for it a little farther off."""
    wall = LineString([(0.0, 9.5), (10.0, 9.5)])
    floor = Floor((0.0, 0.0, 10.0, 10.0), 0.3)
    floor.shun(wall, off=OFF_WALLS)
    floor.occupy(5.0, 8.6, 1.2, 0.42)
    name = floor.beside(5.0, 9.2, "N1", 8.0, gap=0.05)
    width, height = extent(["N1"], 8.0, "bold")
    half = np.array([width, height]) / 2 / floor.scale
    assert not box(
        name.x - half[0], name.y - half[1], name.x + half[0], name.y + half[1]
    ).intersects(wall)
    assert name.led
