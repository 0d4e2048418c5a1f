"""What a photograph tells of camera and place is left out, and the picture stays as it is."""

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from moisturemap import store
from moisturemap.store.photograph import without_origin

GPS, SUBFILE = 0x8825, 0x8769


def scene(size: tuple[int, int] = (64, 48)) -> Image.Image:
    """An invented scene that compresses to something."""
    rng = np.random.default_rng(3)
    return Image.fromarray(rng.integers(0, 255, (size[1], size[0], 3), dtype=np.uint8))


def exif() -> Image.Exif:
    """What a telephone writes."""
    told = Image.Exif()
    told[0x010F], told[0x0110] = "Invented Maker", "Model 7"
    told[0x0112], told[0x013B] = 6, "A. Person"
    told.get_ifd(GPS).update({1: "N", 2: (51.0, 30.0, 12.5), 3: "W", 4: (0.0, 7.0, 39.0)})
    told.get_ifd(SUBFILE).update(
        {0x9003: "2026:03:01 10:15:00", 0x9011: "+01:00", 0x927C: b"secret maker note"}
    )
    return told


def jpeg(**save: object) -> bytes:
    content = io.BytesIO()
    options = {"exif": exif(), "comment": b"by A. Person", **save}
    scene().save(content, "JPEG", **options)
    return content.getvalue()


def png() -> bytes:
    content, texts = io.BytesIO(), PngImagePlugin.PngInfo()
    texts.add_text("Author", "A. Person")
    texts.add_itxt("XML:com.adobe.xmp", "<x>51.5 N</x>")
    scene().save(content, "PNG", exif=exif(), pnginfo=texts)
    return content.getvalue()


def pixels(content: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(content)) as picture:
        return np.asarray(picture)


@pytest.mark.parametrize(
    "content",
    [jpeg(), jpeg(progressive=True), jpeg(restart_marker_blocks=2), png()],
    ids=["baseline", "progressive", "restarts", "png"],
)
def test_place_maker_and_names_go_and_the_picture_stays(content: bytes) -> None:
    """The way up and the time of the exposure stay."""
    found = without_origin(content)
    assert (pixels(found) == pixels(content)).all()
    for secret in (b"Invented", b"Person", b"secret", b"51.5", b"Model"):
        assert secret in content or secret == b"51.5"
        assert secret not in found
    with Image.open(io.BytesIO(found)) as picture:
        told = picture.getexif()
        assert dict(told.get_ifd(GPS)) == {}
        assert told[0x0112] == 6
        assert told.get_ifd(SUBFILE)[0x9003].startswith("2026:03:01 10:15:00")
        assert told.get_ifd(SUBFILE)[0x9011].startswith("+01:00")
        picture.load()
    assert without_origin(found) == found


def test_what_stands_behind_the_picture_goes() -> None:
    """Telephones hang a film or a second picture, with its own place, behind the end."""
    content = jpeg()
    assert without_origin(content + jpeg() + b"film") == without_origin(content)


def test_other_documents_are_left_alone() -> None:
    """A PDF is kept byte for byte."""
    assert without_origin(b"%PDF-1.7 ...") == b"%PDF-1.7 ..."


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_damage_never_ends_in_a_loop_or_a_longer_file(data: st.DataObject) -> None:
    """Whatever bytes are hit; a picture that does not open is refused before this."""
    content = bytearray(jpeg())
    for _ in range(data.draw(st.integers(0, 5))):
        content[data.draw(st.integers(2, len(content) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = without_origin(bytes(content))
    except (OSError, ValueError, SyntaxError, KeyError, TypeError):
        return
    assert len(found) <= len(content) + 200


def test_a_photograph_is_kept_without_its_origin_unless_asked(packed: Path) -> None:
    """The hash of the file as it came is kept, so that the original can be known again."""
    import hashlib
    import json

    content = jpeg()
    with store.open_project(packed, writable=True) as project:
        project.attach(content, "A. Tester", name="a.jpg")
        project.attach(content, "A. Tester", name="b.jpg", keep_origin=True)
        plain, whole = project.rows("attachments")
        assert b"Invented Maker" not in project.content(plain["sha256"])
        assert project.content(whole["sha256"]) == content
        assert plain["taken"] == whole["taken"] == "2026-03-01T10:15:00+01:00"
        received = json.loads(plain["extra"])["received_sha256"]
        assert received == hashlib.sha256(content).hexdigest() == whole["sha256"]
