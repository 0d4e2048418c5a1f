"""Results kept floor by floor, so that a run goes on where an earlier one stopped."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any

from moisturemap.batch.listing import FloorSource
from moisturemap.batch.options import BatchOptions
from moisturemap.outputs import replaced_file
from moisturemap.provenance import versions

FOLDER = "floors"
"""Folder of the results by floor, inside that of the run."""

FORM = 4
"""Form of a kept result; another one is not read but made again."""


def file_word(floor: str) -> str:
    """Return a short file name of its own for a floor, whatever its name holds."""
    plain = "".join(one if one.isalnum() or one in "-_" else "-" for one in floor)[-40:].strip("-")
    return f"{plain or 'floor'}-{hashlib.sha256(floor.encode()).hexdigest()[:8]}"


def fingerprint_of(source: FloorSource, options: BatchOptions) -> str:
    """Return what a result depends on, as one hash: files, visit, options, versions."""
    told = json.dumps([FORM, source.visit, options.of_results(), versions()], sort_keys=True)
    digest = hashlib.sha256(told.encode())
    for path in sorted(_inputs(source.path)):
        digest.update(path.name.encode())
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def _inputs(path: Path) -> Iterator[Path]:
    """Yield the files a survey is read from: every file that its survey.toml names."""
    if path.is_file() and path.suffix.lower() != ".toml":
        yield path
        return
    setting = path / "survey.toml" if path.is_dir() else path
    if not setting.is_file():
        return
    yield setting
    try:
        content = tomllib.loads(setting.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return
    for text in set(_texts(content)):
        named = setting.parent / text
        if len(text) < 250 and "\x00" not in text and named.is_file():
            yield named


def _texts(content: Any) -> Iterator[str]:
    if isinstance(content, str):
        yield content
    elif isinstance(content, dict):
        for one in content.values():
            yield from _texts(one)
    elif isinstance(content, list):
        for one in content:
            yield from _texts(one)


class KeptResults:
    """The results of a run by floor, one JSON file each.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder / FOLDER

    def path(self, floor: str) -> Path:
        """Return the file of a floor."""
        return self.folder / f"{file_word(floor)}.json"

    def prepare(self) -> None:
        """Make the folder, and see that it can be written to.

        Raises
        ------
        OSError
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        with TemporaryFile(dir=self.folder):
            pass

    def read(self, floor: str) -> dict[str, Any] | None:
        """Return the result of a floor, or None when there is none that can be read."""
        try:
            content = json.loads(self.path(floor).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        whole = isinstance(content, dict) and content.get("form") == FORM
        return content if whole and content.get("floor") == floor else None

    def finished(self, floor: str, fingerprint: str, today: date) -> bool:
        """Return whether a floor is done and nothing it depends on has changed.

        A verdict ages: a floor with calibrated tests is judged again on another day.
        """
        kept = self.read(floor)
        if kept is None or kept["error"] or kept["fingerprint"] != fingerprint:
            return False
        return not kept["ages"] or kept["day"] == today.isoformat()

    def write(self, content: dict[str, Any]) -> None:
        """Keep the result of a floor: written beside, then renamed."""
        text = json.dumps({"form": FORM, **content}, ensure_ascii=False, allow_nan=False)
        with replaced_file(self.path(content["floor"])) as unfinished:
            unfinished.write_text(text, encoding="utf-8")

    def keep_only(self, floors: set[str]) -> None:
        """Remove results of floors that are no longer part of the run."""
        wanted = {self.path(floor) for floor in floors}
        for path in self.folder.iterdir():
            if path not in wanted and path.suffix == ".json":
                path.unlink()
