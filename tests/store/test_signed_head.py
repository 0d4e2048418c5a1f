"""The end of a record kept outside of its file, and what it brings to light."""

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.errors import FormatError, InputError, OutputError

pytest.importorskip("cryptography")


@pytest.fixture
def firm(tmp_path: Path) -> Path:
    """A key of the firm."""
    store.make_key(tmp_path / "firm.pem", "a passphrase")
    return tmp_path / "firm.pem"


def rewritten(path: Path) -> None:
    """Write the whole record anew, so that it agrees with itself."""
    with store.open_project(path) as project:
        survey = project.survey()
    readings = survey.readings.assign(value=1.0, raw="1")
    path.unlink()
    store.pack(survey.__class__(**{**fields(survey), "readings": readings}), path, "X")


def fields(survey: object) -> dict[str, object]:
    return {name: getattr(survey, name) for name in survey.__dataclass_fields__}


def test_a_record_that_was_rewritten_as_a_whole_is_found(packed: Path, firm: Path) -> None:
    """The file agrees with itself; only the head that was kept tells."""
    public = firm.with_suffix(".pub.pem")
    with store.open_project(packed, writable=True) as project:
        signed = store.sign_head(project, firm, "a passphrase")
        line = f"head of the record: {project.head()}"
        project.correct("readings", 1, {"value": 7}, "B. Tester", "misread")
        assert store.check_head(project, signed, public) == ""
        assert store.check_head(project, store.read_signed_head(line)) == ""
    rewritten(packed)
    with store.open_project(packed) as project:
        assert project.verify().intact
        assert "another project" in store.check_head(project, signed, public)
        assert "rewritten" in store.check_head(project, store.read_signed_head(line))


def test_an_older_copy_is_found(packed: Path, tmp_path: Path) -> None:
    """It ends before the entry that was kept."""
    shutil.copy(packed, tmp_path / "old.gpkg")
    with store.open_project(packed, writable=True) as project:
        project.correct("readings", 1, {"value": 7}, "B. Tester", "misread")
        kept = store.read_signed_head(str(project.head()))
    with store.open_project(tmp_path / "old.gpkg") as project:
        assert "cut off, or this is an older copy" in store.check_head(project, kept)


def test_a_changed_signature_or_another_key_is_found(
    packed: Path, firm: Path, tmp_path: Path
) -> None:
    """Each field is signed, and the key must be that of the firm."""
    other = store.make_key(tmp_path / "other.pem")
    public = firm.with_suffix(".pub.pem")
    with store.open_project(packed) as project:
        signed = store.sign_head(project, firm, "a passphrase")
        path = tmp_path / "job.head.json"
        store.write_signed_head(signed, path)
        assert store.read_signed_head(str(path)) == signed
        assert "another key" in store.check_head(project, signed, other)
        for name, value in (("signed", "2020-01-01"), ("number", 1), ("project", "x")):
            content = json.loads(path.read_text()) | {name: value}
            (tmp_path / "changed.json").write_text(json.dumps(content))
            changed = store.read_signed_head(str(tmp_path / "changed.json"))
            assert "it was changed" in store.check_head(project, changed, public)
        unsigned = store.read_signed_head(str(project.head()))
        assert "no signature" in store.check_head(project, unsigned, public)


def test_another_program_verifies_the_signature(packed: Path, firm: Path, tmp_path: Path) -> None:
    """OpenSSL, from the public key and the bytes that were signed (RFC 8032, RFC 8410)."""
    import base64

    if shutil.which("openssl") is None:
        pytest.skip("openssl is not installed")
    with store.open_project(packed) as project:
        signed = store.sign_head(project, firm, "a passphrase")
    (tmp_path / "content").write_bytes(signed.content)
    (tmp_path / "signature").write_bytes(base64.b64decode(signed.signature))
    command = ["openssl", "pkeyutl", "-verify", "-pubin", "-inkey", firm.with_suffix(".pub.pem")]
    command += ["-rawin", "-in", tmp_path / "content", "-sigfile", tmp_path / "signature"]
    done = subprocess.run(command, capture_output=True, check=False)
    if b"not supported" in done.stderr.lower():
        pytest.skip("this openssl does not know the signature")
    assert done.returncode == 0, done.stderr


def test_keys_are_kept_from_others_and_never_overwritten(firm: Path, packed: Path) -> None:
    """Nor opened without their passphrase."""
    if os.name != "nt":
        assert firm.stat().st_mode & 0o077 == 0
    with pytest.raises(OutputError, match="already exists"):
        store.make_key(firm)
    with store.open_project(packed) as project:
        for words in ("", "wrong"):
            with pytest.raises(FormatError, match="cannot be opened"):
                store.sign_head(project, firm, words)
        with pytest.raises(FormatError, match="cannot be opened"):
            store.sign_head(project, packed)


@pytest.mark.parametrize("given", ["", "entry 12", "entry 12, abc", "nothing.json", "x" * 5000])
def test_what_is_no_head_is_refused(given: str) -> None:
    """With what one looks like."""
    with pytest.raises(InputError, match="no head of a record"):
        store.read_signed_head(given)
