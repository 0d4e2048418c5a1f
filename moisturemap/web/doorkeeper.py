"""Who was let in: tokens that open the door, and the devices that came through it."""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import os
import secrets
import threading
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

_log = logging.getLogger("uvicorn.error")

SEEN_EVERY_S = 60.0
"""How finely it is noted when a device was last here [s] (our choice)."""
MOST_DEVICES = 50
"""Devices remembered for a folder; the one seen longest ago is forgotten first (our choice)."""


def own_folder() -> Path:
    """Return where this program keeps what belongs to the user and not to a job."""
    return Path(os.environ.get("MOISTUREMAP_HOME") or Path.home() / ".moisturemap")


@dataclass
class Device:
    """A browser that was let in.

    Attributes
    ----------
    id : str
        Fingerprint of its key; the key itself is known to the device alone.
    name : str
        As the person using it is called, or the browser calls itself.
    browser : str
    since, seen : str
        ISO 8601.
    """

    id: str
    name: str
    browser: str
    since: str
    seen: str


class Doorkeeper:
    """Tokens, and the devices that were let in; devices stay known over a restart.

    Parameters
    ----------
    first : str
        Token of this computer: works as often as needed, from this computer only.
    once : str
        Token for another device: works once.
    memory : Path or None
        File that remembers the devices of a folder; None forgets them at the end.
    """

    def __init__(self, first: str = "", once: str = "", memory: Path | None = None) -> None:
        self._first = first
        self._once = {once} if once else set()
        self._memory = memory
        self._turn = threading.RLock()
        self._devices: dict[str, Device] = self._remembered()

    def _remembered(self) -> dict[str, Device]:
        if self._memory is None or not self._memory.exists():
            return {}
        try:
            kept = json.loads(self._memory.read_text(encoding="utf-8"))
            return {one["id"]: Device(**one) for one in kept}
        except (OSError, ValueError, TypeError, KeyError):
            _log.warning("%s cannot be read; devices must be let in again", self._memory)
            return {}

    def _remember(self) -> None:
        if self._memory is None:
            return
        kept = [asdict(one) for one in self._devices.values()]
        try:
            self._memory.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            beside = self._memory.with_suffix(".new")
            with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as f:
                json.dump(kept, f)
            beside.replace(self._memory)
        except OSError:
            _log.warning("%s cannot be written; devices are let in for this run", self._memory)

    def invite(self) -> str:
        """Make a token for one more device."""
        token = secrets.token_urlsafe(16)
        with self._turn:
            self._once.add(token)
        return token

    def admit(self, token: str, browser: str, *, here: bool) -> str | None:
        """Take a token and return the key the device shows from now on; None when it opens nothing.

        ``here`` tells that the device is this computer.
        """
        with self._turn:
            if not (here and self._first and _same(self._first, token)):
                match = next((one for one in self._once if _same(one, token)), None)
                if match is None:
                    return None
                self._once.discard(match)
            key, now = secrets.token_urlsafe(24), _now()
            device = Device(_seal(key), "", browser[:120], now, now)
            while len(self._devices) >= MOST_DEVICES:
                oldest = min(self._devices.values(), key=lambda one: one.seen)
                del self._devices[oldest.id]
            self._devices[device.id] = device
            self._remember()
            return key

    def known(self, key: str) -> Device | None:
        """Return the device that shows a key, or None."""
        with self._turn:
            device = self._devices.get(_seal(key))
            if device is not None:
                before = datetime.fromisoformat(device.seen)
                if (datetime.now(UTC) - before).total_seconds() > SEEN_EVERY_S:
                    device.seen = _now()
                    self._remember()
            return device

    def devices(self) -> list[Device]:
        """Return the devices, the one seen last first."""
        with self._turn:
            return sorted(self._devices.values(), key=lambda one: one.seen, reverse=True)

    def name(self, id: str, name: str) -> None:
        """Call a device by the name of who uses it."""
        with self._turn, suppress(KeyError):
            if self._devices[id].name != name:
                self._devices[id].name = name
                self._remember()

    def revoke(self, id: str) -> bool:
        """Let a device in no more; False when it is not known."""
        with self._turn:
            gone = self._devices.pop(id, None)
            self._remember()
            return gone is not None


def _seal(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()[:32]


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode(), other.encode())


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
