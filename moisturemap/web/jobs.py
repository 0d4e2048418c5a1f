"""The jobs of one run: project files opened, and their studies kept while nothing changes.

What computes is imported when it is first needed, so that the app starts at once.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moisturemap.errors import Cancelled, MoistureMapError, StoreError
from moisturemap.web.copies import copies_of
from moisturemap.web.data_keys import keys_of, keys_past_record
from moisturemap.web.file_stem import file_stem
from moisturemap.web.refusals import NotThere, Stopped
from moisturemap.web.settings import Settings
from moisturemap.web.work import Lane, OwnProcess, Question, SameThread, Unwanted, in_turn
from moisturemap.web.work.question import Snapshot

if TYPE_CHECKING:
    from moisturemap.store import Change, Head, Project
    from moisturemap.store.attachment import Attachment

_log = logging.getLogger("uvicorn.error")

SUFFIX = ".gpkg"
KEPT_ANSWERS = 16
"""Answers kept for a job, so that two tabs that ask the same cost one computation (our choice)."""
MOST_DROPPED = 2
"""How often work is begun anew because the data changed; then an answer about the older data is
given, which says so (our choice: while others read on, a slow map would otherwise never come)."""
TRY_AGAIN_S = 2.0
"""A file that another program holds is tried again for writing this often [s]."""


@dataclass(frozen=True)
class Listed:
    """A project file in the folder; ``complaint`` says why it cannot be opened.

    ``copies`` says in which other files of the folder the same job lies.
    """

    id: str
    name: str
    file: str
    changed: str
    complaint: str = ""
    copies: tuple[str, ...] = ()


def _stays() -> bool:
    """Nobody leaves: what is computed for a change that is being stored."""
    return False


@dataclass(frozen=True)
class Lanes:
    """Where long work is done: studies one after another, and what must not wait for them."""

    study: Lane
    quick: Lane

    def all(self) -> tuple[Lane, ...]:
        """Both."""
        return self.study, self.quick


class Job:
    """One open project and what was computed from it."""

    def __init__(self, id: str, project: Project, lanes: Lanes) -> None:
        self.id = id
        self.project = project
        self.lanes = lanes
        self.doing: tuple[str, float] = ("", 1.0)
        self.turn = threading.RLock()
        self.opened = time.monotonic()
        there = project.path.stat()
        self.file = there.st_dev, there.st_ino
        self._answers: OrderedDict[tuple[Any, ...], Any] = OrderedDict()
        self._computing = threading.RLock()
        self._looking = threading.RLock()
        self._snapshot: Snapshot | None = None
        self._untouched = project.writes_by_others()
        self._read: tuple[str, int] = ("", self._untouched)
        self.seen: Head = project.head()
        self.first = project.hash_of(1)
        self._held: tuple[tuple[str, int], tuple[str, ...]] = (("", 0), ())
        self.walks: dict[str, dict[str, Any]] = {}
        self.foreseen = False
        self.first_page = threading.Event()

    @contextmanager
    def change(self, who: str, why: str, request: str = "") -> Iterator[Change]:
        """Change the project."""
        with self.project.change(who, why, request) as made:
            yield made
        self.seen = self.project.head()

    def attach(
        self, kept: Attachment, who: str, request: str, of: tuple[str, str], note: str
    ) -> int:
        """Keep a picture or document; a repeat with the same key returns the one kept before."""
        with self.alone():
            before = self.repeated(request)
            if before is not None:
                return before[0]
            with self.change(who, note, request) as made:
                return made.attach(kept, of, note)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Let nobody else read or write this job in between: for what is looked up and written."""
        with self.project.alone():
            yield

    def repeated(self, request: str) -> list[int] | None:
        """Return the rows an earlier request with this key touched, or None."""
        return self.project.rows_of_request(request) if request else None

    def snapshot(self) -> Snapshot:
        """Return the project as it is now, whoever changed it last.

        Raises
        ------
        StoreError
            While it has no room or no visit.
        """
        with self._looking:
            head = self.seen = self.project.head()
            state = (head.hash, self.project.writes_by_others())
            if self._snapshot is None or self._read != state:
                survey, settings = self.project.survey(), self.project.settings()
                keys = keys_of(head, self.project.last_changes(), settings)
                if state[1] != self._untouched:
                    keys = keys_past_record(keys, self.project.data_sha256())
                self._snapshot, self._read = Snapshot(keys, survey, settings), state
            return self._snapshot

    def ask(self, task: str, gone: Unwanted = _stays, /, **arguments: Any) -> Any:
        """Return the answer to a question about the data as they are now.

        Work on data that changed meanwhile is dropped and begun anew; an answer carries the
        number of the record it is of. ``gone`` tells whether who asked has left by now.

        Raises
        ------
        Stopped
            When nobody waits for the answer any more, or the data changed below what is not
            worth beginning anew.
        """
        dropped = 0
        while True:
            try:
                with in_turn(self._computing, gone):
                    return self._answered(task, gone, arguments, dropped >= MOST_DROPPED)
            except Cancelled:
                if gone():
                    message = "nobody waits for it any more"
                    raise Stopped(message) from None
                if task in ASKED_ANEW:
                    message = "the data changed meanwhile"
                    raise Stopped(message) from None
                dropped += 1

    def _answered(self, task: str, gone: Unwanted, arguments: Mapping[str, Any], last: bool) -> Any:
        """Return the kept or computed answer; Cancelled when the data changed, unless at last."""
        snapshot = self.snapshot()
        if task in JUDGING:
            snapshot = self._held_against_record(snapshot)
        key = _question_key(snapshot, task, arguments)
        if task in KEPT_TASKS and key in self._answers:
            return self._answers[key]

        def unwanted() -> bool:
            return gone() or (not last and self.changed_since(snapshot))

        answer = self._computed(snapshot, task, arguments, now_and_then(unwanted))
        if not last and self.changed_since(snapshot):
            raise Cancelled
        if task in KEPT_TASKS:
            self._answers[key] = answer
            while len(self._answers) > KEPT_ANSWERS:
                self._answers.popitem(last=False)
        return answer

    def _held_against_record(self, snapshot: Snapshot) -> Snapshot:
        """Return the snapshot with what in the file is not as its record led to."""
        faults = self.record_faults()
        if not faults:
            return snapshot
        survey = replace(snapshot.survey, record_faults=faults)
        return Snapshot(snapshot.keys, survey, snapshot.settings)

    def record_faults(self) -> tuple[str, ...]:
        """Return what in the file is not as its record led to; looked for when it was written."""
        state = (self.project.head().hash, self.project.writes_by_others())
        if self._held[0] != state:
            faults = self.project.verify().faults
            self._held = (state, tuple(fault.sentence for fault in faults))
        return self._held[1]

    def at_hand(self, task: str, **arguments: Any) -> bool:
        """Whether the answer of a question about the data as they are now was kept."""
        return _question_key(self.snapshot(), task, arguments) in self._answers

    def _computed(
        self, snapshot: Snapshot, task: str, arguments: Mapping[str, Any], unwanted: Unwanted
    ) -> Any:
        def say(phrase: str, fraction: float) -> None:
            self.doing = (phrase, fraction)

        say("beginning", 0.0)
        try:
            question = snapshot.question(task, self.id, arguments)
            return self.lanes.study.run(question, say, unwanted)
        finally:
            self.doing = ("", 1.0)

    def changed_since(self, snapshot: Snapshot) -> bool:
        """Whether other data are stored than at a snapshot."""
        return self.snapshot().keys.everything != snapshot.keys.everything

    def quick(self, task: str, **arguments: Any) -> Any:
        """Return the answer to a question about what is given, not about the stored data."""
        question = Question(task, self.id, arguments=arguments)
        return self.lanes.quick.run(question, lambda phrase, fraction: None, lambda: False)

    def ask_quick(self, task: str, **arguments: Any) -> Any:
        """Return the answer to a question about the present data that waits for no study."""
        question = self.snapshot().question(task, self.id, arguments)
        return self.lanes.quick.run(question, lambda phrase, fraction: None, lambda: False)

    def keep(self, setting: str, content: Any, who: str, why: str, request: str = "") -> None:
        """Keep one setting; what is measured is as it was."""
        from moisturemap.store.edits import write_setting
        from moisturemap.store.survey_rows import setting as setting_row

        with self.project.change(who, why, request) as made:
            write_setting(made, setting_row(setting, content))


KEPT_TASKS = frozenset(
    (
        "floor_map",
        "remarks",
        "proposed_holes",
        "drill",
        "drying",
        "placement",
        "verdict",
        "investigation",
    )
)
"""Tasks whose answers are kept: those a page asks for on opening."""
JUDGING = frozenset(("verdict", "report", "data"))
"""Tasks whose answer is shown as evidence: the file is held against its record before them."""
ASKED_ANEW = frozenset(("proposed_holes", "remarks"))
"""Tasks that are not begun anew when the data change: the map that comes asks for them again."""
LOOK_S = 0.25
"""How often it is asked whether the data have changed, or nobody waits any more [s]."""


def now_and_then(unwanted: Unwanted) -> Unwanted:
    """Return a question that is cheap to ask often: it is looked into every now and then."""
    looked = time.monotonic()

    def asked() -> bool:
        nonlocal looked
        if time.monotonic() - looked < LOOK_S:
            return False
        looked = time.monotonic()
        return unwanted()

    return asked


def _question_key(snapshot: Snapshot, task: str, arguments: Mapping[str, Any]) -> tuple[Any, ...]:
    return snapshot.keys.head, task, repr(sorted(arguments.items()))


class Shelf:
    """The project files of the folder, opened when first asked for."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self._open: dict[str, Job] = {}
        self._made: dict[str, str] = {}
        self._turn = threading.RLock()
        self.lanes = Lanes(
            *(
                (OwnProcess("studies", behind=True), OwnProcess("quick work"))
                if settings.own_process
                else (SameThread(), SameThread())
            )
        )

    def _paths(self) -> dict[str, Path]:
        only = self.settings.only
        found = [only] if only else sorted(self.settings.folder.glob(f"*{SUFFIX}"))
        return {path.name.removesuffix(SUFFIX): path for path in found if path.is_file()}

    def listing(self) -> list[Listed]:
        """Return the project files, newest first."""
        listed, known = [], {}
        for id, path in self._paths().items():
            changed = datetime.fromtimestamp(path.stat().st_mtime, UTC).isoformat()
            try:
                project = self.job(id).project
                name, complaint = str(project.settings().get("name") or id), ""
                known[id] = project
            except MoistureMapError as error:
                name, complaint = id, str(error)
            except Exception as error:  # whatever is wrong with one file hides no other
                _log.warning("%s cannot be opened", path, exc_info=True)
                name = id
                complaint = f"this file cannot be read ({type(error).__name__}); it is damaged"
            listed.append(Listed(id, name, path.name, changed, complaint))
        told = [
            replace(one, copies=copies_of(one.id, known)) if one.id in known else one
            for one in listed
        ]
        return sorted(told, key=lambda one: one.changed, reverse=True)

    def opened(self, id: str) -> Job | None:
        """Return a job that is open already."""
        return self._open.get(id)

    def job(self, id: str) -> Job:
        """Return an open job, for writing where possible, else to look at.

        Raises
        ------
        NotThere
            When the folder holds no such project file.
        """
        with self._turn:
            job, path = self._open.get(id), self._paths().get(id)
            if path is None:
                message = "there is no such job in this folder"
                raise NotThere(message)
            if job is None or _replaced(job, path) or self._could_write_now(job):
                if job is not None:
                    if _replaced(job, path):
                        _refuse_older(job, path)
                    job.project.close()
                job = self._open[id] = Job(id, _opened(path), self.lanes)
            return job

    def _could_write_now(self, job: Job) -> bool:
        """Whether a job open to look at may be open for writing by now: tried now and then."""
        if job.project.writable or time.monotonic() - job.opened < TRY_AGAIN_S:
            return False
        job.opened = time.monotonic()
        return _free(job.project.path)

    def quick(self, question: Question) -> Any:
        """Return the answer to a question about a file alone."""
        return self.lanes.quick.run(question, lambda phrase, fraction: None, lambda: False)

    def create(self, name: str, who: str, key: str = "", timezone: str = "") -> Job:
        """Make a project file named after the job; a repeated key returns the one made before."""
        if self.settings.only is not None:
            message = "one project file is served; start without naming a file to make new jobs"
            raise StoreError(message)
        with self._turn:
            if key and key in self._made:
                return self.job(self._made[key])
            stem = file_stem(name)
            taken = {path.name.casefold() for path in self.settings.folder.iterdir()}
            id, number = stem, 2
            while f"{id}{SUFFIX}".casefold() in taken:
                id, number = f"{stem} {number}", number + 1
            from moisturemap.store import create_project

            path = self.settings.folder / f"{id}{SUFFIX}"
            project = create_project(path, name, who, timezone=timezone)
            self._open[id] = Job(id, project, self.lanes)
            if key:
                self._made[key] = id
            return self._open[id]

    def close(self) -> None:
        """Close every file."""
        with self._turn:
            for job in self._open.values():
                job.project.close()
            self._open.clear()
        for lane in self.lanes.all():
            lane.close()


def _replaced(job: Job, path: Path) -> bool:
    """Whether another file lies where a job was opened: put there by a copy or a sync program."""
    return (path.stat().st_dev, path.stat().st_ino) != job.file


def _refuse_older(job: Job, path: Path) -> None:
    """Refuse a file in place of a job that lacks what was stored in it: an older or another copy.

    Raises
    ------
    StoreError
        Until the program is started again, which opens what lies there then.
    """
    from moisturemap.store import open_project

    seen = job.seen
    with open_project(path) as found:
        # another job altogether was put there on purpose: it is what is looked at from now on
        if found.hash_of(seen.number) == seen.hash or found.hash_of(1) != job.first:
            return
    message = (
        f"{path.name}: another copy of the file, which lacks what was stored here last (entry"
        f" {seen.number} of its record), was put in its place. Nothing is read or written: look"
        " which of the copies is the right one, put it there, or start the program again to go on"
        " with the one that lies there now"
    )
    raise StoreError(message)


def _free(path: Path) -> bool:
    """Whether a file can be opened for writing."""
    from moisturemap.store import open_project

    try:
        open_project(path, writable=True).close()
    except StoreError:
        return False
    return True


def _opened(path: Path) -> Project:
    from moisturemap.store import open_project

    try:
        return open_project(path, writable=True)
    except StoreError as error:
        try:
            return open_project(path)
        except StoreError:
            raise error from None
