"""Plans in DXF, drawn here with the DXF library."""

import sys

import pytest
from shapely.geometry import Point

from moisturemap.errors import FormatError, MissingExtra, OptionError, PlanError
from moisturemap.files import read_plan
from moisturemap.floorplan import CHECK_ONE_WALL, NOT_KEPT_CLEAR

ezdxf = pytest.importorskip("ezdxf")
ConnectionSide = pytest.importorskip("ezdxf.render.mleader").ConnectionSide
Vec2 = pytest.importorskip("ezdxf.math").Vec2


class Draft:
    """A drawing under way."""

    def __init__(self, path, unit):
        self.path = path
        self.doc = ezdxf.new("R2010")
        self.doc.header["$INSUNITS"] = unit
        self.space = self.doc.modelspace()

    def box(self, west, south, east, north, layer="0", where=None):
        ring = [(west, south), (east, south), (east, north), (west, north)]
        space = self.space if where is None else where
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})

    def lines(self, west, south, east, north, layer="0", gap=0.0):
        ring = [(west, south), (east, south), (east, north), (west, north)]
        for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]], strict=True):
            self.space.add_line((x0 + gap, y0), (x1, y1 - gap), dxfattribs={"layer": layer})

    def text(self, text, x, y, height=0.2):
        self.space.add_text(text, height=height).set_placement((x, y))

    def read(self, **options):
        self.doc.saveas(self.path)
        return read_plan(self.path, **options)


@pytest.fixture
def draft(tmp_path):
    """Start a drawing in a unit ($INSUNITS: 0 none, 1 in, 4 mm, 6 m)."""
    return lambda unit=6: Draft(tmp_path / "plan.dxf", unit)


def areas(plan):
    return {room.name: round(room.polygon.area, 2) for room in plan.rooms}


def test_closed_polylines_with_bulges_texts_and_columns_become_named_rooms(draft):
    """In millimetres; dimensions and areas written in the room do not disturb."""
    drawing = draft(4)
    drawing.box(0, 0, 4000, 3000)
    drawing.text("Kitchen", 1000, 1000, 200)
    drawing.text("12.0 m2", 1000, 1500, 300)
    bow = [(4100, 0, 0), (8000, 0, 1), (8000, 3000, 0), (4100, 3000, 0)]
    drawing.space.add_lwpolyline(bow, format="xyb", close=True)
    drawing.space.add_mtext("Hall\\Pnorth", dxfattribs={"insert": (5000, 1000)})
    drawing.space.add_circle((6000, 1500), 150)
    drawing.space.add_line((2000, 0), (2000, 3000), dxfattribs={"layer": "A-DAY-JOINT"})
    drawing.space.add_linear_dim(base=(0, -500), p1=(0, 0), p2=(4000, 0)).render()
    plan, notes = drawing.read()
    half_disc, column = 3.14159 / 2 * 1.5**2, 3.14159 * 0.15**2
    assert areas(plan)["Kitchen"] == 12
    assert areas(plan)["Hall north"] == pytest.approx(11.7 + half_disc - column, abs=0.02)
    assert len(plan.rooms) == 2
    assert [line.kind for line in plan.lines] == ["day-joint"]
    assert any("unit as mm" in note for note in notes)
    assert any("column" in note for note in notes)


def test_drawing_without_a_unit_takes_the_stated_one(draft):
    """And says so; when that gives an absurd size it is refused."""
    drawing = draft(0)
    drawing.box(0, 0, 4000, 3000)
    plan, notes = drawing.read(coordinates="mm")
    assert plan.outline.area == pytest.approx(12)
    assert any("states no unit" in note for note in notes)
    with pytest.raises(PlanError, match="look like"):
        drawing.read(coordinates="m")


@pytest.mark.parametrize("said", [{"coordinates": "mm"}, {"otherwise": "mm"}])
def test_unit_of_the_drawing_that_cannot_be_gives_way(draft, said):
    """4 km wide in its own unit, 4 m in the one of the survey."""
    drawing = draft(6)
    drawing.box(0, 0, 4000, 3000)
    plan, notes = drawing.read(**said)
    assert plan.outline.area == pytest.approx(12)
    assert any("drawing states its unit as m" in note for note in notes)


def test_a_unit_that_is_said_goes_before_that_of_the_drawing(draft):
    """A template's inches over millimetres: a pipe 5.6 m in must not lie 142 m away."""
    drawing = draft(1)
    drawing.box(0, 0, 8000, 6000)
    drawing.space.add_line((5600, 0), (5600, 6000), dxfattribs={"layer": "gas pipe"})
    plan, notes = drawing.read(coordinates="mm")
    assert plan.outline.area == pytest.approx(48)
    assert [line.geometry.bounds[0] for line in plan.lines] == pytest.approx([5.6])
    assert any("states its unit as in" in n and "203 x 152 m" in n for n in notes)
    assert all(note in plan.notes for note in notes)
    by_header, _ = drawing.read(otherwise="m")
    assert by_header.outline.area == pytest.approx(48 * 25.4**2)


def test_a_unit_that_is_said_and_cannot_be_is_refused_with_that_of_the_drawing(draft):
    """8 mm is no room; the drawing's metres are named."""
    drawing = draft(6)
    drawing.box(0, 0, 8, 6)
    with pytest.raises(PlanError, match="the drawing itself states m"):
        drawing.read(coordinates="mm")


@pytest.mark.parametrize("release", ["R12", "R2010"])
def test_polylines_of_old_drawings_are_read(tmp_path, release):
    """POLYLINE is the only polyline of R12, and has no constant width of its own."""
    drawing = Draft(tmp_path / "plan.dxf", 6)
    drawing.doc = ezdxf.new(release)
    drawing.space = drawing.doc.modelspace()
    drawing.space.add_polyline2d([(0, 0), (8, 0), (8, 6), (0, 6)], close=True)
    wide = {"layer": "duct", "default_start_width": 0.2, "default_end_width": 0.3}
    drawing.space.add_polyline2d([(0, 3), (8, 3)], dxfattribs=wide)
    plan, _ = drawing.read(coordinates="m")
    assert plan.outline.area == pytest.approx(48)
    assert [line.kind for line in plan.lines] == ["known-service"]


@pytest.mark.parametrize("gap", [0.0, 0.008, 0.019])
def test_loose_lines_are_closed_across_small_gaps(draft, gap):
    """Up to 20 mm."""
    drawing = draft()
    drawing.lines(0, 0, 4, 3, gap=gap / 2)
    drawing.text("Store", 1, 1)
    assert areas(drawing.read()[0])["Store"] == pytest.approx(12, abs=0.2)


def test_loose_lines_with_wide_gaps_are_refused_with_advice(draft):
    """A door's width is not guessed."""
    drawing = draft()
    drawing.lines(0, 0, 4, 3, gap=0.4)
    with pytest.raises(PlanError, match=r"no closed outline.*20 mm; layers: 0"):
        drawing.read()


def test_walls_drawn_as_double_lines_leave_rooms_and_columns(draft):
    """The strip between the lines is a wall."""
    drawing = draft()
    for edges in ((0, 0, 10, 6), (0.3, 0.3, 4.9, 5.7), (5.1, 0.3, 9.7, 5.7), (2, 2, 2.4, 2.4)):
        drawing.lines(*edges, layer="A-WALL")
    plan, notes = drawing.read()
    assert sorted(areas(plan).values()) == [24.68, 24.84]
    assert any("taken as a wall" in note for note in notes)
    assert any("taken as a column" in note for note in notes)


def test_blocks_are_opened_and_their_attributes_name_rooms(draft):
    """What lies on layer 0 of a block is on the layer of the block."""
    drawing = draft()
    unit = drawing.doc.blocks.new("UNIT")
    drawing.box(0, 0, 4, 3, where=unit)
    unit.add_attdef("NAME", (1, 1), height=0.2)
    for number in range(3):
        place = drawing.space.add_blockref("UNIT", (5 * number, 0), dxfattribs={"layer": "rooms"})
        place.add_auto_attribs({"NAME": f"flat {number}"})
    drawing.box(1, 1, 2, 2, layer="furniture")
    assert areas(drawing.read()[0]) == {"flat 0": 12, "flat 1": 12, "flat 2": 12}


def test_hatch_makes_a_room(draft):
    """Its edge is the outline."""
    drawing = draft()
    drawing.space.add_hatch().paths.add_polyline_path([(0, 0), (4, 0), (4, 3)], is_closed=True)
    assert areas(drawing.read()[0]) == {"room 1": 6}


def test_edge_of_the_floor_and_a_room_inside_a_room_are_told_apart(draft):
    """An outline filled by rooms is no room; a named room inside another is a hole of it."""
    drawing = draft()
    for edges in ((0, 0, 8, 6), (0, 0, 4, 6), (4, 0, 8, 6), (5, 1, 7, 3)):
        drawing.box(*edges)
    drawing.text("Safe", 5.5, 2)
    plan, notes = drawing.read()
    assert areas(plan) == {"room 1": 24, "room 2": 20, "Safe": 4}
    assert any("edge of the floor" in note for note in notes)


def test_layer_of_the_rooms_can_be_named(draft):
    """An unknown layer is refused with the known ones."""
    drawing = draft()
    drawing.box(0, 0, 4, 3, layer="finish A")
    drawing.box(5, 0, 7, 3, layer="finish B")
    assert areas(drawing.read(layer="finish B")[0]) == {"room 1": 6}
    with pytest.raises(OptionError, match="finish A, finish B"):
        drawing.read(layer="finish C")


def test_hidden_layers_are_not_read(draft):
    """Switched off or frozen."""
    drawing = draft()
    drawing.box(0, 0, 4, 3)
    drawing.doc.layers.add("old").off()
    drawing.box(3, 0, 7, 3, layer="old")
    assert areas(drawing.read()[0]) == {"room 1": 12}


@pytest.mark.parametrize("hide", ["off", "freeze"])
def test_what_may_be_a_service_counts_on_hidden_layers(draft, hide):
    """Whatever the layer is called; its texts name no room, and furniture stays away."""
    drawing = draft()
    drawing.box(0, 0, 4, 3)
    for number, layer in enumerate(("E-POWR-CABL", "XYZ", "furniture", "A-WALL")):
        getattr(drawing.doc.layers.add(layer), hide)()
        ends = (0.5, 0.6 + 0.5 * number), (3.5, 0.6 + 0.5 * number)
        drawing.space.add_line(*ends, dxfattribs={"layer": layer})
    drawing.space.add_text("old kitchen", height=1.0, dxfattribs={"layer": "XYZ"}).set_placement(
        (1, 1)
    )
    plan, notes = drawing.read()
    assert areas(plan) == {"room 1": 12}
    assert [line.geometry.bounds[1] for line in plan.lines] == [0.6, 1.1]
    assert any("E-POWR-CABL, XYZ is switched off or frozen" in note for note in notes)


def test_a_drawing_referred_to_that_is_not_loaded_is_told(draft):
    """All services may be in it."""
    drawing = draft()
    drawing.box(0, 0, 4, 3)
    drawing.doc.add_xref_def("gas-and-water.dwg", "services")
    drawing.space.add_blockref("services", (0, 0), dxfattribs={"layer": "furniture"})
    (told,) = [note for note in drawing.read()[1] if "not loaded" in note]
    assert "gas-and-water.dwg" in told
    assert NOT_KEPT_CLEAR in told


def test_keep_clear_areas_columns_and_power_points_are_read_by_layer(draft):
    """Areas stay areas, points stay points."""
    drawing = draft()
    drawing.box(0, 0, 4, 3, layer="rooms")
    drawing.box(1, 1, 1.4, 1.4, layer="columns")
    drawing.box(2, 1, 3, 2, layer="no drilling")
    drawing.space.add_point((0.1, 0.1), dxfattribs={"layer": "sockets"})
    plan, _ = drawing.read()
    assert areas(plan) == {"room 1": 11.84}
    assert [(line.kind, line.geometry.geom_type) for line in plan.lines] == [
        ("power-point", "Point"),
        ("keep-clear", "Polygon"),
    ]


BOX = [(3, 2), (5, 2), (5, 4), (3, 4)]


def _wide(space, look):
    band = [(3, 3, 2.0, 2.0), (5, 3, 2.0, 2.0)]
    space.add_lwpolyline(band, format="xyse", dxfattribs=look)


def _hatched(space, look):
    space.add_hatch(dxfattribs=look).paths.add_polyline_path(BOX, is_closed=True)


FILLED = {
    "closed polyline": lambda space, look: space.add_lwpolyline(BOX, close=True, dxfattribs=look),
    "wide polyline": _wide,
    "hatch": _hatched,
    "solid": lambda space, look: space.add_solid([*BOX[:2], BOX[3], BOX[2]], dxfattribs=look),
    "trace": lambda space, look: space.add_trace([*BOX[:2], BOX[3], BOX[2]], dxfattribs=look),
    "face": lambda space, look: space.add_3dface(BOX, dxfattribs=look),
}


@pytest.mark.parametrize("layer", ["PIPES", "TANK"])
@pytest.mark.parametrize("form", FILLED)
def test_a_service_drawn_as_an_area_is_kept_clear_of_wholly(draft, form, layer):
    """A duct, tank or manhole: the middle of it belongs to it, whatever it is drawn with."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    FILLED[form](drawing.space, {"layer": layer})
    (line,) = drawing.read()[0].lines
    assert line.kind == "known-service"
    assert line.geometry.area == pytest.approx(4.0)


def test_a_pipe_laid_as_a_ring_is_a_line(draft):
    """What it goes round is floor."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    drawing.box(0.3, 0.3, 7.7, 5.7, layer="HEATING")
    assert drawing.read()[0].lines[0].geometry.area == 0


def test_lines_without_end_are_kept_clear_of(draft):
    """They cross the floor from edge to edge."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    drawing.space.add_xline((4, 3), (0, 1), dxfattribs={"layer": "PIPES"})
    drawing.space.add_ray((4, 3), (1, 0), dxfattribs={"layer": "PIPES"})
    lengths = sorted(one.geometry.length for one in drawing.read()[0].lines)
    assert lengths == pytest.approx([4.5, 7.0])  # with half a metre beyond the floor


def test_services_that_are_no_lines_on_the_floor_are_named(draft):
    """Words, what lies on a sheet, and forms nobody reads."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    drawing.space.add_text("GAS", dxfattribs={"layer": "GAS", "insert": (4, 3)})
    sheet = drawing.doc.layout("Layout1")
    sheet.add_line((2, 3), (6, 3), dxfattribs={"layer": "PIPES"})
    notes = [note for note in drawing.read()[0].notes if NOT_KEPT_CLEAR in note]
    assert [note.split()[1] for note in notes] == ["GAS", "PIPES"]


def _leader(space, look):
    space.add_leader([(4, 1), (4, 5)], dxfattribs=look)


def _multileader(space, look, words="see schedule"):
    maker = space.add_multileader_mtext("Standard", dxfattribs=look)
    maker.set_content(words)
    maker.add_leader_line(ConnectionSide.left, Vec2.list([(4, 1), (4, 5)]))
    maker.build(insert=Vec2(6, 5))


@pytest.mark.parametrize("form", [_leader, _multileader])
def test_a_service_drawn_as_a_leader_is_kept_clear_of(draft, form):
    """An arrow along the pipe; it was dropped without a word."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    form(drawing.space, {"layer": "P-PIPE"})
    form(drawing.space, {"layer": "A-ANNO-NOTES"})
    (line,) = drawing.read()[0].lines
    assert (line.kind, line.name) == ("known-service", "P-PIPE")
    assert line.geometry.distance(Point(4, 3)) == pytest.approx(0)


def _dimension(space, look):
    space.add_linear_dim(base=(2, 2), p1=(1, 2), p2=(3, 2), dxfattribs=look).render()


def _picture(space, look):
    image = space.doc.add_image_def("services.png", (100, 100))
    space.add_image(image, (1, 1), (4, 4), dxfattribs=look)


def _mesh(space, look):
    mesh = space.add_mesh(dxfattribs=look)
    with mesh.edit_data() as data:
        data.vertices, data.faces = [(1, 1, 0), (2, 1, 0), (2, 2, 0)], [(0, 1, 2)]


def _unknown_leader(space, look):
    _leader(space, {"layer": "Zone 1"})


@pytest.mark.parametrize(
    ("form", "told"),
    [
        (_dimension, "1 x DIMENSION on layer P-PIPE"),
        (_picture, "1 x IMAGE on layer P-PIPE"),
        (_mesh, "1 x MESH on layer P-PIPE"),
        (_unknown_leader, "1 x LEADER on layer Zone 1"),
    ],
)
def test_a_form_on_a_layer_of_services_that_is_not_read_is_told(draft, form, told):
    """Though the layer holds lines as well, that are kept clear of."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    drawing.space.add_line((7, 1), (7, 5), dxfattribs={"layer": "P-PIPE"})
    form(drawing.space, {"layer": "P-PIPE"})
    notes = [note for note in drawing.read()[0].notes if NOT_KEPT_CLEAR in note]
    assert [note.partition(" is a form")[0] for note in notes] == [told]


@pytest.mark.parametrize(("within", "layer"), [(True, "P-PIPE"), (False, "P-PIPE"), (True, "0")])
def test_an_entity_that_is_not_known_is_told_with_its_layer(draft, within, layer):
    """As drawing programs of building services write them; in a block it was dropped."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    space = drawing.doc.blocks.new("PART") if within else drawing.space
    space.add_circle((2, 2), 0.5, dxfattribs={"layer": layer})
    if within:
        drawing.space.add_blockref("PART", (1, 1), dxfattribs={"layer": "P-PIPE"})
    drawing.doc.saveas(drawing.path)
    written = drawing.path.read_text(encoding="utf-8")
    drawing.path.write_text(written.replace("\nCIRCLE\n", "\nPIPEOBJECT\n"), encoding="utf-8")
    notes = [note for note in read_plan(drawing.path)[0].notes if NOT_KEPT_CLEAR in note]
    assert [note.partition(" is a form")[0] for note in notes] == ["1 x PIPEOBJECT on layer P-PIPE"]


def test_dimensions_and_leaders_of_other_layers_are_passed_over_in_silence(draft):
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    for form in (_leader, _multileader, _dimension):
        form(drawing.space, {"layer": "0"})
    plan, _ = drawing.read()
    assert not plan.lines
    assert not any(NOT_KEPT_CLEAR in note for note in plan.notes)


def test_words_of_a_leader_that_warn_are_kept_where_it_points(draft):
    """And where they are written, on any layer."""
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    _multileader(drawing.space, {"layer": "0"}, "gas main below, do not drill")
    kept = drawing.read()[0].lines_of("keep-clear")
    assert {round(line.geometry.y) for line in kept} == {1, 5}
    assert any(line.geometry.distance(Point(4, 1)) < 0.01 for line in kept)


def test_a_block_named_after_a_service_is_one_on_a_dull_layer(draft):
    """The layer says nothing of what the block draws; that of a room stays a room."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer="A-ROOM")
    block = drawing.doc.blocks.new("GAS PIPE")
    block.add_line((0, 0), (0, 4), dxfattribs={"layer": "0"})
    drawing.space.add_blockref("GAS PIPE", (4, 1), dxfattribs={"layer": "furniture"})
    (line,) = drawing.read()[0].lines
    assert (line.kind, line.name) == ("known-service", "GAS PIPE")


def test_blocks_without_end_are_refused(draft, monkeypatch):
    """A block inside itself, and a block repeated a billion times."""
    drawing = draft()
    first, second = drawing.doc.blocks.new("A"), drawing.doc.blocks.new("B")
    first.add_blockref("B", (0, 0))
    second.add_blockref("A", (0, 0))
    drawing.space.add_blockref("A", (0, 0))
    with pytest.raises(FormatError, match="nested too deeply"):
        drawing.read()
    monkeypatch.setenv("MOISTUREMAP_READER", "1")  # read in this process, where it is patched
    monkeypatch.setattr("moisturemap.files.dxf_plan.MOST_ENTITIES", 500)
    bomb = draft()
    bomb.box(0, 0, 4, 3, where=bomb.doc.blocks.new("A"))
    many = {"column_count": 30_000, "row_count": 30_000, "column_spacing": 5, "row_spacing": 5}
    bomb.doc.blocks.new("EMPTY")
    for block in ("EMPTY", "A"):
        bomb.space.add_blockref(block, (0, 0), dxfattribs=many)
        with pytest.raises(FormatError, match="more than 500 parts"):
            bomb.read()


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"hello world\n" * 100, "cannot be read"),
        (bytes(range(256)) * 50, "cannot be read"),
        (b"AC1027" + b"\x00" * 200, "DWG"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nabc\n", "plan.dxf"),
    ],
)
def test_damaged_drawings_are_refused(tmp_path, content, message):
    """No drawing, another format, cut off."""
    path = tmp_path / "plan.dxf"
    path.write_bytes(content)
    with pytest.raises((FormatError, PlanError), match=message):
        read_plan(path)


def test_missing_library_says_what_to_install(tmp_path, monkeypatch):
    """The extra is named."""
    path = tmp_path / "plan.dxf"
    path.write_text("0\nEOF\n")
    monkeypatch.setenv("MOISTUREMAP_READER", "1")  # read in this process, where it is patched
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(MissingExtra, match=r"moisturemap\[dxf\]"):
        read_plan(path)


@pytest.mark.parametrize(
    "layer",
    [
        "heating circuit floor",
        "pipe outline",
        "drain opening",
        "cable void",
        "gas pit",
        "Leitung Schacht",
        "sewer manhole pit",
        "heating rooms",
    ],
)
@pytest.mark.parametrize("rooms", ["0", "rooms"])
def test_a_line_on_a_layer_of_rooms_or_pits_that_names_a_service_is_one(draft, layer, rooms):
    """It outlines nothing, and a hole on it hits what the other word says."""
    drawing = draft()
    drawing.box(0, 0, 8, 6, layer=rooms)
    drawing.space.add_line((5.6, 0), (5.6, 6), dxfattribs={"layer": layer})
    plan, _ = drawing.read()
    assert [(line.kind, line.name) for line in plan.lines] == [("known-service", layer)]
    assert plan.outline.area == pytest.approx(48)


def test_a_duct_drawn_closed_on_a_layer_of_outlines_is_no_room(draft):
    """Unless its layer alone holds outlines: then those are the rooms."""
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    drawing.box(1, 1, 7, 1.4, layer="duct outline")
    plan, _ = drawing.read()
    assert [line.kind for line in plan.lines] == ["known-service"]
    assert plan.outline.area == pytest.approx(48)
    alone = draft()
    alone.box(0, 0, 8, 6, layer="heating rooms")
    assert alone.read()[0].outline.area == pytest.approx(48)


def test_a_text_that_warns_of_drilling_is_kept_at_its_place(draft):
    """Kept clear of and told; the room keeps its own name, though written smaller."""
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    drawing.text("Hall", 1, 1, 0.1)
    drawing.text("PT tendon here, do not drill", 2, 5, 0.3)
    drawing.text("Oak floor", 3, 3, 0.1)
    drawing.text("Heating circuits", 30, 30, 0.3)
    plan, notes = drawing.read()
    assert [room.name for room in plan.rooms] == ["Hall"]
    (line,) = plan.lines_of("keep-clear")
    assert (line.name, line.geometry.x, line.geometry.y) == ("PT tendon here, do not drill", 2, 5)
    assert any("PT tendon here" in note and "x 2.00 m, y 5.00 m" in note for note in notes)
    assert not plan.lines_of("known-service")


def test_a_text_that_warns_names_a_room_that_has_no_other(draft):
    """And is kept clear of all the same; the name of a room is no warning."""
    drawing = draft()
    drawing.box(0, 0, 4, 4)
    drawing.text("Gas main below", 2, 2)
    drawing.box(4, 0, 8, 4)
    drawing.text("Electrical room", 6, 2)
    plan, _ = drawing.read()
    assert [room.name for room in plan.rooms] == ["Gas main below", "Electrical room"]
    assert [line.name for line in plan.lines_of("keep-clear")] == ["Gas main below"]


def test_an_inch_header_on_millimetres_is_told_with_both_extents(draft):
    """6 x 5 m became 152 x 127 m without a word."""
    drawing = draft(1)
    drawing.box(0, 0, 6000, 5000)
    _, notes = drawing.read()
    (doubt,) = (note for note in notes if CHECK_ONE_WALL in note)
    assert "read in inches the plan is 152 x 127 m" in doubt
    assert "6 x 5 m in millimetres" in doubt


def test_a_plan_of_usual_size_is_not_doubted(draft):
    drawing = draft(4)
    drawing.box(0, 0, 59000, 20000)
    assert not any(CHECK_ONE_WALL in note for note in drawing.read()[1])


def test_words_in_place_of_a_measured_length_that_warn_are_kept(draft):
    """A dimension along a run is where many write what runs there."""
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    said = {"layer": "DIM"}
    drawing.space.add_linear_dim(
        base=(4, 3), p1=(1, 3), p2=(7, 3), text="cable run", dxfattribs=said
    ).render()
    (kept,) = drawing.read()[0].lines_of("keep-clear")
    assert kept.name == "cable run"
    assert kept.geometry.x == pytest.approx(4)


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        *[("SS 100", 1), ("F.W. 50", 1), ("asbestos below", 1), ("FFL +0.00", 0), ("23.4 m2", 0)],
        *[("CH 2.40", 0), ("shop counter", 0), ("1:100", 0), ("A", 0)],
    ],
)
def test_words_that_nobody_knows_are_kept_clear_of_and_noted(draft, words, kept):
    """No list of what drawings write of services is complete."""
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    drawing.text("hall", 1, 1, 0.4)
    drawing.text(words, 4, 3)
    plan, notes = drawing.read()
    assert [line.name for line in plan.lines_of("keep-clear")] == [words] * kept
    assert any(f"notes {words!r} at x 4.00 m" in note for note in notes) is bool(kept)
    assert [room.name for room in plan.rooms] == ["hall"]


def test_many_unknown_words_are_told_in_few_notes(draft):
    drawing = draft()
    drawing.box(0, 0, 40, 6)
    drawing.text("hall", 1, 1, 0.4)
    for number in range(30):
        drawing.text(f"xyzzy{number} plugh", 2 + number, 3)
    plan, notes = drawing.read()
    assert len(plan.lines_of("keep-clear")) == 30
    assert sum("The drawing notes" in note for note in notes) == 13
    assert any("18 more texts" in note for note in notes)


@pytest.mark.parametrize("words", ["DO NOT CORE", "NO FIXINGS", "LTHW", "110 UPVC", "RWP", "sump"])
def test_words_that_forbid_to_core_or_name_what_runs_are_kept(draft, words):
    """As they stand on drawings of building services."""
    drawing = draft()
    drawing.box(0, 0, 8, 6)
    drawing.text("hall", 1, 1, 0.4)
    drawing.text(words, 4, 3)
    plan, _ = drawing.read()
    assert [line.name for line in plan.lines_of("keep-clear")] == [words]
    assert [room.name for room in plan.rooms] == ["hall"]
