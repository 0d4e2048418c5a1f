"""The three documents: whole, tagged, and proof against hostile text."""

import dataclasses
import io
import re
import subprocess
import sys
import zipfile
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import docx
import numpy as np
import pypdf
import pytest
from docx.oxml.ns import qn
from PIL import Image

from moisturemap import store
from moisturemap.bundles import Findings
from moisturemap.errors import FormatError, MissingExtra, OptionError
from moisturemap.report import (
    ReportOptions,
    Supplement,
    photograph,
    photographs_of,
    write_report,
)
from moisturemap.report.content import (
    Column,
    Content,
    Paragraph,
    Picture,
    Section,
    Signatures,
    Table,
)
from moisturemap.report.docx import docx_bytes
from moisturemap.report.plain import breakable, unbroken
from moisturemap.report.reference import numbered

from .hostile import HOSTILE, expected, spoiled, squeezed
from .sheets import children, elements_of

pytestmark = pytest.mark.thorough

SHORT = ReportOptions(all_readings=False)
MADE = datetime(2026, 3, 2, 12, tzinfo=UTC)


def picture(size: tuple[int, int] = (300, 200)) -> Picture:
    """An invented photograph."""
    buffer = io.BytesIO()
    Image.new("RGB", size, (90, 120, 60)).save(buffer, "PNG")
    return Picture(buffer.getvalue(), b"", "a caption", "an alternative", size)


def write(
    findings: Findings, path: Path, options: ReportOptions | None = None, pictures: object = ()
) -> tuple[str, ...]:
    """Write a report; a short one leaves out the decision, whose figures take longest."""
    supplement = Supplement(made=MADE, pictures=pictures, photographs=(picture(),))  # type: ignore[arg-type]
    decision = findings.decision if options is None or options.all_readings else None
    return write_report(
        findings.study, path, decision=decision, options=options, supplement=supplement
    )


@pytest.fixture(scope="module")
def documents(findings: Findings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the report as r.pdf, r.docx and r.html, map included."""
    folder = tmp_path_factory.mktemp("documents")
    for kind in ("pdf", "docx", "html"):
        assert write(findings, folder / f"r.{kind}", pictures=None) == ()
    return folder


def pdf_text(path: Path) -> str:
    return "".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


def docx_text(path: Path) -> str:
    """Everything the document shows, tables and headers too."""
    document = docx.Document(str(path))
    parts = [document.element.body.xml, *(s.header._element.xml for s in document.sections)]
    from lxml import etree

    runs = []
    for part in parts:
        for node in etree.fromstring(part).iter("{*}t", "{*}br"):
            runs.append(node.text or "\n")
    return "".join(runs)


class Shown(HTMLParser):
    """Text, tags and addresses of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.text, self.tags, self.addresses, self.alts = "", [], [], []  # type: ignore[var-annotated]

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.alts += [value for name, value in attrs if name == "alt"]
        self.addresses += [value for name, value in attrs if name in ("src", "href")]


def shown(path: Path) -> Shown:
    page = Shown()
    page.feed(path.read_text(encoding="utf-8"))
    return page


def test_the_pdf_is_tagged_and_for_the_archive(documents: Path) -> None:
    """Marked as tagged, with language, title and the identifiers of PDF/A-2a and PDF/UA-1.

    Identifiers as ISO 19005-2 6.6.4 and ISO 14289-1 5 write them.
    """
    reader = pypdf.PdfReader(documents / "r.pdf")
    catalogue = reader.trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in catalogue
    assert catalogue["/Lang"] == "en"
    metadata = catalogue["/Metadata"].get_object().get_data().decode()
    assert re.search(r"pdfaid:part>2<", metadata)
    assert re.search(r"pdfaid:conformance>A<", metadata)
    assert re.search(r"pdfuaid:part>1<", metadata)
    assert reader.metadata is not None
    assert reader.metadata.title == "Invented store"


def test_a_checker_of_pdf_ua_finds_nothing(documents: Path) -> None:
    """By pdfua: 16 of the 106 rules of PDF/UA-1 that machines can check."""
    pytest.importorskip("pdfua", reason="needs the checker of PDF/UA")
    command = [sys.executable, "-m", "pdfua", "check", "--format", "json", str(documents / "r.pdf")]
    checked = subprocess.run(command, capture_output=True, text=True, check=False)
    assert checked.returncode == 0, checked.stdout


def test_the_grid_of_every_table_of_the_pdf_closes(documents: Path) -> None:
    """Cells with their spans fill every row alike (ISO 32000-1 14.8.5.7; ISO 14289-1 7.5)."""
    root = pypdf.PdfReader(documents / "r.pdf").trailer["/Root"]["/StructTreeRoot"]
    tables = [one for one in elements_of(root) if one["/S"] == "/Table"]
    assert len(tables) > 8
    for table in tables:
        over: dict[int, int] = {}
        widths = set()
        for at, row in enumerate(one for one in elements_of(table) if one["/S"] == "/TR"):
            width = over.pop(at, 0)
            for cell in children(row):
                across, down = _spans(cell)
                width += across
                for below in range(at + 1, at + down):
                    over[below] = over.get(below, 0) + across
            widths.add(width)
        assert len(widths) == 1
        assert not over


def _spans(cell: Any) -> tuple[int, int]:
    """Return how many columns and rows a cell of a tagged PDF takes."""
    given = cell.get("/A", {})
    attributes = given if isinstance(given, list) else [given]
    own = [one.get_object() for one in attributes]
    found = next((one for one in own if one.get("/O") == "/Table"), {})
    return int(found.get("/ColSpan", 1)), int(found.get("/RowSpan", 1))


def test_fingerprints_can_be_copied_from_the_pdf(documents: Path) -> None:
    """Nothing stands between their figures."""
    assert "ab" * 32 in pdf_text(documents / "r.pdf")


def test_every_font_of_the_pdf_is_inside(documents: Path) -> None:
    """And it is the one whose licence comes with it."""
    names = set()
    for page in pypdf.PdfReader(documents / "r.pdf").pages:
        for font in page["/Resources"].get("/Font", {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(inner["/FontDescriptor"].get_object())
            names.add(inner["/BaseFont"].split("+")[1])
    assert names <= {"DejaVuSans", "DejaVuSans-Bold"}
    from moisturemap.report.pdf import font_folder

    assert (font_folder() / "LICENSE_DEJAVU").is_file()


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_sheets_have_the_paper_asked_for(
    findings: Findings, tmp_path: Path, paper: str, size: tuple[int, int]
) -> None:
    """PDF and DOCX, also with a wide picture."""
    options = dataclasses.replace(SHORT, paper=paper)
    wide = (picture((1600, 400)),)
    for kind in ("pdf", "docx"):
        write(findings, tmp_path / f"r.{kind}", options, wide)
    pages = pypdf.PdfReader(tmp_path / "r.pdf").pages
    sizes = [(round(float(p.mediabox.width)), round(float(p.mediabox.height))) for p in pages]
    assert set(sizes) == {size}
    sections = docx.Document(str(tmp_path / "r.docx")).sections
    found = [(round(s.page_width.pt), round(s.page_height.pt)) for s in sections]  # type: ignore[union-attr]
    assert found == [size]


def test_the_same_report_gives_the_same_bytes(findings: Findings, tmp_path: Path) -> None:
    """PDF and HTML; so that a copy can be told from a new issue."""
    for kind in ("pdf", "html"):
        for name in ("one", "two"):
            write(findings, tmp_path / f"{name}.{kind}", SHORT)
        assert (tmp_path / f"one.{kind}").read_bytes() == (tmp_path / f"two.{kind}").read_bytes()


def test_every_sheet_of_the_pdf_carries_number_and_count(
    findings: Findings, tmp_path: Path
) -> None:
    """So that no sheet can be exchanged unnoticed."""
    write(findings, tmp_path / "r.pdf", ReportOptions(number="R-77"))
    pages = pypdf.PdfReader(tmp_path / "r.pdf").pages
    for at, page in enumerate(pages, 1):
        assert "Report R-77" in page.extract_text()
        assert f"Sheet {at} of {len(pages)}" in page.extract_text()


def test_hostile_text_stays_text(findings: Findings, tmp_path: Path) -> None:
    """In PDF, DOCX and HTML alike, to the last character."""
    every = {name: text for name, text in HOSTILE.items() if name not in ("emoji", "long")}
    bad = spoiled(findings, " | ".join(every.values()))
    for kind in ("pdf", "docx", "html"):
        write(bad, tmp_path / f"r.{kind}", SHORT)
    page = shown(tmp_path / "r.html")
    found = {
        "pdf": pdf_text(tmp_path / "r.pdf"),
        "docx": docx_text(tmp_path / "r.docx"),
        "html": page.text,
    }
    for kind, text in found.items():
        for name, one in every.items():
            if (kind, name) != ("pdf", "right-to-left"):  # there in the order it is drawn
                assert expected(one) in squeezed(text), (kind, name)
    assert {"script", "b", "iframe", "object"} & set(page.tags) == set()


def test_a_long_name_is_kept_over_several_sheets(findings: Findings, tmp_path: Path) -> None:
    """Every one of its ten thousand letters, none of them beyond the edge of the sheet."""
    long = HOSTILE["long"]
    survey = dataclasses.replace(findings.survey, details={"client": long})
    study = dataclasses.replace(findings.study, survey=survey)
    write(dataclasses.replace(findings, study=study), tmp_path / "r.pdf", SHORT)
    pages = pypdf.PdfReader(tmp_path / "r.pdf").pages
    edge = float(pages[0].mediabox.width)
    letters, beyond = 0, []

    def look(text: str, _: object, matrix: list[float], *__: object) -> None:
        nonlocal letters
        letters += text.count("n")
        if text.strip() and not 0 <= matrix[4] < edge:
            beyond.append(matrix[4])

    for page in pages:
        page.extract_text(visitor_text=look)
    assert letters > len(long)
    assert beyond == []


def test_a_character_the_font_lacks_is_named(findings: Findings, tmp_path: Path) -> None:
    """The report is written all the same, as plain tagged PDF."""
    bad = spoiled(findings, HOSTILE["emoji"])
    (note,) = write(bad, tmp_path / "r.pdf", SHORT)
    assert "lacks" in note
    assert "\U0001f4a7" in note or "1f4a7" in note.lower()
    assert "plain tagged PDF" in note
    catalogue = pypdf.PdfReader(tmp_path / "r.pdf").trailer["/Root"]
    assert "/StructTreeRoot" in catalogue
    assert write(bad, tmp_path / "plain.pdf", ReportOptions(pdf="plain", all_readings=False)) == ()
    for kind in ("docx", "html"):
        write(bad, tmp_path / f"r.{kind}", SHORT)
    assert HOSTILE["emoji"] in docx_text(tmp_path / "r.docx")
    assert HOSTILE["emoji"] in shown(tmp_path / "r.html").text


def data_tables(document: Any) -> list[Any]:
    """Return the tables of a document but for lines to sign that stand beside each other."""
    return [one for one in document.tables if one.style.name == "Report Table"]


def test_tables_of_the_docx_are_real(documents: Path) -> None:
    """With a heading row that repeats, and editable cells."""
    document = docx.Document(str(documents / "r.docx"))
    tables = data_tables(document)
    assert len(tables) > 8
    for table in tables:
        assert "w:tblHeader" in table.rows[0]._tr.xml
        assert len(table.columns) == len(table.rows[0].cells)
    assert tables[0].rows[0].cells[0].paragraphs[0].runs[0].bold


def test_numbers_of_the_docx_stay_with_their_units(documents: Path) -> None:
    """No line of a table or a text ends between them, as on the typeset sheet."""
    text = docx_text(documents / "r.docx")
    assert re.search(r"\d\u00a0(?:%RH|°C|mm|m2)", text)
    assert not re.search(r"\d (?:%RH|°C|mm\b|m2\b)", text)


def test_pictures_of_the_docx_speak_and_keep_their_vectors(documents: Path) -> None:
    """Alternative text on each, the map as vectors beside its pixels."""
    document = docx.Document(str(documents / "r.docx"))
    shapes = document.inline_shapes
    assert len(shapes) >= 2
    assert all(shape._inline.docPr.get("descr") for shape in shapes)
    with zipfile.ZipFile(documents / "r.docx") as package:
        names = package.namelist()
        types = package.read("[Content_Types].xml").decode()
    assert [name for name in names if name.endswith(".svg")]
    assert "image/svg+xml" in types


def test_the_page_loads_nothing_and_runs_nothing(documents: Path) -> None:
    """One file: pictures inside, links within, no script."""
    page = shown(documents / "r.html")
    assert all(address.startswith(("data:image/", "#")) for address in page.addresses)
    assert "script" not in page.tags
    assert all(page.alts)
    assert page.tags.count("h1") == 1
    assert "default-src 'none'" in (documents / "r.html").read_text()


def test_the_caution_of_relative_readings_stands_below_them_alone(documents: Path) -> None:
    """It stood below tests, depth profiles, the air and set-outs, of which it is untrue."""
    page = (documents / "r.html").read_text(encoding="utf-8")
    told = dict(
        re.findall(r'<figure id="([^"]*)".*?<figcaption dir="auto"( data-foot)?', page, re.S)
    )
    assert {key for key, foot in told.items() if foot} == {"small-map", "map"}
    assert {"tests-map", "set-out-1", "map-check"} <= set(told)


def test_a_logo_is_taken_and_a_wrong_one_refused(findings: Findings, tmp_path: Path) -> None:
    """PNG or JPEG by content."""
    (tmp_path / "logo.png").write_bytes(picture().png)
    (tmp_path / "bad.png").write_bytes(b"<svg/>")
    for kind in ("pdf", "docx", "html"):
        write(findings, tmp_path / f"r.{kind}", ReportOptions(logo=tmp_path / "logo.png"))
        for wrong in ("bad.png", "none.png"):
            with pytest.raises(FormatError, match=r"PNG or JPEG|JPEG or PNG|a PNG"):
                write(findings, tmp_path / f"x.{kind}", ReportOptions(logo=tmp_path / wrong))
            assert not (tmp_path / f"x.{kind}").exists()


def test_photographs_of_a_project_say_what_they_show(tmp_path: Path) -> None:
    """Name, what of, note and time; documents among the attachments are left out."""
    with store.create_project(tmp_path / "job.gpkg", "Invented", "A. Tester") as project:
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = "2026:03:01 10:15:00"
        buffer = io.BytesIO()
        Image.new("RGB", (60, 40)).save(buffer, "JPEG", exif=exif)
        with project.change("A", "test") as made:
            made.add("visits", [{"id": "v1", "operator": "A"}])
            made.add("tests", [{"test": 1, "visit": "v1", "hole": "H1"}])
        project.attach(buffer.getvalue(), "A", name="1.jpg", of=("tests", "1"), note="sleeve")
        project.attach(b"%PDF-1.7 certificate", "A", name="c.pdf")
        (found,) = photographs_of(project)
    assert found.caption == "Hole H1, sleeve, taken 2026-03-01 10:15, file 1.jpg"
    assert found.size == (60, 40)


@pytest.mark.parametrize(("note", "told"), [("Test H1", ""), ("sleeve of H1", ", sleeve of H1")])
def test_photographs_of_a_renamed_test_bear_its_name_of_now(
    tmp_path: Path, note: str, told: str
) -> None:
    """The name the page kept beside a photograph is dropped, words of a person stay."""
    buffer = io.BytesIO()
    Image.new("RGB", (60, 40)).save(buffer, "JPEG")
    with store.create_project(tmp_path / "job.gpkg", "Invented", "A. Tester") as project:
        visit = {"id": "v1", "operator": "A"}
        with project.change("A", "visit") as made:
            made.add("visits", [visit])
        with project.change("A", "test") as made:
            (fid,) = made.add("tests", [{"test": 1, "visit": "v1", "hole": "H1"}])
        project.attach(buffer.getvalue(), "A", name="1.jpg", of=("tests", str(fid)), note=note)
        with project.change("A", "misread") as made:
            made.correct("tests", fid, {"hole": "H9"})
        (found,) = photographs_of(project)
    assert found.caption == f"Hole H9{told}, file 1.jpg"


def test_photographs_lose_what_hides_beside_the_picture() -> None:
    """Place, owner and remarks of the camera stay out of a document that is sent on."""
    exif = Image.Exif()
    exif[0x010F] = "Maker of nobody"
    buffer = io.BytesIO()
    Image.new("RGB", (60, 40)).save(buffer, "JPEG", exif=exif)
    assert b"nobody" in buffer.getvalue()
    assert b"nobody" not in photograph(buffer.getvalue(), "a photograph").png


def test_a_photograph_of_16_bits_keeps_its_greys() -> None:
    """It came out white: its values were cut off at those of 8 bits."""
    grey = np.linspace(0, 65535, 64 * 64).reshape(64, 64).astype(np.uint16)
    buffer = io.BytesIO()
    Image.fromarray(grey).save(buffer, "PNG")
    shown = Image.open(io.BytesIO(photograph(buffer.getvalue(), "hole").png)).convert("L")
    assert np.abs(np.asarray(shown) - grey / 257.0).max() <= 1


def test_rows_of_the_docx_stay_together(documents: Path) -> None:
    """The heading with two rows, and the last two with the note below them, if any."""
    for table in data_tables(docx.Document(str(documents / "r.docx"))):
        rows = table._tbl.tr_lst
        kept = [bool(row.xpath(".//w:keepNext")) for row in rows]
        note = table._tbl.getnext().xpath("string()")
        assert kept[-1] == (bool(note) or rows[0].xpath("string()").startswith("ReportIssued"))
        assert kept[0]
        assert kept[-2]
        assert kept[1] or len(rows) == 2


def test_another_suffix_is_refused(findings: Findings, tmp_path: Path) -> None:
    """With those that are written."""
    with pytest.raises(OptionError, match=r"\.pdf, \.docx, \.html"):
        write_report(findings.study, tmp_path / "r.odt")


@pytest.mark.parametrize(("module", "kind"), [("typst", "pdf"), ("docx", "docx")])
def test_a_missing_part_says_what_to_install(
    findings: Findings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: str, kind: str
) -> None:
    """And leaves no file behind."""
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(MissingExtra, match=r"moisturemap\[report\]"):
        write(findings, tmp_path / f"r.{kind}")
    assert list(tmp_path.iterdir()) == []


def test_numbers_of_the_docx_keep_their_sign() -> None:
    """A word processor ends a line behind a hyphen, and -1.8 would be read as 1.8."""
    table = Table("t", (Column("Change", 1),), (("-1.8 ± 1.5",),))
    said = Paragraph("H-3 of 2026-03-05 read -1.8 (-4.3 to +0.8), 90-%-Intervall")
    content = Content("t", "", "", (), tuple(numbered([Section("S", (said, table))])), "")
    told = docx.Document(io.BytesIO(docx_bytes(content, MADE)))
    day = "2026\u201103\u201105"
    line = f"H\u20113 of {day} read \u22121.8 (\u22124.3 to +0.8), 90\u2011%\u2011Intervall"
    assert line in [one.text for one in told.paragraphs]
    assert told.tables[0].cell(1, 0).text.startswith("\u22121.8")


def test_days_do_not_break_over_lines() -> None:
    """In narrow columns of the DOCX a line ended within the day of a test."""
    assert unbroken("read 2026-05-18 08:30") == "read 2026\u201105\u201118\u00a008:30"
    assert unbroken("March 9, 2026") == "March\u00a09,\u00a02026"
    assert unbroken("9 March 2026") == "9\u00a0March\u00a02026"
    assert breakable("read 2026-05-18") == "read 2026-05-18"  # searched for in the PDF


def test_lines_to_sign_stand_with_what_is_signed() -> None:
    """The table of revisions before them moves to their page, none of it is left behind."""
    table = Table("Revisions", (Column("Report", 1),), tuple((f"r{k}",) for k in range(3)))
    blocks = (Paragraph("As read."), table, Signatures(("Report by", "Checked by")))
    content = Content("t", "", "", (), tuple(numbered([Section("Limits", blocks)])), "")
    body = docx.Document(io.BytesIO(docx_bytes(content, MADE))).element.body
    drawn, lines = body.findall(qn("w:tbl"))
    behind = drawn.getnext()
    assert all(one.find(f".//{qn('w:keepNext')}") is not None for one in (*drawn.tr_lst, behind))
    assert behind.getnext() is lines


def test_lines_to_sign_stand_beside_each_other_with_the_last_words() -> None:
    """As on a typeset sheet: below each other they stood alone on a third sheet of two."""
    blocks = (Paragraph("As read."), Signatures(("Surveyed by", "Report by", "Received by")))
    content = Content("t", "", "", (), tuple(numbered([Section("Limits", blocks)])), "")
    told = docx.Document(io.BytesIO(docx_bytes(content, MADE)))
    (words,) = [one for one in told.paragraphs if one.text == "As read."]
    assert words.paragraph_format.keep_with_next
    (lines,) = told.tables
    assert [cell.text.split(":")[0] for cell in lines.rows[0].cells] == [*blocks[1].roles]
    assert {cell.paragraphs[0].style.name for cell in lines.rows[0].cells} == {"Signature Line"}


def test_what_a_docx_is_about_stands_two_abreast_where_it_is_short() -> None:
    """A long line has the width of the page, and all others too."""
    about = (("Report", "v1"), ("Made", "2026-03-01"), ("Surveyed by", "A. Tester"))
    for rows, told in (
        (about, ["Report: v1\tSurveyed by: A. Tester", "Made: 2026-03-01"]),
        (
            (*about[:2], ("Visit", "v1 " * 40)),
            [f"{a}: {b}" for a, b in (*about[:2], ("Visit", "v1 " * 40))],
        ),
    ):
        content = Content("t", "", "", rows, (), "")
        found = docx.Document(io.BytesIO(docx_bytes(content, MADE))).paragraphs
        terms = [one.text for one in found if one.style.name == "Term"]
        assert [one.replace("\u2011", "-") for one in terms] == told


def test_what_a_pen_fills_in_is_a_box_in_the_docx() -> None:
    """A column without a word has lines at its sides, its heading has none."""
    columns = (Column("Caution", 3), Column("Name", 1))
    table = Table("Cautions", columns, (("Locate pipes.", ""), ("Wear a mask.", "")))
    content = Content("t", "", "", (), tuple(numbered([Section("Cautions", (table,))])), "")
    (drawn,) = docx.Document(io.BytesIO(docx_bytes(content, MADE))).tables
    boxed = [
        [cell._tc.find(f".//{qn('w:tcBorders')}") is not None for cell in row.cells]
        for row in drawn.rows
    ]
    assert boxed == [[False, False], [False, True], [False, True]]


def test_no_empty_line_of_the_docx_can_begin_a_sheet(documents: Path) -> None:
    """What parts a table without a note from the next block takes next to no room."""
    found = docx.Document(str(documents / "r.docx")).paragraphs
    empty = [one for one in found if one.style.name == "Note" and not one.text]
    assert empty
    assert all(one.paragraph_format.line_spacing == docx.shared.Pt(1) for one in empty)
