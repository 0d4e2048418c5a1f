"""survey.toml: the hand-written description of a survey folder."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, tzinfo
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError, SurveyError
from moisturemap.files.delimited import decode
from moisturemap.files.moment import with_zone, zone_of
from moisturemap.files.setting import Setting, check_settings, nearest
from moisturemap.files.site_setting import site_of
from moisturemap.files.stated_rooms import (
    refuse_repeated,
    stated_limit,
    stated_rooms,
    stated_storeys,
)
from moisturemap.files.survey_keys import (
    ACCLIMATION_FILE_KEYS,
    ACCLIMATION_KEYS,
    CELSIUS,
    CHECK_KEYS,
    INSTRUMENT_KEYS,
    LOGGER_KEYS,
    MACHINE_LOG_KEYS,
    OTHER_FILE_KEYS,
    PLAN_KEYS,
    READING_FILE_KEYS,
    SCAN_KEYS,
    SURVEY_KEYS,
    SURVEY_TABLES,
    VISIT_KEYS,
)
from moisturemap.floorplan import SitePlace, Storey
from moisturemap.quantities import METRES_PER_UNIT
from moisturemap.survey import (
    DETAILS,
    AmbientReading,
    Instrument,
    InstrumentCheck,
    Limit,
    ScanSettings,
    Visit,
)


@dataclass(frozen=True)
class FileEntry:
    """A file a visit names: where it is and how to read it."""

    path: Path
    name: str
    options: dict[str, Any]


@dataclass(frozen=True)
class VisitFiles:
    """The files of one visit."""

    readings: tuple[FileEntry, ...] = ()
    tests: tuple[FileEntry, ...] = ()
    equipment: tuple[FileEntry, ...] = ()
    acclimation: tuple[FileEntry, ...] = ()


@dataclass(frozen=True)
class SurveyFile:
    """What survey.toml states, before the files it names are read.

    Attributes
    ----------
    zone : tzinfo or None
        Zone of times that state none; None when the survey names none, which means UTC.
    slabs : dict of str to dict
        By name of room, what is stated of its slab (keys of ``Slab``).
    storeys : dict of str to Storey
        By name of room, the storey it is on.
    every_storey : tuple of Storey
        Those of ``[[storeys]]``.
    files : dict of str to VisitFiles
        By id of visit.
    units : str
        What is printed unless asked otherwise; of a floor measured in feet or inches ``us``.
    site : SitePlace or None
    timezone : str
        Name of ``zone`` as stated, "" for none.
    loggers, machine_logs : tuple of FileEntry
    changed_before : str
        Fingerprint of what was changed before the folder was unpacked; "" where nothing was.
    """

    source: str
    folder: Path
    name: str
    coordinates: str
    zone: tzinfo | None
    details: dict[str, str]
    plan: FileEntry
    slabs: dict[str, dict[str, Any]]
    storeys: dict[str, Storey]
    instruments: dict[str, Instrument]
    visits: tuple[Visit, ...]
    files: dict[str, VisitFiles]
    scan: ScanSettings
    limit: Limit | None
    room_limits: dict[str, Limit]
    units: str = "metric"
    timezone: str = ""
    site: SitePlace | None = None
    loggers: tuple[FileEntry, ...] = ()
    machine_logs: tuple[FileEntry, ...] = ()
    notes: tuple[str, ...] = field(default=())
    every_storey: tuple[Storey, ...] = ()
    changed_before: str = ""


def read_survey_toml(path: Path) -> SurveyFile:
    """Read and check survey.toml; the files it names must lie in its folder.

    Parameters
    ----------
    path : Path

    Raises
    ------
    FormatError
        If it is not TOML text.
    SurveyError
        Naming table, key, value and what is allowed.
    """
    source = path.name
    content, notes = _load(path, source)
    tables = check_settings(content, SURVEY_TABLES, source, "top level")
    head = check_settings(tables["survey"], SURVEY_KEYS, source, "[survey]")
    folder = path.parent
    zone = zone_of(head["timezone"], source) if "timezone" in head else None
    plan = check_settings(tables["plan"], PLAN_KEYS, source, "[plan]")
    visits, files = _visits(tables["visits"], folder, source, zone)
    scale = METRES_PER_UNIT[head.get("coordinates", "m")]
    visits = tuple(_surface_in_metres(visit, scale, source) for visit in visits)
    limit = stated_limit(tables["limit"], source, "[limit]") if "limit" in tables else None
    slabs, room_limits = stated_rooms(tables.get("rooms", []), source, limit)
    every_storey, storeys = stated_storeys(tables.get("storeys", []), slabs, source, scale)
    if zone is None and _naive(tables["visits"]):
        notes += (f"{source} states no timezone: starts of visits were taken as UTC.",)
    return SurveyFile(
        source=source,
        folder=folder,
        name=head["name"],
        coordinates=head.get("coordinates", "m"),
        zone=zone,
        details={key: head[key] for key in DETAILS if key in head},
        plan=_entry(plan, folder, source, "[plan]"),
        slabs=slabs,
        storeys=storeys,
        every_storey=every_storey,
        instruments=_instruments(tables.get("instruments", []), source, zone),
        visits=visits,
        files=files,
        scan=_scan(tables.get("scan", {}), source),
        limit=limit,
        room_limits=room_limits,
        timezone=head.get("timezone", ""),
        units=head.get("units", "us" if head.get("coordinates") in ("ft", "in") else "metric"),
        site=site_of(tables["site"], source) if "site" in tables else None,
        loggers=_running(tables, "loggers", LOGGER_KEYS, folder, source),
        machine_logs=_running(tables, "machine_logs", MACHINE_LOG_KEYS, folder, source),
        notes=notes,
        changed_before=head.get("changed_before", ""),
    )


LONGEST_NAME = 200
"""Characters of a file name with its folders; file systems take 255 bytes a part. Our choice."""


def _load(path: Path, source: str) -> tuple[dict[str, Any], tuple[str, ...]]:
    if not path.is_file():
        raise SurveyError(
            "there is no such file",
            source=str(path),
            allowed="a folder with survey.toml, the .toml itself, or a project .gpkg",
        )
    text, notes = decode(path.read_bytes(), source)
    try:
        return tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n")), notes
    except (ValueError, RecursionError) as error:
        raise FormatError(
            f"this is not TOML: {error}",
            source=source,
            allowed="key = value lines; text in quotes; numbers with a decimal point",
        ) from error


def _naive(visits: list[dict[str, Any]]) -> bool:
    return any(getattr(visit.get("started"), "tzinfo", UTC) is None for visit in visits)


def _entry(checked: Mapping[str, Any], folder: Path, source: str, where: str) -> FileEntry:
    name = checked["file"]
    path = Path(name.replace("\\", "/"))
    absolute = path.is_absolute() or name[1:2] == ":"
    inside = not absolute and (folder / path).resolve().is_relative_to(folder.resolve())
    if not inside or not name.strip():
        raise SurveyError(
            "files must lie in the survey folder or below it",
            source=source,
            place=f"{where} file",
            value=name,
            allowed="a name relative to the folder of survey.toml",
        )
    if len(name) > LONGEST_NAME:
        raise SurveyError(
            "the name of the file is too long",
            source=source,
            place=f"{where} file",
            value=f"{name[:60]}...",
            allowed=f"{LONGEST_NAME} characters",
        )
    if not (folder / path).is_file():
        here = [str(p.relative_to(folder)) for p in (folder / path).parent.glob("*") if p.is_file()]
        meant = nearest(str(path), here)
        message = "there is no such file in the survey folder"
        raise SurveyError(
            message + (f"; did you mean {meant!r}?" if meant else ""),
            source=source,
            place=f"{where} file",
            value=name,
            allowed=", ".join(sorted(here)[:20]) or None,
        )
    options = {key: value for key, value in checked.items() if key != "file"}
    return FileEntry(folder / path, path.as_posix(), options)


def _visits(
    tables: list[dict[str, Any]], folder: Path, source: str, zone: tzinfo | None
) -> tuple[tuple[Visit, ...], dict[str, VisitFiles]]:
    if not tables:
        raise SurveyError(
            "a survey has at least one visit",
            source=source,
            place="[[visits]]",
            allowed="[[visits]] with id and readings",
        )
    visits: list[Visit] = []
    files: dict[str, VisitFiles] = {}
    for number, table in enumerate(tables, start=1):
        where = f"[[visits]] {number}"
        stated = check_settings(table, VISIT_KEYS, source, where)
        refuse_repeated(stated["id"], files, source, where)
        kinds = {
            "readings": READING_FILE_KEYS,
            "tests": OTHER_FILE_KEYS,
            "equipment": OTHER_FILE_KEYS,
        }
        log, stated["acclimation"] = _log(stated.pop("acclimation", []), source, where, zone)
        kinds["acclimation"] = ACCLIMATION_FILE_KEYS
        named = {**stated, "acclimation": log}
        files[stated["id"]] = VisitFiles(
            **{
                kind: _entries(named.get(kind, []), keys, folder, source, f"{where} {kind}")
                for kind, keys in kinds.items()
            }
        )
        for kind in ("readings", "tests", "equipment"):
            stated.pop(kind, None)
        if "started" in stated:
            stated["started"] = _moment(stated["started"], zone)
        stated["dry_reference"] = tuple(map(float, stated.get("dry_reference", ())))
        spots = stated.get("surface_temperatures", ())
        stated["surface_temperatures"] = tuple(tuple(map(float, spot)) for spot in spots)
        visits.append(Visit(**stated))
    return tuple(visits), files


def _surface_in_metres(visit: Visit, scale: float, source: str) -> Visit:
    """Give the places of surface temperatures in metres."""
    found = []
    for x, y, temperature in visit.surface_temperatures:
        if not CELSIUS.low <= temperature <= CELSIUS.high:  # type: ignore[operator]
            raise SurveyError(
                "a surface temperature cannot be right",
                source=source,
                place=f"visit {visit.id} surface_temperatures",
                value=temperature,
                allowed=f"{CELSIUS.low:g} to {CELSIUS.high:g} °C",
            )
        found.append((x * scale, y * scale, float(temperature)))
    return replace(visit, surface_temperatures=tuple(found))


def _entries(
    stated: Any, keys: Mapping[str, Setting], folder: Path, source: str, where: str
) -> tuple[FileEntry, ...]:
    entries = stated if isinstance(stated, list) else [stated]
    found = []
    for number, entry in enumerate(entries, start=1):
        place = f"{where} {number}"
        table = {"file": entry} if isinstance(entry, str) else entry
        found.append(_entry(check_settings(table, keys, source, place), folder, source, place))
    return tuple(found)


def _running(
    tables: Mapping[str, Any], kind: str, keys: Mapping[str, Setting], folder: Path, source: str
) -> tuple[FileEntry, ...]:
    """Return the files that run on between visits; each logger has an id of its own."""
    entries = _entries(tables.get(kind, []), keys, folder, source, f"[[{kind}]]")
    known: dict[str, Any] = {}
    for number, entry in enumerate(entries, start=1):
        if "timezone" in entry.options:
            where = f"[[{kind}]] {number} timezone"
            entry.options["zone"] = zone_of(entry.options.pop("timezone"), source, where)
        if "id" in entry.options:
            refuse_repeated(entry.options["id"], known, source, f"[[{kind}]] {number}")
            known[entry.options["id"]] = entry
    return entries


def _log(
    stated: Any, source: str, where: str, zone: tzinfo | None
) -> tuple[list[Any], tuple[AmbientReading, ...]]:
    """Part the entries of an acclimation log from the files it names."""
    entries = stated if isinstance(stated, list) else [stated]
    files = [one for one in entries if isinstance(one, str) or "file" in one]
    log = []
    for number, entry in enumerate([one for one in entries if one not in files], start=1):
        place = f"{where} acclimation {number}"
        read = check_settings(entry, ACCLIMATION_KEYS, source, place)
        log.append(AmbientReading(**{**read, "when": _moment(read["when"], zone)}))
    return files, tuple(sorted(log, key=lambda one: one.when))


def _moment(value: date, zone: tzinfo | None) -> datetime:
    if isinstance(value, datetime):
        return with_zone(value, zone or UTC)
    return datetime(value.year, value.month, value.day, tzinfo=zone or UTC)


def _instruments(
    tables: list[dict[str, Any]], source: str, zone: tzinfo | None
) -> dict[str, Instrument]:
    instruments: dict[str, Instrument] = {}
    for number, table in enumerate(tables, start=1):
        where = f"[[instruments]] {number}"
        stated = check_settings(table, INSTRUMENT_KEYS, source, where)
        refuse_repeated(stated["id"], instruments, source, where)
        checks = []
        for k, check in enumerate(stated.pop("checks", []), start=1):
            read = check_settings(check, CHECK_KEYS, source, f"{where} checks {k}")
            checks.append(InstrumentCheck(**{**read, "when": _moment(read["when"], zone)}))
        if "scale" in stated:
            stated["scale"] = (float(stated["scale"][0]), float(stated["scale"][1]))
        in_order = tuple(sorted(checks, key=lambda check: check.when))
        instruments[stated["id"]] = Instrument(**stated, checks=in_order)
    return instruments


def _scan(table: dict[str, Any], source: str) -> ScanSettings:
    stated = check_settings(table, SCAN_KEYS, source, "[scan]")
    reference = tuple(map(float, stated.get("dry_reference", ())))
    return ScanSettings(stated.get("wet_level"), reference, stated.get("base", ""))
