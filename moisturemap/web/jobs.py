"""The jobs of one run: project files opened, and their studies kept while nothing changes.

What computes is imported when it is first needed, so that the app starts at once.
"""

from __future__ import annotations

import re
import threading
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moisturemap.errors import Cancelled, StoreError
from moisturemap.web.refusals import NotThere
from moisturemap.web.settings import Settings

if TYPE_CHECKING:
    from moisturemap.bundles import Overrides, Study
    from moisturemap.store import Change, Project
    from moisturemap.workflow.live_map import LiveMap

Say = Callable[[str, float], None]

SUFFIX = ".gpkg"
KEPT_RESULTS = 16


@dataclass(frozen=True)
class Listed:
    """A project file in the folder; ``complaint`` says why it cannot be opened."""

    id: str
    name: str
    file: str
    changed: str
    complaint: str = ""


class Job:
    """One open project and what was computed from it."""

    def __init__(self, id: str, project: Project) -> None:
        self.id = id
        self.project = project
        self.generation = 0
        self.machine_generation = 0
        self.doing: tuple[str, float] = ("", 1.0)
        self.turn = threading.RLock()
        self.live_turn = threading.Lock()
        self.drawing = threading.Lock()
        self.attached: dict[str, int] = {}
        self._results: dict[tuple[Any, ...], Any] = {}
        self._computing = threading.RLock()

    @contextmanager
    def change(self, who: str, why: str, request: str = "") -> Iterator[Change]:
        """Change the project; what was computed before counts no more."""
        with self.project.change(who, why, request) as made:
            yield made
        self.touched()

    @contextmanager
    def machines(self, who: str, why: str, request: str = "") -> Iterator[Change]:
        """Change the machines: the maps stay as they are, only their placement counts no more."""
        with self.project.change(who, why, request) as made:
            yield made
        self.machine_generation += 1

    def touched(self) -> None:
        """Say that the data changed, so that results are computed again."""
        self.generation += 1

    def repeated(self, request: str) -> list[int] | None:
        """Return the rows an earlier request with this key touched, or None."""
        return self.project.rows_of_request(request) if request else None

    def result(self, kind: tuple[Any, ...], compute: Callable[[Say], Any]) -> Any:
        """Return a result, computed once for the data as they are; newer data drop older work."""
        while True:
            with self._computing:
                generation = self.generation
                key = (generation, *kind)
                if key in self._results:
                    return self._results[key]

                def progress(phrase: str, fraction: float, began: int = generation) -> None:
                    self.doing = (phrase, fraction)
                    if self.generation != began:
                        raise Cancelled

                try:
                    result = compute(progress)
                except Cancelled:
                    continue
                finally:
                    self.doing = ("", 1.0)
                self._results[key] = result
                while len(self._results) > KEPT_RESULTS:
                    self._results.pop(next(iter(self._results)))
                return result

    @cached_property
    def live_map(self) -> LiveMap:
        """The quick map of this job."""
        from moisturemap.workflow.live_map import LiveMap

        return LiveMap()

    def study(self, visit: str | None) -> Study:
        """Return the study of a visit with the decisions of the people on the job."""
        from moisturemap.bundles import overrides_of
        from moisturemap.workflow.overridden_study import apply_overrides
        from moisturemap.workflow.study import study

        survey = self.project.survey()
        chosen = survey.visit(visit).id
        decisions = overrides_of(self.project.settings())
        undecided = self.result(
            ("study", chosen), lambda progress: study(survey, visit=chosen, progress=progress)
        )
        decided: Study = self.result(
            ("decided", chosen, repr(decisions)),
            lambda progress: apply_overrides(undecided, decisions),
        )
        return decided

    def try_decisions(self, decisions: Overrides, visit: str | None = None) -> None:
        """Raise what a study with these decisions would raise, before they are kept."""
        from moisturemap.workflow.overridden_study import apply_overrides
        from moisturemap.workflow.study import study

        survey = self.project.survey()
        chosen = survey.visit(visit).id
        undecided = self.result(
            ("study", chosen), lambda progress: study(survey, visit=chosen, progress=progress)
        )
        apply_overrides(undecided, decisions)

    def decide(
        self,
        content: dict[str, Any],
        who: str,
        why: str,
        request: str,
        *,
        setting: str = "decisions",
    ) -> None:
        """Keep decisions among the settings; what is measured is as it was."""
        from moisturemap.store.edits import write_setting
        from moisturemap.store.survey_rows import setting as setting_row

        with self.project.change(who, why, request) as made:
            write_setting(made, setting_row(setting, content))


class Shelf:
    """The project files of the folder, opened when first asked for."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self._open: dict[str, Job] = {}
        self._made: dict[str, str] = {}
        self._turn = threading.RLock()

    def _paths(self) -> dict[str, Path]:
        only = self.settings.only
        found = [only] if only else sorted(self.settings.folder.glob(f"*{SUFFIX}"))
        return {path.name.removesuffix(SUFFIX): path for path in found if path.is_file()}

    def listing(self) -> list[Listed]:
        """Return the project files, newest first."""
        listed = []
        for id, path in self._paths().items():
            changed = datetime.fromtimestamp(path.stat().st_mtime, UTC).isoformat()
            try:
                name, complaint = str(self.job(id).project.settings().get("name") or id), ""
            except StoreError as error:
                name, complaint = id, str(error)
            listed.append(Listed(id, name, path.name, changed, complaint))
        return sorted(listed, key=lambda one: one.changed, reverse=True)

    def job(self, id: str) -> Job:
        """Return an open job, for writing where possible, else to look at.

        Raises
        ------
        NotThere
            When the folder holds no such project file.
        """
        with self._turn:
            if id not in self._open:
                path = self._paths().get(id)
                if path is None:
                    message = "there is no such job in this folder"
                    raise NotThere(message)
                self._open[id] = Job(id, _opened(path))
            return self._open[id]

    def create(self, name: str, who: str, key: str = "") -> Job:
        """Make a project file named after the job; a repeated key returns the one made before."""
        if self.settings.only is not None:
            message = "one project file is served; start without naming a file to make new jobs"
            raise StoreError(message)
        with self._turn:
            if key and key in self._made:
                return self.job(self._made[key])
            stem = _file_stem(name)
            taken = {path.name.casefold() for path in self.settings.folder.iterdir()}
            id, number = stem, 2
            while f"{id}{SUFFIX}".casefold() in taken:
                id, number = f"{stem} {number}", number + 1
            from moisturemap.store import create_project

            project = create_project(self.settings.folder / f"{id}{SUFFIX}", name, who)
            self._open[id] = Job(id, project)
            if key:
                self._made[key] = id
            return self._open[id]

    def close(self) -> None:
        """Close every file."""
        with self._turn:
            for job in self._open.values():
                job.project.close()
            self._open.clear()


def _opened(path: Path) -> Project:
    from moisturemap.store import open_project

    try:
        return open_project(path, writable=True)
    except StoreError as error:
        try:
            return open_project(path)
        except StoreError:
            raise error from None


_RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


def _file_stem(name: str) -> str:
    """Return a file name any system takes: letters, figures, spaces, hyphens."""
    plain = unicodedata.normalize("NFKC", name)
    stem = re.sub(r"[^\w \-]+", " ", plain).strip(" -_")
    stem = re.sub(r"\s+", " ", stem)[:60].strip() or "job"
    return f"{stem} job" if stem.casefold() in _RESERVED else stem
