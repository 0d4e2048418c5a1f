"""The picture a plan is traced over: kept, stripped, placed, and seen from straight above."""

from __future__ import annotations

import io
import json
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw
from starlette.testclient import TestClient

from moisturemap.entry.backdrop import Rectangle, carried, homography, straighten
from moisturemap.errors import OptionError

from .conftest import WHO

CAMERA = np.array([[0.9, 0.18, 60.0], [-0.06, 0.7, 90.0], [-0.00012, 0.0009, 1.0]])
"""An invented camera: from millimetres of a sheet (v down) to pixels."""


def _jpeg(picture: Image.Image, **more: Any) -> bytes:
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=95, **more)
    return buffer.getvalue()


def _slanted() -> tuple[bytes, np.ndarray]:
    """A sheet of 800 x 500 mm with a dot at (600, 150), photographed at a slant."""
    sheet = Image.new("RGB", (800, 500), "white")
    ImageDraw.Draw(sheet).ellipse([594, 144, 606, 156], fill="black")
    back = np.linalg.inv(CAMERA)
    back /= back[2, 2]
    shot = sheet.transform(
        (900, 520),
        Image.Transform.PERSPECTIVE,
        tuple(back.ravel()[:8]),
        resample=Image.Resampling.BICUBIC,
        fillcolor="grey",
    )
    return _jpeg(shot), carried(CAMERA, [(0, 500), (800, 500), (800, 0), (0, 0)])


def _keep(client: TestClient, job: str, name: str, content: bytes, **data: Any) -> Any:
    files = {"file": (name, content)}
    return client.post(f"{job}/backdrop/pictures", data={"who": WHO, **data}, files=files)


def _placed(kept: dict[str, Any], **more: Any) -> dict[str, Any]:
    own = {name: kept[name] for name in ("photo", "name", "width", "height")}
    return {**own, "placed": [0.01, 0.0, 0.0, 6.0], "scaled": True, **more}


def test_a_homography_by_hand() -> None:
    """The unit square to a trapezium whose sides meet at (1, 2): Hartley & Zisserman, section 2.3.

    With H = [[2, 1, 0], [0, 2, 0], [0, 1, 1]] the corners go to (0, 0), (2, 0), (1.5, 1), (0.5, 1)
    by hand, and the middle (0.5, 0.5), where the diagonals cross, to (1, 2/3).
    """
    h = homography([(0, 0), (1, 0), (1, 1), (0, 1)], [(0, 0), (2, 0), (1.5, 1), (0.5, 1)])
    assert h == pytest.approx(np.array([[2, 1, 0], [0, 2, 0], [0, 1, 1]]), abs=1e-12)
    assert carried(h, [(0.5, 0.5)])[0] == pytest.approx([1.0, 2 / 3])


def test_a_slanted_sheet_is_measured_as_it_is() -> None:
    """Any place of the sheet lies where it lies on the sheet, not only the four corners."""
    _, corners = _slanted()
    above = straighten(Rectangle(tuple(map(tuple, corners)), (0.8, 0.5)), 900, 520)
    to_above = np.linalg.inv(above.to_picture)
    dot = carried(to_above, carried(CAMERA, [(600, 150)]))[0]
    first = np.array(above.first)
    east, south = (dot - first) * above.pixel_m
    assert (east, -south) == pytest.approx((0.6, 0.35), abs=1e-9)
    # root mean square at the worst place in sight over 4,000 draws of taps 3 pixels beside
    assert above.error_m == pytest.approx(0.135, rel=0.1)


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        (((0, 0), (100, 100), (100, 0), (0, 100)), "round a rectangle"),
        (((0, 0), (50, 0), (100, 0), (0, 100)), "round a rectangle"),
        (((0, 0), (9, 0), (9, 9), (0, 9)), "too small"),
    ],
)
def test_corners_of_no_rectangle_are_refused(corners: Any, words: str) -> None:
    """Crossed, in one line, or too near each other to tell the slant."""
    with pytest.raises(OptionError, match=words):
        straighten(Rectangle(corners, (4.0, 3.0)), 640, 480)


def test_a_picture_is_kept_and_drawn_from_above(client: TestClient, job: str) -> None:
    """The dot of the slanted sheet is found where it belongs in the picture drawn anew."""
    content, corners = _slanted()
    kept = _keep(client, job, "sheet.jpg", content).json()
    assert (kept["width"], kept["height"], kept["pages"]) == (900, 520, 1)
    rectangle = {"corners": corners.tolist(), "sides": [0.8, 0.5]}
    at = f"{job}/backdrop/pictures/{kept['photo']}"
    known = client.post(f"{at}/straightened", json=rectangle).json()
    drawn = client.get(at, params={"rectangle": json.dumps(rectangle)})
    picture = np.asarray(Image.open(io.BytesIO(drawn.content)).convert("L"))
    assert picture.shape == (known["height"], known["width"])
    left, bottom = known["first"]
    right, top = left + 0.8 / known["pixel_m"], bottom - 0.5 / known["pixel_m"]
    sheet = picture[int(top) + 3 : int(bottom) - 3, int(left) + 3 : int(right) - 3]
    down, across = np.nonzero(sheet < 100)
    assert (across.mean() + 3.5) * known["pixel_m"] == pytest.approx(0.6, abs=0.003)
    assert (down.mean() + 3.5) * known["pixel_m"] == pytest.approx(0.15, abs=0.003)
    put = {"backdrop": _placed(kept, rectangle=rectangle), "who": WHO}
    assert client.put(f"{job}/backdrop", json=put).status_code == 200
    assert client.get(f"{job}/backdrop").json()["backdrop"]["rectangle"] == rectangle
    assert client.put(f"{job}/backdrop", json={"backdrop": None, "who": WHO}).status_code == 200
    assert client.get(f"{job}/backdrop").json() == {"backdrop": None}
    assert client.get(at).status_code == 200, "undo finds the picture again"


def test_where_a_picture_was_taken_is_not_kept(client: TestClient, job: str) -> None:
    """Position and maker go, the way up stays; it is no photograph for the report."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = "Maker of cameras", 6
    exif.get_ifd(0x8825)[1] = "N"
    content = _jpeg(Image.new("RGB", (80, 60), "white"), exif=exif)
    assert b"Maker of cameras" in content
    kept = _keep(client, job, "plan.jpg", content).json()
    assert (kept["width"], kept["height"]) == (60, 80)
    back = client.get(f"{job}/backdrop/pictures/{kept['photo']}").content
    assert b"Maker of cameras" not in back
    assert not Image.open(io.BytesIO(back)).getexif().get_ifd(0x8825)
    assert client.get(f"{job}/photos").json()["photos"] == []


def test_other_pictures_are_made_ones_a_browser_shows(client: TestClient, job: str) -> None:
    """A scan as TIFF with transparent paper is kept as PNG on white."""
    buffer = io.BytesIO()
    Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(buffer, "TIFF")
    kept = _keep(client, job, "scan.tif", buffer.getvalue()).json()
    answer = client.get(f"{job}/backdrop/pictures/{kept['photo']}")
    assert answer.headers["content-type"] == "image/png"
    assert Image.open(io.BytesIO(answer.content)).getpixel((3, 3)) == (255, 255, 255)


def test_a_page_of_a_document_is_traced_over(client: TestClient, job: str) -> None:
    """The second of two A4 pages: its pixels have their size on the sheet."""
    pdfium = pytest.importorskip("pypdfium2", reason="needs the extra pdf")
    document = pdfium.PdfDocument.new()
    for size in ((200, 200), (841.89, 595.276)):
        document.new_page(*size)
    buffer = io.BytesIO()
    document.save(buffer)
    content = buffer.getvalue()
    shown = client.post("/api/preview/page", files={"file": ("plan.pdf", content)}).json()
    assert shown["pages"] == 2
    kept = _keep(client, job, "plan.pdf", content, page=2).json()
    assert kept["sheet_mm_per_pixel"] * kept["width"] == pytest.approx(297.0, abs=0.2)  # ISO 216 A4
    assert kept["sheet_mm_per_pixel"] * kept["height"] == pytest.approx(210.0, abs=0.2)
    refused = _keep(client, job, "plan.pdf", content, page=3)
    assert refused.status_code == 422
    assert "1 to 2" in refused.json()["message"]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("plan.jpg", b"no picture", "no picture that is read here"),
        ("plan.png", b"", "empty"),
        ("plan.pdf", b"%PDF-1.7 broken", "damaged"),
        ("plan.heic", b"x", ".jpg"),
    ],
)
def test_what_is_no_picture_is_refused_in_words(
    client: TestClient, job: str, name: str, content: bytes, words: str
) -> None:
    """The words name what is taken."""
    answer = _keep(client, job, name, content)
    assert answer.status_code == 422
    assert words in answer.json()["message"]


def test_too_many_pixels_are_refused_with_the_number(client: TestClient, job: str) -> None:
    """A small file may unpack to fill the memory."""
    buffer = io.BytesIO()
    Image.new("1", (9000, 9000)).save(buffer, "PNG")
    answer = _keep(client, job, "huge.png", buffer.getvalue())
    assert answer.status_code == 422
    assert "60 million pixels" in answer.json()["message"]


def test_only_pictures_kept_for_tracing_are_placed(client: TestClient, job: str) -> None:
    """A number of nothing is refused."""
    kept = {"photo": 99, "name": "x", "width": 10, "height": 10}
    put = {"backdrop": _placed(kept), "who": WHO}
    assert client.put(f"{job}/backdrop", json=put).status_code == 404
