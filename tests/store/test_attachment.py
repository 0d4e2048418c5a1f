"""Photographs and files kept with the job."""

import io
from pathlib import Path

import pytest
from PIL import Image

from moisturemap import store
from moisturemap.errors import FormatError, InputError, StoreError
from moisturemap.store import attachment


def picture(kind: str = "JPEG", size: tuple[int, int] = (40, 30), **save: object) -> bytes:
    """An invented photograph."""
    content = io.BytesIO()
    Image.new("RGB", size, (90, 120, 60)).save(content, kind, **save)
    return content.getvalue()


def test_a_photograph_is_kept_with_the_time_the_camera_wrote(packed: Path) -> None:
    """EXIF DateTimeOriginal (0x9003) and OffsetTimeOriginal (0x9011), as Exif 2.31 names them."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:03:01 10:15:00"
    exif.get_ifd(0x8769)[0x9011] = "+01:00"
    content = picture(exif=exif)
    with store.open_project(packed, writable=True) as project:
        project.attach(content, "A. Tester", name="hole 1.jpg", of=("tests", "1"), note="sleeve")
        (row,) = project.rows("attachments")
        assert project.content(row["sha256"]) == content
    assert row["taken"] == "2026-03-01T10:15:00+01:00"
    assert (row["media_type"], row["width"], row["height"]) == ("image/jpeg", 40, 30)
    assert (row["of_layer"], row["of_row"], row["note"]) == ("tests", "1", "sleeve")


def test_the_kind_is_judged_by_the_content(tmp_path: Path) -> None:
    """A PNG named .jpg is a PNG, a program named .jpg is refused."""
    assert attachment.look_into(picture("PNG"), "a.jpg")["media_type"] == "image/png"
    assert attachment.look_into(b"%PDF-1.7 ...", "a.jpg")["media_type"] == "application/pdf"
    with pytest.raises(FormatError, match="not that of a picture"):
        attachment.look_into(b"MZ\x90\x00 program", "a.jpg")
    with pytest.raises(FormatError, match="not that of a picture"):
        attachment.look_into(b"<svg onload='x()'/>", "a.png")


def test_damaged_and_oversized_pictures_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut short, too many bytes, too many pixels, empty."""
    with pytest.raises(FormatError, match="damaged"):
        attachment.look_into(picture(size=(400, 300))[:900], "a.jpg")
    with pytest.raises(FormatError, match="empty"):
        attachment.look_into(b"", "a.jpg")
    monkeypatch.setattr(attachment, "LARGEST_PICTURE", 1000)
    with pytest.raises(FormatError, match="too many pixels"):
        attachment.look_into(picture(), "a.jpg")
    monkeypatch.setattr(attachment, "LARGEST_FILE", 100)
    with pytest.raises(FormatError, match="too large"):
        attachment.look_into(picture(), "a.jpg")


def test_a_name_never_leads_out_of_the_folder() -> None:
    """Only the last part of a name is kept."""
    content = picture("PNG")
    for name in ("../../etc/x.png", "C:\\users\\x.png", "/x.png"):
        assert attachment.look_into(content, name)["name"] == "x.png"


def test_a_removed_photograph_can_be_brought_back(packed: Path) -> None:
    """Its bytes stay."""
    with store.open_project(packed, writable=True) as project:
        fid = project.attach(picture(), "A. Tester")
        project.remove("attachments", [fid], "A. Tester", "wrong hole")
        project.undo("A. Tester")
        (row,) = project.rows("attachments")
        assert project.content(row["sha256"]) == picture()
        with pytest.raises(InputError, match="no such layer"):
            project.attach(picture(), "A. Tester", of=("nothing", "1"))


def test_changed_bytes_are_found(packed: Path) -> None:
    """On reading and by the check."""
    import sqlite3

    with store.open_project(packed, writable=True) as project:
        project.attach(picture(), "A. Tester")
    connection = sqlite3.connect(packed)
    connection.execute("UPDATE file_contents SET content = x'00'")
    connection.commit()
    connection.close()
    with store.open_project(packed) as project:
        (fault,) = project.verify().faults
        assert fault.layer == "file_contents"
        with pytest.raises(StoreError, match="missing or was changed"):
            project.content(project.rows("attachments")[0]["sha256"])
