"""The name of a project file, from that of its job."""

from __future__ import annotations

import re
import unicodedata

_RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


def file_stem(name: str) -> str:
    """Return a file name any system takes: letters, figures, spaces, hyphens."""
    plain = unicodedata.normalize("NFKC", name)
    stem = re.sub(r"[^\w \-]+", " ", plain).strip(" -_")
    stem = re.sub(r"\s+", " ", stem)[:60].strip() or "job"
    return f"{stem} job" if stem.casefold() in _RESERVED else stem
