"""A high figure waits for the text after it, and no page of a DOCX is left half empty before it."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Content,
    Contents,
    Paragraph,
    Picture,
    Section,
    Signatures,
    Table,
)
from moisturemap.report.docx import docx_bytes
from moisturemap.report.docx_height import head_mm, picture_mm
from moisturemap.report.flow import flowed
from moisturemap.report.keeping import stays
from moisturemap.report.laid import PAGE_MM
from moisturemap.report.picture_size import room_for
from moisturemap.report.place import Place, sheets, steps, text_at

LINE = Paragraph("words " * 17)


def picture(name: str, share: float, *, floats: bool = True) -> Picture:
    """Return a figure that takes a share of the height a picture may have on A4."""
    size = (1740, int(2150 * share))
    return Picture(b"", b"", name, name, size, width_mm=174.0, key=name, floats=floats)


def test_a_high_figure_waits_until_its_page_is_full() -> None:
    """Nearly half a page of words, then a map of a page: the words after it come first."""
    before = (*[LINE] * 20, picture("map", 0.9))
    after = (*[LINE] * 60,)
    made = flowed((Section("One", before, "1"), Section("Two", after, "2")), "a4")
    assert not any(isinstance(one, Picture) for one in made[0].blocks)
    at = [isinstance(one, Picture) for one in made[1].blocks].index(True)
    assert 15 <= at <= 35


def test_no_figure_passes_into_an_appendix() -> None:
    """What waits at the end of the body stands there."""
    body = Section("One", (*[LINE] * 20, picture("map", 0.9)), "1")
    made = flowed((body, Section("Readings", (LINE,) * 90, "A")), "a4")
    assert isinstance(made[0].blocks[-1], Picture)


@pytest.mark.thorough
def test_figures_stand_between_the_items_of_long_lists() -> None:
    """Five figures before lists of a page each: none strays beyond the section that follows."""
    figures = [picture(f"profile {n}", 0.42) for n in range(5)]
    words = Bullets(("words " * 17,) * 35)
    parts = [Section("Depth", (*[LINE] * 10, *figures), "1")]
    parts += [Section(f"S{n}", (words,), f"{n}") for n in range(2, 9)]
    made = flowed(tuple(parts), "a4")
    held = [sum(isinstance(one, Picture) for one in section.blocks) for section in made]
    assert sum(held[:2]) == 5
    told = [item for one in made[1].blocks if isinstance(one, Bullets) for item in one.items]
    assert told == [*words.items]


def test_a_figure_of_half_a_page_has_text_below_it_before_others_fill_the_next() -> None:
    """Three change maps, of which the first two do not go on one page."""
    figures = [picture(name, share) for name, share in (("a", 0.6), ("b", 0.6), ("c", 0.45))]
    words = Bullets(("words " * 17,) * 60)
    parts = (Section("Drying", (*[LINE] * 30, *figures), "1"), Section("More", (words,), "2"))
    blocks = [one for section in flowed(parts, "a4") for one in section.blocks]
    at = {one.key: k for k, one in enumerate(blocks) if isinstance(one, Picture)}
    told = [one for one in blocks[at["a"] : at["b"]] if isinstance(one, Bullets)]
    assert sum(len(one.items) for one in told) > 3


def test_no_figure_stands_behind_the_signatures() -> None:
    """Who signs has seen all that belongs to the body."""
    body = Section("Set-out", (*[LINE] * 20, picture("map", 0.9)), "1")
    signed = Section("Limits of use", (*[LINE] * 60, Signatures(("Report by",))), "2")
    made = flowed((body, signed), "a4")
    kinds = [type(one) for section in made for one in section.blocks]
    assert kinds.index(Picture) < kinds.index(Signatures)


def test_a_map_does_not_stray_over_sections_to_save_a_quarter_of_a_page() -> None:
    """A table that fills what is left of no page comes first only where the map is still near."""
    rows = (("a",), ("b",), ("c",)) * 12
    parts = [Section("Map", (*[LINE] * 8, picture("map", 0.8)), "1")]
    parts += [
        Section(f"T{n}", (*[LINE] * 4, Table("", (Column("A"),), rows)), f"{n}")
        for n in range(2, 9)
    ]
    made = flowed(tuple(parts), "a4")
    held = [any(isinstance(one, Picture) for one in section.blocks) for section in made]
    assert held.index(True) <= 2


def test_two_high_maps_stand_in_the_section_behind_theirs_at_most() -> None:
    """The second stood four sections further on, so that no page was a quarter empty."""
    maps = (picture("a", 0.74), picture("b", 0.74))
    table = Table("", (Column("A"),), (("a",),) * 38)
    parts = [Section("Map", (*[LINE] * 18, *maps), "1")]
    parts += [Section(f"T{n}", (*[LINE] * 5, table), f"{n}") for n in range(2, 9)]
    made = flowed(tuple(parts), "a4")
    assert sum(isinstance(one, Picture) for part in made[:2] for one in part.blocks) == 2


def test_short_words_stand_with_the_table_they_lead_to() -> None:
    """No heading and one line end a page whose table begins the next."""
    table = Table("Zones", (), ())
    assert stays(Paragraph("Wet level 42: stated by the survey."), table, "a4")
    assert not stays(Paragraph("words " * 60), table, "a4")
    assert stays(Paragraph("words " * 60, "warning"), table, "a4")


BLOCKS = st.one_of(
    st.integers(1, 40).map(lambda n: Paragraph("words " * n * 17)),
    st.tuples(st.floats(0.1, 1.0), st.booleans()).map(
        lambda one: picture("figure", one[0], floats=one[1])
    ),
)


@given(st.lists(st.lists(BLOCKS, max_size=6), min_size=1, max_size=4))
def test_nothing_is_lost_and_figures_keep_their_order(parts: list[list[Block]]) -> None:
    """Texts stay in their sections; the figures of the whole report stay in their order."""
    sections = tuple(Section(f"S{n}", tuple(part), f"{n}") for n, part in enumerate(parts, 1))
    made = flowed(sections, "a4")
    for one, other in zip(sections, made, strict=True):
        texts = [[b for b in s.blocks if not isinstance(b, Picture)] for s in (one, other)]
        assert texts[0] == texts[1]
    given, set_so = (
        [b for s in x for b in s.blocks if isinstance(b, Picture)] for x in (sections, made)
    )
    assert [b.size for b in set_so] == [b.size for b in given]
    for one, other in zip(given, set_so, strict=True):
        assert 0.84 < other.width_mm / room_for(one, "a4")[0] <= 1.0 or other == one


def test_a_figure_stays_with_its_section_and_is_made_smaller_to_fit() -> None:
    """The map of a section stood a page further on, below words of the next."""
    map_of_floor = picture("map", 0.75)
    parts = (
        Section("Map", (*[LINE] * 12, map_of_floor), "1"),
        Section("Tests", (*[LINE] * 70,), "2"),
    )
    made = flowed(parts, "a4")
    (shown,) = [one for one in made[0].blocks if isinstance(one, Picture)]
    assert 0.85 * 174 <= shown.width_mm < 174
    assert made[1] == parts[1]


def test_figures_stand_before_the_tables_of_their_section() -> None:
    """All maps of the drying came behind its tables, and so in the section after it."""
    table = Table("Forecasts", (Column("A"),), (("a",),) * 30)
    figures = tuple(picture(f"{n}", 0.5) for n in range(4))
    parts = (
        Section("Drying", (*[LINE] * 6, table, *figures), "1"),
        Section("Source", (*[LINE] * 70,), "2"),
    )
    made = flowed(parts, "a4")
    assert sum(isinstance(one, Picture) for one in made[0].blocks) == 4


def test_the_contents_know_the_page_of_each_section() -> None:
    """The contents named none until somebody had them worked out anew."""
    sections = tuple(Section(f"S{n}", (*[LINE] * 30,), f"{n}") for n in range(1, 6))
    sections = (replace(sections[0], blocks=(*[LINE] * 5, Contents())), *sections[1:])
    content = Content("Floor", "Survey", "1", (("Made", "today"),), sections, "today")
    assert sheets(content, sections, turns=True) == [1, 2, 2, 3, 4]
    at_once = [f"{n}" for n in sheets(content, sections, turns=False)]
    buffer = io.BytesIO(docx_bytes(content, datetime(2026, 3, 1, tzinfo=UTC)))
    with zipfile.ZipFile(buffer) as whole:
        body = whole.read("word/document.xml").decode()
    lines = re.findall(r"<w:hyperlink .*?</w:hyperlink>", body, re.S)
    told = [re.findall(r"<w:t>(.*?)</w:t>", one) for one in lines]
    assert [one[-1] for one in told] == at_once
    assert all("PAGEREF ref_section_" in one and "<w:tab/>" in one for one in lines)


def test_the_contents_know_a_heading_that_a_figure_pulls_to_its_page() -> None:
    """Words that stay with their figure took the heading along; the contents named the page before.

    The last page of the text is so full that the figure finds no room on it.
    """
    words = Section("Words", (*[LINE] * 30,), "1")
    shown = Section("Set-out", (LINE, picture("set-out", 0.5)), "2")
    content = Content("Floor", "Survey", "1", (("Made", "today"),), (words, shown), "today")
    told = sheets(content, (words, shown), turns=False)
    without = sheets(content, (words, replace(shown, blocks=(LINE,))), turns=False)
    assert [told[1] - without[1], told[0]] == [1, 1]


def test_the_contents_take_a_figure_to_stand_wherever_it_fits() -> None:
    """The room that is left beside figures on purpose moved all pages behind one by one."""
    words, shown = (Section(f"S{n}", (LINE,) * count, f"{n}") for n, count in ((1, 20), (2, 1)))
    content = Content("Floor", "Survey", "1", (("Made", "today"),), (), "today")
    place = Place(1.0, head_mm(content))
    for step in steps((words, shown), "a4"):
        place, _ = text_at(place, step, 0, "a4")
    room = PAGE_MM["a4"] - place.down
    for share, sheet in ((one / 500, _begins(one / 500)) for one in range(150, 290)):
        assert sheet == 1 + (picture_mm(picture("map", share), "a4") > room)


def test_the_space_below_a_table_begins_no_page() -> None:
    """A table that just fitted was thought to go on, with its heading, on the page behind."""
    part = Section("S1", (Table("Visits", (Column("A"),), (("a",),) * 3),), "1")
    *_, step = steps((part,), "a4")
    high = sum(step.laid.parts)
    ends, past = (
        text_at(Place(1.0, PAGE_MM["a4"] - high + more, told=True), step, 0, "a4")[0].sheet
        for more in (0.9 * step.laid.after, 1.1 * step.laid.after)
    )
    assert (ends, past) == (1, 2)


def _begins(share: float) -> int:
    """Return the page of a section of a line and a figure that takes a share of a page's height."""
    sections = (
        Section("S1", (LINE,) * 20, "1"),
        Section("S2", (LINE, picture("map", share)), "2"),
    )
    content = Content("Floor", "Survey", "1", (("Made", "today"),), sections, "today")
    return sheets(content, sections, turns=False)[1]
