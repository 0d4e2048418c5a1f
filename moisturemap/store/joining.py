"""Two copies of one job, worked on apart, put together again.

Each change of the copy is made again in this file, in its own words, under the name of who made it
and with the time it was made at. A change that this file made otherwise is left out whole, told,
and kept as something that speaks against the floor. Method: docs/method/record.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import Path
from typing import Any

from moisturemap.errors import StoreError
from moisturemap.store import survey_rows
from moisturemap.store.edits import write_setting
from moisturemap.store.former import BEFORE, with_kept
from moisturemap.store.join_change import Remake, content_of
from moisturemap.store.join_names import Names
from moisturemap.store.join_settings import BothChangedError
from moisturemap.store.project import Project, open_project
from moisturemap.store.record import BROUGHT, Head, RecordEntry, Signature
from moisturemap.store.schema import LAYERS, Layer

LEFT_OUT = "left out when a copy was joined"
ALIKE = "alike in joined copies"
"""Key of the settings that lists changes of copies that were made here alike before."""


@dataclass(slots=True)
class Joined:
    """What came of joining a copy.

    Attributes
    ----------
    changes : int
        Changes of the copy made again here.
    rows : int
        Rows they touched.
    same : int
        Rows that both files held alike, kept once.
    left_out : list of str
        Changes that are not in this file, in sentences.
    told : list of str
        What is otherwise here than in the copy.
    head : Head
        End of the record now.
    """

    changes: int = 0
    rows: int = 0
    same: int = 0
    left_out: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    head: Head = field(default_factory=lambda: Head(0, ""))


def join_copy(project: Project, copy: str | Path, who: str) -> Joined:
    """Make the changes of a copy of a job again in this file; the copy is left as it is.

    What was joined before is not made twice, so that the same copy may be joined again later.

    Parameters
    ----------
    project : Project
        Open for writing.
    copy : str or Path
        Another project file of the same job.
    who : str
        Name of who joins them.

    Raises
    ------
    StoreError
        If it is no copy of this job, the same file, or not as its record led to.
    """
    copy = Path(copy)
    with open_project(copy) as other:
        theirs, files = _sound(other), other.content
        with project.alone():
            ours = _sound(project)
            begun = _parted(ours, theirs, project, copy)
            join = _Join(project, copy.name, who, Names(ours[:begun], ours[begun:]))
            join.learn(ours, begun)
            for change in _changes(theirs[begun:]):
                join.take(change, files)
            join.keep_left_out()
            join.found.told += [one for one in join.names.told if one not in join.found.told]
            join.found.head = project.head()
    return join.found


def _sound(project: Project) -> list[RecordEntry]:
    """Return the record of a file that is as its record led to."""
    faults = project.verify().faults
    if faults:
        message = (
            f"{project.path}: not as its record of changes led to ({faults[0].sentence}). Run"
            " `moisturemap check` on it; nothing was joined"
        )
        raise StoreError(message)
    return project.record()


def _parted(
    ours: Sequence[RecordEntry], theirs: Sequence[RecordEntry], project: Project, copy: Path
) -> int:
    """Return how many entries both records begin with."""
    if copy.exists() and project.path.exists() and copy.samefile(project.path):
        message = f"{copy}: this is the same file"
        raise StoreError(message)
    pairs = zip(ours, theirs, strict=False)
    begun = next((k for k, (one, other) in enumerate(pairs) if one.hash != other.hash), None)
    begun = min(len(ours), len(theirs)) if begun is None else begun
    if begun == 0:
        message = (
            f"{copy}: no copy of this job: the records of changes have no beginning in common."
            " What was read for another file is imported as readings and tests instead"
        )
        raise StoreError(message)
    return begun


def _changes(entries: Sequence[RecordEntry]) -> list[list[RecordEntry]]:
    return [list(found) for _, found in groupby(entries, key=lambda one: one.change)]


class _Join:
    """The work of joining one copy."""

    def __init__(self, project: Project, copy: str, who: str, names: Names) -> None:
        self._project = project
        self._copy = copy
        self._who = who
        self.names = names
        self.found = Joined()
        self._made: dict[str, list[RecordEntry]] = {}
        self._since: dict[str, set[int]] = {layer: set() for layer in LAYERS}
        self._before: list[dict[str, Any]] = []
        self._left_out = list(project.settings().get(BEFORE, {}).get(LEFT_OUT, ()))
        """Origins of what was left out: not tried again in another order than it was made in."""

    def learn(self, ours: Sequence[RecordEntry], begun: int) -> None:
        """Take in what this file changed since the two parted."""
        for change in _changes(ours[begun:]):
            self._made[_origin(change)] = change
            for entry in change:
                if entry.action == "add":
                    self._since[entry.layer].update(entry.operation.fids)

    def take(self, change: Sequence[RecordEntry], files: Any) -> None:
        """Make one change of the copy again, or tell why it is left out."""
        origin = _origin(change)
        if origin in self._made:
            self._pair(change, self._made[origin])
            return
        if change[0].layer == "issued_documents":
            names = ", ".join(str(row[1]) for one in change for row in one.operation.new)
            self.found.told.append(f"Issued in the copy, and kept there alone: {names}. Keep it.")
            return
        self.names.begin()
        try:
            if origin in self._left_out:
                raise BothChangedError
            self._make(change, origin, files)
        except BothChangedError:
            self.names.forget()
            self._left_out += [origin] if origin not in self._left_out else []
            self._leave_out(change)

    def _make(self, change: Sequence[RecordEntry], origin: str, files: Any) -> None:
        sign = change[0].signature
        why = f"{sign.why or 'no reason given'} (brought in from {self._copy} by {self._who})"
        request = f"{BROUGHT} {origin} {change[0].keyed}"
        with self._project.change(sign.who, why, request) as made:
            remake = Remake(made, self.names, self._since)
            for entry in change:
                if entry.layer == "attachments":
                    for row in entry.operation.new:
                        at = entry.operation.columns.index("sha256")
                        made.keep(files(row[at]))
                remake.operation(entry.operation)
            operations = list(made.operations)
            if not operations:  # or it would be made anew once the copy takes it back
                alike = survey_rows.settings_of(made.rows("settings")).get(ALIKE, ())
                write_setting(made, survey_rows.setting(ALIKE, (*alike, origin)))
        self.found.changes += bool(operations)
        self.found.rows += sum(len(one.fids) for one in operations)
        self.found.same += remake.same

    def _pair(self, change: Sequence[RecordEntry], made: Sequence[RecordEntry]) -> None:
        """Learn which rows here are those of a change that was joined before."""
        for layer in LAYERS:
            if layer != "settings":
                theirs, here = _added(change, layer), _added(made, layer)
                if len(here) < len(theirs):  # some stood here alike before
                    theirs = self._pair_alike(LAYERS[layer], theirs)
                self._pair_rows(LAYERS[layer], theirs, here)

    def _pair_alike(self, layer: Layer, theirs: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Pair rows that stand here alike; return the others."""
        there = self._project.rows(layer.name)
        since = [row for row in there if row["fid"] in self._since[layer.name]]
        return self._paired(layer, theirs, since)

    def _pair_rows(
        self, layer: Layer, theirs: list[dict[str, Any]], here: list[dict[str, Any]]
    ) -> None:
        """Pair rows that tell the same, then what is left in order: names may differ."""
        rest = self._paired(layer, theirs, here)
        for row, twin in zip(rest, here, strict=False):
            self.names.same(layer.name, row, twin)

    def _paired(
        self, layer: Layer, theirs: list[dict[str, Any]], here: list[dict[str, Any]]
    ) -> list[dict[str, Any]]:
        """Pair rows that tell the same and take those of here away; return the others."""
        alike: dict[str, list[dict[str, Any]]] = {}
        for row in here:
            alike.setdefault(_tells(layer, row), []).append(row)
        rest = []
        for row in theirs:
            found = alike.get(_tells(layer, row))
            if found:
                self.names.same(layer.name, row, found.pop(0))
            else:
                rest.append(row)
        here[:] = [row for rows in alike.values() for row in rows]
        return rest

    def _leave_out(self, change: Sequence[RecordEntry]) -> None:
        first = change[0]
        done = "; ".join(dict.fromkeys(one.sentence for one in change))
        sentence = (
            f"Left out of the copy {self._copy}: {first.signature.who} {done} on"
            f" {first.keyed[:10]}, and this file changed the same, too. Settle which holds, and"
            " enter it here."
        )
        self.found.left_out.append(sentence)
        for entry in change:
            rows = (dict(zip(entry.operation.columns, r, strict=True)) for r in entry.operation.new)
            self._before += [{"layer": entry.layer, "row": row, "told": sentence} for row in rows]
            if not entry.operation.new:
                self._before.append({"layer": "", "row": {}, "told": sentence})

    def keep_left_out(self) -> None:
        """Keep what was left out beside what else was changed and may speak against the floor.

        No undo takes it away again.
        """
        settings = self._project.settings()
        kept = with_kept(settings.get(BEFORE) or {}, self._before, LEFT_OUT)
        kept[LEFT_OUT] = self._left_out
        if self.found.left_out and kept != settings.get(BEFORE):
            with self._project._writing(Signature(self._who, LEFT_OUT, kind="join")) as made:
                write_setting(made, survey_rows.setting(BEFORE, kept))


def _origin(change: Sequence[RecordEntry]) -> str:
    """Return the hash of the entry by which a change was made first, in whichever copy."""
    brought = change[0].signature.request.split()
    return brought[1] if brought[:1] == [BROUGHT] else change[0].hash


def _added(change: Sequence[RecordEntry], layer: str) -> list[dict[str, Any]]:
    """Return the rows that a change added to a layer, by column name."""
    return [
        dict(zip(one.operation.columns, row, strict=True))
        for one in change
        if one.layer == layer and one.action == "add"
        for row in one.operation.new
    ]


def _tells(layer: Layer, row: Mapping[str, Any]) -> str:
    return content_of(layer, [row.get(name) for name in layer.names])
