"""The look of the word-processor document: page, type, headers and footers."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from docx.enum.style import WD_STYLE_TYPE
from docx.enum.text import WD_TAB_ALIGNMENT
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Mm, Pt, RGBColor

from moisturemap.language import spoken
from moisturemap.report.content import Content
from moisturemap.report.docx_field import field
from moisturemap.report.docx_type import FRAME_GAP, FRAMES, LINE_SPACING, STYLES, Frame
from moisturemap.report.wording import printable, shortened

FONT = "Arial"
INK, MUTED = RGBColor(0x1C, 0x23, 0x29), RGBColor(0x4F, 0x5A, 0x62)
MARGIN, FOOTER = Mm(18), Mm(9)
LOCALES = {"en": "en-GB", "de": "de-DE"}
"""Language and country a word processor checks the spelling by."""

SIZES = {"a4": (Mm(210), Mm(297)), "us-letter": (Mm(215.9), Mm(279.4))}


def prepare(document: Any, content: Content, made: datetime) -> None:
    """Set page, properties, styles, header and footer."""
    about = document.core_properties
    about.title, about.subject = printable(content.title)[:250], content.subtitle
    about.author, about.comments, about.language = "", "", LOCALES[content.language]
    about.created = about.modified = made.astimezone(UTC).replace(tzinfo=None, microsecond=0)
    section = document.sections[0]
    section.page_width, section.page_height = SIZES[content.paper]
    section.left_margin = section.right_margin = section.bottom_margin = MARGIN
    section.top_margin, section.footer_distance = Mm(20), FOOTER
    for name in STYLES:
        _style(document, name)
    for name, frame in FRAMES.items():
        _frame(document.styles[name], frame)
    _number_headings(document)
    _table_style(document)
    _language(document, LOCALES[content.language])
    _drop_thumbnail(document)
    _header_and_footer(document, content)


def _style(document: Any, name: str) -> None:
    size, bold, muted, before, after, keep = STYLES[name]
    known = [style.name for style in document.styles]
    style = (
        document.styles[name]
        if name in known
        else document.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
    )
    style.font.name, style.font.size, style.font.bold = FONT, Pt(size), bold
    style.font.italic, style.font.color.rgb = False, MUTED if muted else INK
    fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
    for theme in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
        fonts.attrib.pop(qn(f"w:{theme}"), None)
    for script in ("ascii", "hAnsi", "cs", "eastAsia"):
        fonts.set(qn(f"w:{script}"), FONT)
    layout = style.paragraph_format
    layout.space_before, layout.space_after = Pt(before), Pt(after)
    layout.keep_with_next, layout.widow_control = keep, True
    layout.line_spacing = LINE_SPACING
    old = style.element.pPr.find(qn("w:pBdr"))
    if old is not None:
        style.element.pPr.remove(old)
    if name == "Term":
        layout.left_indent, layout.first_line_indent = Mm(5), -Mm(5)


def _frame(style: Any, frame: Frame) -> None:
    """Draw lines beside a style's paragraphs, none of them beyond the margins of the page."""
    lines = "".join(
        f'<w:{side} w:val="single" w:sz="{8 * frame.thick:.0f}" w:space="{FRAME_GAP}" '
        'w:color="1C2329"/>'
        for side in frame.sides.split()
    )
    layout = style.paragraph_format
    layout.left_indent, layout.right_indent = Pt(frame.inset("left")), Pt(frame.inset("right"))
    properties = style.element.get_or_add_pPr()
    border = parse_xml(f"<w:pBdr {nsdecls('w')}>{lines}</w:pBdr>")
    _insert_in_order(properties, border)
    if frame.fill:
        xml = f'<w:shd {nsdecls("w")} w:val="clear" w:color="auto" w:fill="{frame.fill}"/>'
        _insert_in_order(properties, parse_xml(xml))


_ORDER = (
    "pStyle",
    "keepNext",
    "keepLines",
    "pageBreakBefore",
    "framePr",
    "widowControl",
    "numPr",
    "suppressLineNumbers",
    "pBdr",
    "shd",
    "tabs",
)


def _insert_in_order(properties: Any, element: Any) -> None:
    """Insert a paragraph property where the schema wants it (ISO/IEC 29500-1, CT_PPrBase)."""
    name = element.tag.split("}")[1]
    before = {qn(f"w:{one}") for one in _ORDER[: _ORDER.index(name)]}
    at = sum(1 for child in properties if child.tag in before)
    properties.insert(at, element)


def _header_and_footer(document: Any, content: Content) -> None:
    section = document.sections[0]
    right = section.page_width - 2 * MARGIN
    head, foot = section.header.paragraphs[0], section.footer.paragraphs[0]
    head.add_run(printable(shortened(content.title, 60)))
    head.add_run(f"\t{spoken('Report')} {printable(shortened(content.number, 40))}")
    foot.add_run(f"{content.foot}\t{spoken('Sheet')} ")
    field(foot, "PAGE", "1")
    foot.add_run(f" {spoken('of')} ")
    field(foot, "NUMPAGES", "1")
    for paragraph in (head, foot):
        stops = paragraph.paragraph_format.tab_stops
        stops.add_tab_stop(right, WD_TAB_ALIGNMENT.RIGHT)
        for run in paragraph.runs:
            run.font.size, run.font.color.rgb, run.font.name = Pt(7.5), MUTED, FONT
        # The built-in header style has stops of its own in the middle and beyond.
        paragraph.style = document.styles["Normal"]


def _number_headings(document: Any) -> None:
    """Let the program number headings: sections 1, 2, 3, appendices A, B, C."""
    numbering = document.part.numbering_part.element
    for number, (style, kind) in enumerate(
        (("Heading1", "decimal"), ("AppendixHeading", "upperLetter")), start=901
    ):
        abstract = parse_xml(
            f'<w:abstractNum {nsdecls("w")} w:abstractNumId="{number}">'
            '<w:multiLevelType w:val="singleLevel"/><w:lvl w:ilvl="0"><w:start w:val="1"/>'
            f'<w:numFmt w:val="{kind}"/><w:pStyle w:val="{style}"/><w:suff w:val="space"/>'
            '<w:lvlText w:val="%1 "/><w:lvlJc w:val="left"/>'
            '<w:pPr><w:ind w:left="0" w:firstLine="0"/></w:pPr></w:lvl></w:abstractNum>'
        )
        numbering.insert(0, abstract)  # the schema wants these before all numbers
        numbering.append(
            parse_xml(
                f'<w:num {nsdecls("w")} w:numId="{number}">'
                f'<w:abstractNumId w:val="{number}"/></w:num>'
            )
        )
        properties = document.styles[_NUMBERED[style]].element.get_or_add_pPr()
        chosen = parse_xml(f'<w:numPr {nsdecls("w")}><w:numId w:val="{number}"/></w:numPr>')
        _insert_in_order(properties, chosen)


_NUMBERED = {"Heading1": "Heading 1", "AppendixHeading": "Appendix Heading"}


def _table_style(document: Any) -> None:
    """Add the style of tables."""
    document.styles.element.append(
        parse_xml(
            f'<w:style {nsdecls("w")} w:type="table" w:customStyle="1" w:styleId="ReportTable">'
            '<w:name w:val="Report Table"/><w:basedOn w:val="TableNormal"/><w:qFormat/>'
            '<w:tblPr><w:tblBorders><w:top w:val="single" w:sz="8" w:space="0" w:color="1C2329"/>'
            '<w:bottom w:val="single" w:sz="4" w:space="0" w:color="9AA4AC"/>'
            '<w:insideH w:val="single" w:sz="4" w:space="0" w:color="9AA4AC"/></w:tblBorders>'
            "</w:tblPr></w:style>"
        )
    )


def _language(document: Any, language: str) -> None:
    for chosen in document.styles.element.iter(qn("w:lang")):
        chosen.set(qn("w:val"), language)


def _drop_thumbnail(document: Any) -> None:
    """Take the picture of the template's first page out of the file."""
    package = document.part.package
    for name, link in list(package.rels.items()):
        if link.reltype.endswith("/thumbnail"):
            del package.rels[name]
