"""Which data an answer is of, by the record of changes and the settings of a project."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from moisturemap.web.work.question import DataKeys

if TYPE_CHECKING:
    from moisturemap.store import Head

# What changes nothing that is computed.
_SILENT_LAYERS = ("attachments", "issued_documents")
_SILENT_SETTINGS = ("backdrop", "cautions", "name")
_FRAME_LAYERS = ("rooms", "lines", "instruments", "instrument_checks", "visits")
_SCAN_SETTINGS = ("scan", "plan")


def keys_of(head: Head, changes: Mapping[str, str], settings: Mapping[str, Any]) -> DataKeys:
    """Return the keys of a project at the end of its record, by its last change of each layer."""

    def seal(names: Iterable[str]) -> str:
        kept = sorted((name, repr(settings[name])) for name in names if name in settings)
        return hashlib.sha256(repr(kept).encode()).hexdigest()[:24]

    frame = (*(changes.get(layer, "") for layer in _FRAME_LAYERS), seal(_SCAN_SETTINGS))
    loud = [name for name in settings if name not in _SILENT_SETTINGS]
    layers = tuple(
        (layer, last)
        for layer, last in sorted(changes.items())
        if layer not in (*_SILENT_LAYERS, "settings")
    )
    scan = (*frame, changes.get("readings", ""))
    return DataKeys(head.number, head.hash, frame, scan, (layers, seal(loud)))


def keys_past_record(keys: DataKeys, fingerprint: str) -> DataKeys:
    """Return keys of data that another program changed, of which the record knows nothing."""
    return replace(
        keys,
        head=f"{keys.head} {fingerprint}",
        frame=(*keys.frame, fingerprint),
        scan=(*keys.scan, fingerprint),
        everything=(*keys.everything, fingerprint),
    )
