"""The end of a record kept outside of its file, signed with a key of the firm.

Whoever holds the file could rewrite the whole record; not what was handed out before. A line to
copy, or a signature by a key the firm keeps, tells later whether the record still begins with the
entries it had then. Signatures are Ed25519 (RFC 8032) in the keys' usual PEM form (RFC 8410).
Method: docs/method/record.md.
"""

from __future__ import annotations

import base64
import json
import os
import re
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError, InputError, MissingExtra
from moisturemap.outputs import new_file, replaced_file, told
from moisturemap.store import record
from moisturemap.store.project import Project

PURPOSE = "moisturemap head of a record of changes, version 1"
"""Signed with the content, so that a signature for something else never passes for one."""

_LINE = re.compile(r"entry (\d{1,9}), ([0-9a-f]{64})")
_LARGEST = 20_000
"""Largest file of a key or a signature read [bytes]."""


@dataclass(frozen=True, slots=True)
class SignedHead:
    """An end of a record as it was handed out.

    Attributes
    ----------
    number : int
        Entry it ended with.
    hash : str
        Hash of that entry.
    project : str
        Id of the project, "" where only the line was kept.
    signed : str
        When it was signed, "" where it was not.
    public_key, signature : str
        Base64; "" where it was not signed.
    """

    number: int
    hash: str
    project: str = ""
    signed: str = ""
    public_key: str = ""
    signature: str = ""

    @property
    def content(self) -> bytes:
        """What the signature is over."""
        parts = [PURPOSE, self.project, self.number, self.hash, self.signed]
        return record.canonical(parts).encode()


def make_key(path: str | Path, passphrase: str = "") -> Path:
    """Make a key of the firm: a private one to keep, and ``.pub.pem`` beside it to hand out.

    Parameters
    ----------
    path : str or Path
        File of the private key; neither it nor the public one may exist.
    passphrase : str
        Without one the file alone is enough to sign.

    Returns
    -------
    Path
        File of the public key.

    Raises
    ------
    OutputError
        When one of them exists or cannot be written.
    MissingExtra
    """
    serialization, ed25519 = _library()
    private = ed25519.Ed25519PrivateKey.generate()
    kept = (
        serialization.BestAvailableEncryption(passphrase.encode())
        if passphrase
        else serialization.NoEncryption()
    )
    pem, pkcs8 = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8
    public_form = serialization.PublicFormat.SubjectPublicKeyInfo
    path = Path(path)
    public = path.with_suffix(".pub.pem")
    with new_file(public) as beside_public, new_file(path) as beside_private:
        # nobody else may read it, not even for the moment before its rights are set
        descriptor = os.open(beside_private, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "wb") as file:
            file.write(private.private_bytes(pem, pkcs8, kept))
        beside_public.write_bytes(private.public_key().public_bytes(pem, public_form))
    return public


def sign_head(project: Project, key: str | Path, passphrase: str = "") -> SignedHead:
    """Sign the present end of the record of a project.

    Parameters
    ----------
    project : Project
    key : str or Path
    passphrase : str

    Raises
    ------
    FormatError
        When the key is no Ed25519 key, or the passphrase is not its own.
    MissingExtra
    """
    serialization, ed25519 = _library()
    key = Path(key)
    try:
        private = serialization.load_pem_private_key(
            _read(key), passphrase.encode() if passphrase else None
        )
    except (ValueError, TypeError) as error:
        raise FormatError(
            "the key cannot be opened", source=key.name, allowed="the passphrase it was made with"
        ) from error
    if not isinstance(private, ed25519.Ed25519PrivateKey):
        raise FormatError("this is no Ed25519 private key", source=key.name)
    raw = serialization.Encoding.Raw, serialization.PublicFormat.Raw
    head = project.head()
    unsigned = SignedHead(
        head.number,
        head.hash,
        str(project.settings().get("project", "")),
        datetime.now(UTC).isoformat(timespec="seconds"),
        _text(private.public_key().public_bytes(*raw)),
    )
    fields = asdict(unsigned)
    return SignedHead(**{**fields, "signature": _text(private.sign(unsigned.content))})


def write_signed_head(signed: SignedHead, path: str | Path) -> None:
    """Write a signed head as JSON, to be kept apart from the project.

    Parameters
    ----------
    signed : SignedHead
    path : str or Path

    Raises
    ------
    OutputError
    """
    with told(Path(path)), replaced_file(Path(path)) as unfinished:
        text = json.dumps({"about": PURPOSE, **asdict(signed)}, indent=1)
        unfinished.write_text(text + "\n", encoding="utf-8")


def read_signed_head(given: str) -> SignedHead:
    """Read a head that was kept: the line itself, or a file with the line or the signed head.

    Parameters
    ----------
    given : str

    Raises
    ------
    InputError
        When it is neither.
    """
    line = _LINE.search(given)
    if line is None and len(given) < 1_000 and Path(given).is_file():
        text = _read(Path(given)).decode("utf-8", "replace")
        line = None if text.lstrip().startswith("{") else _LINE.search(text)
        if line is None:
            return _from_json(text, Path(given).name)
    if line is None:
        raise InputError(
            "this is no head of a record",
            value=given[:80],
            allowed="'entry 12, ' and the 64 digits printed with it, or a file that holds it",
        )
    return SignedHead(int(line[1]), line[2])


def _from_json(text: str, source: str) -> SignedHead:
    try:
        found = json.loads(text)
        fields = {name: found[name] for name in SignedHead.__slots__}
        signed = SignedHead(**{**fields, "number": int(fields["number"])})
        if not all(isinstance(value, str) for value in list(fields.values())[1:]):
            raise TypeError
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        message = "the file holds no head of a record"
        raise FormatError(message, source=source, allowed="a file that `sign` wrote") from error
    return signed


def check_head(project: Project, kept: SignedHead, public_key: str | Path | None = None) -> str:
    """Hold a project against a head that was kept outside of it.

    Parameters
    ----------
    project : Project
    kept : SignedHead
    public_key : str or Path, optional
        Public key of the firm (PEM). Without it a signature proves only that whoever signed had
        the key named in the signature.

    Returns
    -------
    str
        What is wrong, "" when the record still begins with the entries it had then.

    Raises
    ------
    FormatError
        When the public key is none.
    MissingExtra
    """
    if kept.signature or public_key is not None:
        wrong = _signature_fault(kept, public_key)
        if wrong:
            return wrong
    own = str(project.settings().get("project", ""))
    if kept.project and kept.project != own:
        return "the head that was kept is that of another project"
    entries = project.record()
    if kept.number > len(entries):
        return (
            f"the record ends with entry {len(entries)}; the head that was kept is entry "
            f"{kept.number}: entries were cut off, or this is an older copy"
        )
    if kept.number < 1 or entries[kept.number - 1].hash != kept.hash:
        return (
            f"entry {kept.number} of the record is not the one whose head was kept: the record was "
            "rewritten"
        )
    return ""


def _signature_fault(kept: SignedHead, public_key: str | Path | None) -> str:
    serialization, ed25519 = _library()
    from cryptography.exceptions import InvalidSignature

    if not kept.signature:
        return "the head that was kept carries no signature"
    try:
        stated = base64.b64decode(kept.public_key, validate=True)
        key = ed25519.Ed25519PublicKey.from_public_bytes(stated)
        signature = base64.b64decode(kept.signature, validate=True)
        key.verify(signature, kept.content)
    except (ValueError, InvalidSignature):
        return "the signature does not belong to the head it stands with: it was changed"
    if public_key is None:
        return ""
    path = Path(public_key)
    try:
        firm = serialization.load_pem_public_key(_read(path))
    except (ValueError, TypeError) as error:
        raise FormatError("this is no public key (PEM)", source=path.name) from error
    if not isinstance(firm, ed25519.Ed25519PublicKey):
        raise FormatError("this is no Ed25519 public key", source=path.name)
    raw = firm.public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
    return "" if raw == stated else "the head was signed with another key than that of the firm"


def _text(content: bytes) -> str:
    return base64.b64encode(content).decode()


def _read(path: Path) -> bytes:
    if not path.is_file():
        raise InputError("there is no such file", source=str(path))
    with path.open("rb") as file:
        return file.read(_LARGEST)


def _library() -> tuple[Any, Any]:
    try:
        from cryptography.hazmat.primitives import serialization
        from cryptography.hazmat.primitives.asymmetric import ed25519
    except ImportError:
        raise MissingExtra("Signing the head of a record", "sign") from None
    return serialization, ed25519
