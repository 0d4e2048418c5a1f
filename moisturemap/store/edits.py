"""What people do to a project, each in one recorded change."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pandas as pd

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.store import attachment, frames, record, survey_rows
from moisturemap.store.change import Change, layer_named
from moisturemap.store.renamed import carry_names, renamed_rooms
from moisturemap.survey import Instrument, InstrumentCheck, Limit, Visit

Rows = Sequence[Mapping[str, Any]] | pd.DataFrame


def add_rows(made: Change, layer: str, new: Rows) -> list[int]:
    """Add rows of either form to a change."""
    if not isinstance(new, pd.DataFrame):
        return made.add(layer, new)
    kind = layer_named(layer)
    settings = survey_rows.settings_of(made.rows("settings"))
    known = {one.name: one for one in survey_rows.columns_of(settings, layer)}
    found = frames.describe(new, kind)
    if f"columns of {layer}" not in settings and made.next_number(layer) == 1:
        columns = found
    else:
        columns = (*known.values(), *(one for one in found if one.name not in known))
    if tuple(columns) != tuple(known.values()):
        write_setting(made, survey_rows.column_setting(layer, columns))
    first = made.next_number(layer)
    added = frames.to_rows(new, kind, columns, first)
    if added:
        made.apply(record.Operation(layer, kind.names, (), tuple(added)))
    return [row[0] for row in added]


def write_setting(made: Change, new: Mapping[str, Any]) -> None:
    """Set a setting within a change."""
    for fid, key, *_ in made.rows("settings"):
        if key == new["key"]:
            made.correct("settings", fid, new)
            return
    made.add("settings", [new])


def put_plan(made: Change, plan: FloorPlan) -> None:
    """Put another plan in the place of the old one within a change.

    What is kept under the name of a room follows a new name.
    """
    names = renamed_rooms(survey_rows.rooms_of(made.rows("rooms")), plan.rooms)
    for key, now in carry_names(made, names).items() if names else ():
        write_setting(made, survey_rows.setting(key, now))
    for layer in ("rooms", "lines"):
        made.remove(layer, [row[0] for row in made.rows(layer)])
    made.add("rooms", [survey_rows.room_row(room) for room in plan.rooms])
    made.add("lines", [survey_rows.line_row(line) for line in plan.lines])
    write_setting(made, survey_rows.setting("plan", {"notes": plan.notes}))


class Edits(ABC):
    """Changes of a project file; every one takes ``who`` and ``why`` and is recorded."""

    @abstractmethod
    def change(self, who: str, why: str = "", request: str = "") -> AbstractContextManager[Change]:
        """Make several operations one change."""

    def add(self, layer: str, new: Rows, who: str, why: str = "") -> list[int]:
        """Add rows, given by column name or as a table, and return their numbers."""
        with self.change(who, why) as made:
            return add_rows(made, layer, new)

    def add_readings(self, new: Rows, who: str, why: str = "") -> list[int]:
        """Add readings (``x, y, value, visit, instrument`` and more) and return their numbers."""
        return self.add("readings", new, who, why)

    def add_tests(self, new: Rows, who: str, why: str = "") -> list[int]:
        """Add calibrated tests and return their numbers."""
        return self.add("tests", new, who, why)

    def add_room(self, room: Room, who: str, why: str = "") -> int:
        """Add a room and return its number."""
        return self.add("rooms", [survey_rows.room_row(room)], who, why)[0]

    def add_visit(self, visit: Visit, who: str, why: str = "") -> int:
        """Add a visit and return its number."""
        return self.add("visits", [survey_rows.visit_row(visit)], who, why)[0]

    def add_instrument(self, instrument: Instrument, who: str, why: str = "") -> int:
        """Add an instrument with its checks and return its number."""
        with self.change(who, why) as made:
            fid = made.add("instruments", [survey_rows.instrument_row(instrument)])[0]
            checks = [survey_rows.check_row(instrument.id, one) for one in instrument.checks]
            made.add("instrument_checks", checks)
        return fid

    def add_check(self, instrument: str, check: InstrumentCheck, who: str, why: str = "") -> int:
        """Add a check of an instrument and return its number."""
        row = survey_rows.check_row(instrument, check)
        return self.add("instrument_checks", [row], who, why)[0]

    def replace_plan(self, plan: FloorPlan, who: str, why: str = "") -> None:
        """Put another plan in the place of the old one, which stays in the record."""
        with self.change(who, why) as made:
            put_plan(made, plan)

    def set_limit(
        self, limit: Limit | None, who: str, why: str = "", room: str | None = None
    ) -> None:
        """Set the limit of all rooms or of one; None takes it away."""
        with self.change(who, why) as made:
            made.remove("limits", [row[0] for row in made.rows("limits") if row[1] == room])
            if limit is not None:
                made.add("limits", [survey_rows.limit_row(limit, room)])

    def set(self, key: str, value: Any, who: str, why: str = "") -> None:
        """Set a setting: ``name``, ``scan``, ``notes`` or one of the caller's own."""
        with self.change(who, why) as made:
            write_setting(made, survey_rows.setting(key, value))

    def correct(self, layer: str, fid: int, changes: Mapping[str, Any], who: str, why: str) -> None:
        """Correct a row; the row as it was stays in the record."""
        with self.change(who, why) as made:
            made.correct(layer, fid, changes)

    def remove(self, layer: str, fids: Sequence[int], who: str, why: str) -> None:
        """Take rows out; they stay in the record."""
        with self.change(who, why) as made:
            made.remove(layer, fids)

    # Files

    def attach(
        self,
        file: str | Path | bytes,
        who: str,
        *,
        name: str = "",
        of: tuple[str, str] = ("", ""),
        note: str = "",
        keep_origin: bool = False,
    ) -> int:
        """Keep a picture or document, of a layer's row when ``of`` names one; return its number.

        Of a photograph the place it was taken at, the maker of the camera, names and comments are
        left out, unless ``keep_origin`` is set; the SHA-256 it came with is kept in any case.

        Raises
        ------
        FormatError
            If it is too large, damaged, or neither JPEG, PNG nor PDF.
        InputError
            If ``of`` names a row that is not there.
        """
        content = file if isinstance(file, bytes) else Path(file).read_bytes()
        name = name or ("attachment" if isinstance(file, bytes) else Path(file).name)
        kept = attachment.received(content, name, keep_origin=keep_origin)
        with self.change(who, note) as made:
            if of[0]:
                made.require_row(*of)
            return made.attach(kept, of, note)

    def issue(
        self, documents: Sequence[tuple[dict[str, Any], bytes]], who: str, why: str = ""
    ) -> list[int]:
        """Freeze issued documents; called by :func:`moisturemap.store.issue_together`."""
        with self.change(who, why) as made:
            for _, content in documents:
                made.keep(content)
            return made.add("issued_documents", [row for row, _ in documents])
