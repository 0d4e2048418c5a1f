"""The report as a page for the browser."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from moisturemap.figures.drying_maps import _change_scale
from moisturemap.report.content import (
    FOOTER,
    Bullets,
    Column,
    Content,
    Paragraph,
    Picture,
    Section,
    Table,
)
from moisturemap.report.html import html_text
from moisturemap.report.sections.drilling import _elsewhere


def test_on_a_phone_a_figure_fits_the_screen_until_it_is_tapped() -> None:
    """Half of every map lay beyond the screen; narrow drawings are legible as they are."""
    wide, narrow = (
        Picture(b"\x89PNG", b"", name, name, (10, 10), width_mm=width, key=name)
        for name, width in (("wide", 174.0), ("narrow", 85.0))
    )
    content = Content("t", "", "", (), (Section("S", (wide, narrow), "1"),), "")
    page = html_text(content)
    marks = re.findall(r"<img ([^>]*?)src", page)
    assert [("narrow" in one) for one in marks] == [False, True]
    assert page.count('<label class="tap"><input type="checkbox">') == 1
    small = page[page.index("@media screen and (max-width") :]
    assert re.search(r"\.tap img \{ width: 100%; \}", small)
    (rule,) = re.findall(r"([^\n}]*)\{[^}]*width: 56rem", small)
    assert rule.strip() == ".tap > input:checked ~ img"
    assert "input:checked)::before" in small


def test_a_small_screen_says_what_goes_on_beside_it() -> None:
    """Tests that exceed stood to the right of the screen, where nothing led to."""
    wide = Picture(b"\x89PNG", b"", "wide", "wide", (10, 10), width_mm=174.0, key="wide")
    page = html_text(Content("t", "", "", (), (Section("S", (wide,), "1"),), ""))
    assert '<figure id="wide" data-push="Wider than the screen: push it sideways.">' in page
    assert "content: attr(data-push)" in page


def test_narrow_drawings_stand_beside_each_other() -> None:
    """Set-out drawings of sixty rooms stood below each other in one column of a wide page."""
    narrow = Picture(b"\x89PNG", b"", "n", "n", (10, 10), width_mm=85.0, key="n")
    wide = replace(narrow, width_mm=174.0)
    blocks = (narrow, narrow, narrow, wide, narrow)
    page = html_text(Content("t", "", "", (), (Section("S", blocks, "1"),), ""))
    assert page.count('<div class="beside">') == 1
    inside = page.split('<div class="beside">')[1].split("</div>")[0]
    assert inside.count("<figure") == 3


def test_what_heads_a_part_of_a_section_is_a_heading() -> None:
    """The words "What to do next" was bold words, which no screen reader leads to."""
    blocks = (Paragraph("What to do next", "lead"), Paragraph("Wait."))
    page = html_text(Content("t", "", "", (), (Section("S", blocks, "1"),), ""))
    assert '<h3 dir="auto">What to do next</h3>' in page


def test_lengths_do_not_break_over_lines() -> None:
    """A fraction of an inch that stands alone at the head of a line is read for the whole."""
    said = ("31 ft 3 1/4 in", "1 7/8 in", "3 15/16 in", "0.12 m", "74 ft2", "91.5 %RH")
    said += (
        "+1020 Pa",
        "3 K",
        "8.0 g/kg",
        "48 h",
        "6.06, 4.44 m",
        "97.0 ± 3.2 %RH",
        "85,5 % r. F.",
        "H-3/b",
        "edition -16b",
        "Nr. 4",
        "ASTM F1869",
        "NT BUILD 439",
        "DIN EN 1264-4",
        "29 CFR 1926.1101",
        "section 9",
        "R. Fenn",
    )
    content = Content("t", "", "", (), (Section("S", (Bullets(said),), "1"),), "")
    for one in said:
        assert f'<span class="whole">{one}</span>' in html_text(content)


def test_on_a_phone_what_a_pen_fills_in_stands_below_each_caution() -> None:
    """Name and date of who cleared a caution were left out: nobody could see what to sign."""
    names = ("Cleared", "Caution", "Name", "Date")
    columns = tuple(Column(name, 1) for name in names)
    cautions = Table("Cautions", columns, (("\u2610", "A cut tendon can kill.", "", ""),))
    signed = Table("Cautions", columns, (("\u2610", "A cut tendon can kill.", "N. N.", ""),))
    for table, by_hand in ((cautions, 2), (signed, 1)):
        page = html_text(Content("t", "", "", (), (Section("S", (table,), "1"),), ""))
        assert len(re.findall(r'<td [^>]*class="left by-hand"', page)) == by_hand
        assert ' class="stacked"' in page
        assert 'class="left by-hand" dir="auto" data-head="Date"' in page
    hidden = re.findall(r"([^\n}]*)\{ display: none; \}", page)
    assert hidden
    assert not any("by-hand" in one.replace(":not(.by-hand)", "") for one in hidden)
    assert re.search(r"\.stacked td\.by-hand::after \{[^}]*border-bottom: 1px solid", page)


def test_on_a_phone_a_row_with_a_long_cell_stands_as_a_list() -> None:
    """Its last column stood beyond the screen, a word wide and half a metre high."""
    columns = tuple(Column(name, 1) for name in ("Rule", "Found", "Kept", "In words"))
    told = Table("Rules", columns, (("a", "0", "not kept", "no valid test near a wall " * 4),))
    short = Table("Zones", columns[:3], (("A", "1", "wet"),))
    for table, stacked in ((told, True), (short, False)):
        page = html_text(Content("t", "", "", (), (Section("S", (table,), "1"),), ""))
        assert ('<table class="stacked" role="table">' in page) == stacked
        assert ('data-head="In words" role="cell"' in page) == stacked
    page = html_text(
        Content("t", "", "", (), (Section("S", (replace(told, dense=True),), "1"),), "")
    )
    assert '<table class="dense stacked" role="table">' in page
    for letters, stacked in ((200, False), (300, True)):  # two words to a line, a screen high
        three = Table("Tests", columns[:3], (("H1", "RH", "x " * (letters // 2)),))
        page = html_text(Content("t", "", "", (), (Section("S", (three,), "1"),), ""))
        assert ('<table class="stacked" role="table">' in page) == stacked
    many = replace(told, dense=True, rows=told.rows * 200)
    page = html_text(Content("t", "", "", (), (Section("S", (many,), "1"),), ""))
    assert '<table class="dense">' in page
    assert re.search(r"\.stacked td::before \{ content: attr\(data-head\)", page)
    assert ":not(:has(.stacked))::before" in page


def test_on_a_phone_many_short_columns_stand_as_a_list() -> None:
    """The table of rooms had to be pushed sideways to see what is wet."""
    columns = tuple(Column(name, 1) for name in ("Room", "Area", "Tests", "Wet", "Zones", "Holes"))
    rooms = Table("Rooms", columns, (("ward", "77 m2", "not proven", "14%", "A", "H1"),))
    for table, stacked in (
        (rooms, True),
        (replace(rooms, columns=columns[:4], rows=(rooms.rows[0][:4],)), True),
        (replace(rooms, columns=columns[:3], rows=(rooms.rows[0][:3],)), False),
        (replace(rooms, rows=rooms.rows * 61), False),
        (replace(rooms, dense=True), True),
        (replace(rooms, columns=columns[:3] * 2), False),
    ):
        page = html_text(Content("t", "", "", (), (Section("S", (table,), "1"),), ""))
        assert (' role="table">' in page) == stacked


def test_on_a_phone_the_caution_stands_below_a_map_in_full() -> None:
    """The one drawn in the map ended beyond the screen; below tests it was untrue."""
    tests = Picture(b"\x89PNG", b"", "tests", "tests", (10, 10), width_mm=174.0, key="tests")
    scan = replace(tests, key="map", relative=True)
    for picture, told in ((scan, True), (tests, False)):
        page = html_text(Content("t", "", "", (), (Section("S", (picture,), "1"),), ""))
        assert (f'data-foot="{FOOTER}"' in page) == told
    assert re.search(r"figcaption\[data-foot\]::after \{ content: \"[.] \" attr\(data-foot\)", page)


def test_a_negative_number_has_a_minus_sign() -> None:
    """As in the other documents; no line ends behind it."""
    content = Content("t", "", "", (), (Section("S", (Bullets(("fell by -1.5 K",)),), "1"),), "")
    assert '<span class="whole">\u22121.5 K</span>' in html_text(content)


def test_places_in_a_list_of_readings_do_not_break_over_lines() -> None:
    """On a phone x stood on one line and y on the next, and every row was two lines high."""
    page = html_text(Content("t", "", "", (), (), ""))
    assert ".dense td.right { white-space: nowrap; }" in page


def test_rules_of_other_countries_are_told_as_such() -> None:
    """A German report named rules of the United States as if they held on the floor."""
    told = _elsewhere((("\u2610", "Silica dust (OSHA 29 CFR 1926.1153; HSE CIS36).", ""),), None)
    assert "United States" in told
    assert "not in force" in told
    assert _elsewhere((("\u2610", "A cut tendon can kill (local law).", ""),), None) == ""


def test_steps_of_a_fall_have_a_minus_sign() -> None:
    """The scale of the change maps had hyphens."""
    assert _change_scale(np.array([-5.0, -1.25, 1.25, 5.0])).labels[:2] == (
        "\u22125 fell",
        "\u22121.25",
    )


def test_a_tablet_enlarges_a_figure_that_it_is_too_low_for() -> None:
    """Letters of the map stood eight pixels high on a tablet held across, for good."""
    for size, tall in (((1740, 1800), True), ((1740, 900), False)):
        figure = Picture(b"", b"<svg/>", "Map", "Map", size, key="map")
        page = html_text(Content("t", "", "", (), (Section("S", (figure,), "1"),), ""))
        assert ('<img class="tall"' in page) is tall
    (low,) = re.findall(r"\(max-height: 62rem\) \{\n(.*?)\n\}", page, re.S)
    assert ".tap > input:checked ~ .tall { max-height: none; }" in low


def test_a_printed_page_has_its_number() -> None:
    """Printed from the browser no page had one; a number is the same in every language."""
    page = html_text(Content("t", "", 'A"</style>7', (), (), ""))
    (rule,) = re.findall(r"@page \{(.*)", page)
    assert "counter(page)" in rule
    assert "counter(pages)" in rule
    assert page.count("</style>") == 1
    assert r"A\22 \3c \2f style\3e 7" in rule


def test_no_row_of_a_printed_table_stands_alone_on_its_sheet() -> None:
    """The last row of five was carried over to the next sheet by itself."""
    page = html_text(Content("t", "", "", (), (), ""))
    (rows,) = re.findall(r"([^{}]*)\{ *break-after: avoid; *\}", page[page.index("tr {") :])[:1]
    assert "tr:first-child" in rows
    assert "tr:nth-last-child(2)" in rows
