"""Pictures of the word-processor document: alternative text, and vectors beside the pixels."""

from __future__ import annotations

from typing import Any

from docx.opc.packuri import PackURI
from docx.opc.part import Part
from docx.oxml import parse_xml

_DRAWING = "http://schemas.openxmlformats.org/drawingml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_VECTORS = "http://schemas.microsoft.com/office/drawing/2016/SVG/main"
_VECTOR_EXTENSION = "{96DAC541-7B7A-43D3-8B79-37D633B846F1}"


def describe(shape: Any, alt: str) -> None:
    """Give a picture its alternative text, and no space round it."""
    properties = shape._inline.docPr
    properties.set("descr", alt)
    properties.set("name", "Picture")
    for side in ("distT", "distB", "distL", "distR"):
        shape._inline.set(side, "0")


def link_vectors(document: Any, shape: Any, svg: bytes) -> None:
    """Add the drawing as vectors; programs that cannot show them show the pixels."""
    package = document.part.package
    count = sum(1 for part in package.iter_parts() if part.partname.endswith(".svg"))
    name = PackURI(f"/word/media/drawing{count + 1}.svg")
    part = Part(name, "image/svg+xml", svg, package)
    link = document.part.relate_to(part, f"{_OFFICE}/image")
    (pixels,) = shape._inline.iter(f"{{{_DRAWING}}}blip")
    pixels.append(
        parse_xml(
            f'<a:extLst xmlns:a="{_DRAWING}"><a:ext uri="{_VECTOR_EXTENSION}">'
            f'<asvg:svgBlip xmlns:asvg="{_VECTORS}" xmlns:r="{_OFFICE}" r:embed="{link}"/>'
            "</a:ext></a:extLst>"
        )
    )
