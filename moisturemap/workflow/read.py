"""Read a survey: a folder with survey.toml, the .toml itself, or a project file."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from moisturemap.checked import require
from moisturemap.errors import FormatError, SurveyError
from moisturemap.files import (
    FileEntry,
    ReadingOptions,
    RecordOptions,
    SurveyFile,
    nearest,
    read_acclimation,
    read_equipment,
    read_plan,
    read_readings,
    read_survey_toml,
    read_tests,
)
from moisturemap.files.moment import clock_of_visit
from moisturemap.floorplan import FloorPlan
from moisturemap.language import keep_names
from moisturemap.provenance import Fingerprint, Provenance, fingerprint
from moisturemap.survey import (
    EQUIPMENT_COLUMNS,
    READING_COLUMNS,
    SCANNING_KINDS,
    TEST_COLUMNS,
    Instrument,
    Survey,
    Visit,
    given_names,
)
from moisturemap.workflow.beside_survey import with_beside
from moisturemap.workflow.photographs import missing_photographs
from moisturemap.workflow.read_logs import read_loggers, read_logs_of_machines
from moisturemap.workflow.same_names import (
    check_logs_of_air,
    settle_by_place,
    settle_stated_rooms,
)

SURVEY_FILE = "survey.toml"

Found = tuple[pd.DataFrame, tuple[str, ...]]


def read_survey(path: str | Path) -> Survey:
    """Read a survey and everything it names.

    Parameters
    ----------
    path : str or Path
        A folder with ``survey.toml``, the ``.toml`` itself, or a project file (``.gpkg``).

    Returns
    -------
    Survey

    Raises
    ------
    InputError
        Naming file, row or cell or key, value and what is allowed.
    StoreError
        If a project file cannot be opened.
    """
    require(path, (str, Path), "the path of a survey", "a path, as text or Path")
    where = Path(path)
    if where.suffix.lower() == ".gpkg" and not where.is_dir():
        from moisturemap.store import read_project

        survey = read_project(where)
        keep_names(given_names(survey))
        return survey
    if where.is_dir():
        where = where / SURVEY_FILE
    elif where.exists() and where.suffix.lower() != ".toml":
        raise FormatError(
            "a survey is not read from this kind of file",
            source=str(path),
            value=where.suffix,
            allowed="a folder with survey.toml, the .toml itself, or a project .gpkg",
        )
    file = read_survey_toml(where)
    survey = with_beside(_compose(file, where), where.parent, file.changed_before)
    keep_names(given_names(survey))
    return survey


def _compose(file: SurveyFile, where: Path) -> Survey:
    plan, file, notes = _plan(file)
    visits, order_notes = _in_order(file.visits)
    visits, log_notes = _with_logs(file, visits, plan)
    instruments, meters, meter_notes = _meters(file)
    _refuse_repeated_files(file)
    _refuse_unknown_base(file, plan)
    readings, reading_notes = _readings(file, visits, instruments, meters)
    tests, test_notes = _records(file, visits, "tests", read_tests, TEST_COLUMNS, "test")
    (readings, tests), settled = settle_by_place((readings, tests), plan)
    machines, machine_notes = _records(
        file, visits, "equipment", read_equipment, EQUIPMENT_COLUMNS, None
    )
    loggers, logger_notes = read_loggers(file, plan)
    logs, machine_log_notes = read_logs_of_machines(file, plan)
    _refuse_unknown_instruments(tests, instruments)
    said = (
        *file.notes,
        *notes,
        *order_notes,
        *log_notes,
        *meter_notes,
        *reading_notes,
        *test_notes,
        *machine_notes,
        *logger_notes,
        *machine_log_notes,
        *settled,
        *missing_photographs(tests, file.folder or where.parent),
    )
    return Survey(
        name=file.name,
        plan=plan,
        instruments=instruments,
        visits=visits,
        readings=readings,
        tests=tests,
        equipment=machines,
        scan=file.scan,
        limit=file.limit,
        room_limits=file.room_limits,
        notes=tuple(dict.fromkeys(said)),
        folder=file.folder,
        provenance=Provenance(inputs=_fingerprints(file, where)),
        details=file.details,
        units=file.units,
        timezone=file.timezone,
        site=file.site,
        loggers=loggers,
        machine_logs=logs,
    )


def _plan(file: SurveyFile) -> tuple[FloorPlan, SurveyFile, tuple[str, ...]]:
    """Read the plan and put what the survey says of the slabs into its rooms."""
    plan, notes = read_plan(file.plan.path, otherwise=file.coordinates, **file.plan.options)
    names = [room.name for room in plan.rooms]
    for name in (*file.slabs, *file.room_limits):
        if name not in names:
            meant = nearest(name, names)
            message = "the plan has no such room" + (f"; did you mean {meant!r}?" if meant else "")
            raise SurveyError(
                message,
                source=file.source,
                place="[[rooms]] name",
                value=name,
                allowed=", ".join(names),
            )
    file, settled = settle_stated_rooms(file, plan)
    rooms = tuple(
        replace(
            room,
            slab=replace(room.slab, **file.slabs[room.name]),
            storey=file.storeys.get(room.name),
        )
        if room.name in file.slabs
        else room
        for room in plan.rooms
    )
    said = (*(note for note in notes if note not in plan.notes), *settled)
    return replace(plan, rooms=rooms), file, said


def _in_order(visits: tuple[Visit, ...]) -> tuple[tuple[Visit, ...], tuple[str, ...]]:
    """Sort visits by their start where all state one."""
    starts = [visit.started for visit in visits]
    known = [start for start in starts if start is not None]
    if len(known) < len(visits):
        if len(visits) == 1:
            return visits, ()
        return visits, (
            "Not every visit states when it started; they are taken in the order they are written.",
        )
    ordered = tuple(sorted(visits, key=lambda visit: visit.started or known[0]))
    notes = []
    if ordered != visits:
        notes.append("The visits are not written in order of time; they were put in order.")
    if len(set(known)) < len(known):
        notes.append("Two visits state the same start.")
    return ordered, tuple(notes)


def _with_logs(
    file: SurveyFile, visits: tuple[Visit, ...], plan: FloorPlan
) -> tuple[tuple[Visit, ...], tuple[str, ...]]:
    """Add the climate logs a visit names to the entries written by hand."""
    notes: list[str] = []
    full = []
    for visit in visits:
        log = list(visit.acclimation)
        for entry in file.files[visit.id].acclimation:
            given = dict(entry.options)
            room = str(given.pop("room", ""))
            options = RecordOptions(**given, **_clock(visit, file), name=entry.name)
            found, more = read_acclimation(entry.path, options, room=room)
            log.extend(found)
            notes.extend(more)
        in_order = tuple(sorted(log, key=lambda one: one.when))
        full.append(replace(visit, acclimation=in_order))
        check_logs_of_air(full[-1], file, plan)
    return tuple(full), tuple(notes)


def _meters(
    file: SurveyFile,
) -> tuple[dict[str, Instrument], dict[str, str], tuple[str, ...]]:
    """Return instruments, and the instrument of each readings file by its visit and place."""
    instruments = dict(file.instruments)
    notes: list[str] = []
    chosen: dict[str, str] = {}
    for visit in file.visits:
        for number, entry in enumerate(file.files[visit.id].readings, start=1):
            place = f"visit {visit.id}, readings {number}"
            name = entry.options.get("instrument")
            if name is None:
                name = _only_meter(instruments, file.source, place, entry)
                if name not in instruments:
                    instruments[name] = Instrument(name)
                    notes.append(
                        f"{file.source} names no instrument; the readings were taken as "
                        "relative readings of one meter."
                    )
            elif name not in instruments:
                _refuse_instrument(str(name), instruments, file.source, place)
            chosen[f"{visit.id}\n{number}"] = name
    return instruments, chosen, tuple(notes)


def _only_meter(
    instruments: dict[str, Instrument], source: str, place: str, entry: FileEntry
) -> str:
    if not instruments:
        return "meter"
    scanning = [name for name, one in instruments.items() if one.kind in SCANNING_KINDS]
    if len(scanning) != 1:
        raise SurveyError(
            "the file does not say which instrument it was read with",
            source=source,
            place=place,
            value=entry.name,
            allowed=", ".join(f'instrument = "{name}"' for name in scanning)
            or 'an instrument of kind "relative" or "pin"',
        )
    return scanning[0]


def _refuse_instrument(name: str, known: Iterable[str], source: str, place: str) -> None:
    meant = nearest(name, known)
    message = "there is no such instrument" + (f"; did you mean {meant!r}?" if meant else "")
    raise SurveyError(
        message,
        source=source,
        place=place,
        value=name,
        allowed=", ".join(known) or "an id under [[instruments]]",
    )


def _refuse_unknown_base(file: SurveyFile, plan: FloorPlan) -> None:
    """Refuse a wet level of a material that no room is stated to be of."""
    bases = {room.slab.base.strip() for room in plan.rooms if room.slab.base.strip()}
    base = file.scan.base.strip()
    if base and base.casefold() not in {one.casefold() for one in bases}:
        raise SurveyError(
            "the wet level is of a material that no room is of",
            source=file.source,
            place="[scan] base",
            value=base,
            allowed=", ".join(sorted(bases)) or "a base stated in [[rooms]]",
        )


def _refuse_repeated_files(file: SurveyFile) -> None:
    """Refuse a file named twice in one visit: it would count every reading twice."""
    for visit in file.visits:
        files = file.files[visit.id]
        for kind, entries in (
            ("readings", files.readings),
            ("tests", files.tests),
            ("equipment", files.equipment),
        ):
            seen: dict[tuple[str, object], str] = {}
            for entry in entries:
                key = (fingerprint(entry.path).sha256, entry.options.get("sheet"))
                if key in seen:
                    message = f"the same content is listed twice, here and as {seen[key]!r}"
                    raise SurveyError(
                        message,
                        source=file.source,
                        place=f"visit {visit.id}, {kind}",
                        value=entry.name,
                        allowed="each file once a visit",
                    )
                seen[key] = entry.name


def _readings(
    file: SurveyFile,
    visits: tuple[Visit, ...],
    instruments: dict[str, Instrument],
    meters: dict[str, str],
) -> Found:
    frames: list[pd.DataFrame] = []
    notes: list[str] = []
    for visit in visits:
        for number, entry in enumerate(file.files[visit.id].readings, start=1):
            given = {"coordinates": file.coordinates, **entry.options}
            given.pop("instrument", None)
            options = ReadingOptions(**given, **_clock(visit, file), name=entry.name)
            frame, found = read_readings(entry.path, options)
            meter = instruments[meters[f"{visit.id}\n{number}"]]
            frames.append(_at_scale_end(frame.assign(visit=visit.id, instrument=meter.id), meter))
            notes.extend(found)
    if not frames:
        return _empty(READING_COLUMNS), ("The survey has no readings.",)
    readings = pd.concat(frames, ignore_index=True)
    readings["reading"] = np.arange(1, len(readings) + 1)
    readings = readings.astype({"visit": "str", "instrument": "str"})
    return readings[list(READING_COLUMNS)], (*notes, *_copied_visits(readings))


def _clock(visit: Visit, file: SurveyFile) -> dict[str, Any]:
    """Return the zone of times that state none (the survey's, else the visit's) and the day."""
    zone, day = clock_of_visit(file.zone, visit.started)
    return {"zone": zone, "day": day}


def _at_scale_end(frame: pd.DataFrame, meter: Instrument) -> pd.DataFrame:
    """Full scale written as a word stands for the end of the scale, where that is stated."""
    if meter.scale is None:
        return frame
    for side, end in (("below", meter.scale[0]), ("above", meter.scale[1])):
        frame.loc[frame["value"].isna() & (frame["censored"] == side), "value"] = end
    return frame


def _copied_visits(readings: pd.DataFrame) -> tuple[str, ...]:
    """Say where the values of one visit are those of another, place by place."""
    seen: dict[int, str] = {}
    notes = []
    for visit, rows in readings.groupby("visit", sort=False):
        values = rows[["x", "y", "value"]].sort_values(["x", "y", "value"], ignore_index=True)
        key = hash(values.round(6).to_numpy().tobytes())
        if len(rows) > 3 and key in seen:
            notes.append(
                f"Visits {seen[key]} and {visit} hold the same values at the same places: "
                "one may be a copy of the other."
            )
        seen.setdefault(key, str(visit))
    return tuple(notes)


def _records(
    file: SurveyFile,
    visits: tuple[Visit, ...],
    kind: str,
    read: Callable[[Path, RecordOptions], Found],
    columns: tuple[str, ...],
    number: str | None,
) -> Found:
    """Read the tests or the machines of all visits into one table."""
    frames: list[pd.DataFrame] = []
    notes: list[str] = []
    for visit in visits:
        entries: tuple[FileEntry, ...] = getattr(file.files[visit.id], kind)
        for entry in entries:
            given: dict[str, Any] = {"coordinates": file.coordinates, **entry.options}
            options = RecordOptions(**given, **_clock(visit, file), name=entry.name)
            frame, found = read(entry.path, options)
            frames.append(frame.assign(visit=visit.id))
            notes.extend(found)
    frames = [frame for frame in frames if len(frame)]
    if not frames:
        return _empty(columns), tuple(notes)
    table = pd.concat(frames, ignore_index=True)
    if number:
        table[number] = np.arange(1, len(table) + 1)
    order = [*columns, *[name for name in table if name not in columns]]
    for name in table.select_dtypes(include=["str"]):
        table[name] = table[name].fillna("")
    return table[order], tuple(notes)


def _empty(columns: tuple[str, ...]) -> pd.DataFrame:
    numbers = {
        "x",
        "y",
        "value",
        "depth_mm",
        "temperature_c",
        "air_temperature_c",
        "air_rh_pct",
        "direction_deg",
        "capacity",
    }
    counts = {"reading", "repeat", "test"}
    times = {"time", "drilled", "placed", "read"}
    kinds = {
        name: "float"
        if name in numbers
        else "int"
        if name in counts
        else "datetime64[us, UTC]"
        if name in times
        else "str"
        for name in columns
    }
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})


def _refuse_unknown_instruments(tests: pd.DataFrame, instruments: dict[str, Instrument]) -> None:
    for source, row, name in zip(tests["source"], tests["row"], tests["instrument"], strict=True):
        if name and name not in instruments:
            _refuse_instrument(str(name), instruments, str(source), f"row {row}")


def _fingerprints(file: SurveyFile, where: Path) -> tuple[Fingerprint, ...]:
    found = [fingerprint(where), replace(fingerprint(file.plan.path), name=file.plan.name)]
    for files in file.files.values():
        for entry in (*files.readings, *files.tests, *files.equipment, *files.acclimation):
            found.append(replace(fingerprint(entry.path), name=entry.name))
    for entry in (*file.loggers, *file.machine_logs):
        found.append(replace(fingerprint(entry.path), name=entry.name))
    return tuple(dict.fromkeys(found))
