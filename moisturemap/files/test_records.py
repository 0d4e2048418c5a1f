"""Calibrated tests from a table."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.moment import is_day_only
from moisturemap.files.number import parse_numbers
from moisturemap.files.preface import said_above
from moisturemap.files.record_table import Column, RecordOptions, RecordTable
from moisturemap.files.table import address, read_table, shown, texts
from moisturemap.survey import TEST_COLUMNS, TEST_FIELDS, TEST_METHODS
from moisturemap.survey.note_words import may_spoil_test

TEST_HEADINGS: dict[str, tuple[str, ...]] = {
    "hole": (
        "test",
        "testid",
        "holeid",
        "point",
        "no",
        "nr",
        "id",
        "name",
        "label",
        "sample",
        "bohrung",
        "bohrloch",
        "loch",
        "messstelle",
        "pruefstelle",
        "messpunkt",
        "probe nr",
        "trou",
        "point de mesure",
    ),
    "x": ("xcoord", "xcoordinate", "easting", "rechtswert", "posx", "abscisse"),
    "y": ("ycoord", "ycoordinate", "northing", "hochwert", "posy", "ordonnee"),
    "room": ("space", "area", "raum", "zimmer", "piece", "salle"),
    "method": ("testmethod", "type", "verfahren", "methode", "pruefverfahren"),
    "depth_mm": ("depth", "holedepth", "probedepth", "tiefe", "bohrtiefe", "profondeur"),
    "thickness_mm": (
        "thickness",
        "slabthickness",
        "screedthickness",
        "dicke",
        "estrichdicke",
        "epaisseur",
    ),
    "value": (
        "result",
        "reading",
        "rh",
        "rhpct",
        "relativehumidity",
        "cmpct",
        "wert",
        "messwert",
        "ergebnis",
        "valeur",
        "resultat",
    ),
    "unit": ("units", "einheit", "unite"),
    "temperature_c": (
        "temperature",
        "temp",
        "tempc",
        "holetemperature",
        "inholetemperature",
        "temperaturehole",
        "temperatur",
        "temperature du trou",
    ),
    "slab_temperature_c": (
        "slabtemperature",
        "surfacetemperature",
        "slabtemp",
        "surfacetemp",
        "oberflaechentemperatur",
        "bodentemperatur",
    ),
    "air_temperature_c": (
        "airtemperature",
        "airtemp",
        "ambienttemperature",
        "roomtemperature",
        "lufttemperatur",
        "raumtemperatur",
        "temperature ambiante",
    ),
    "air_rh_pct": ("airrh", "ambientrh", "roomrh", "airhumidity", "luftfeuchte", "humidite air"),
    "drilled": ("drilledat", "timedrilled", "gebohrt", "perce"),
    "lined": ("linedat", "sleeved", "sealed", "huelsegesetzt"),
    "placed": ("placedat", "set", "started", "probeplaced", "gesetzt", "pose"),
    "read": ("readat", "timeread", "date", "datetime", "abgelesen", "gemessen", "lu"),
    "second_value": ("secondreading", "value2", "reading2", "secondresult"),
    "second_read": ("secondreadat", "read2", "secondtime"),
    "drift_pct": ("drift",),
    "instrument": ("meter", "device", "geraet", "messgeraet", "appareil"),
    "operator": ("tester", "technician", "pruefer", "operateur"),
    "edition": ("standard", "norm", "norme"),
    "note": (
        "notes",
        "comment",
        "comments",
        "remark",
        "remarks",
        "bemerkung",
        "kommentar",
        "remarque",
        "observation",
    ),
    "photo": ("photograph", "picture", "foto"),
    "mass_start_g": ("startmass", "massstart", "weightstart", "initialmass", "initialweight"),
    "mass_end_g": ("endmass", "massend", "weightend", "finalmass", "finalweight"),
    "mass_gain_g": ("massgain", "gain", "weightgain"),
    "dome_area_cm2": ("domearea", "area cm2"),
    "sample_mass_g": ("samplemass", "sample weight", "einwaage"),
    "pressure_bar": ("pressure", "druck", "pression"),
    "wet_mass_g": ("wetmass", "wetweight", "feuchtmasse"),
    "dry_mass_g": ("drymass", "dryweight", "trockenmasse"),
    "tare_g": ("tare", "tara", "dish"),
    "species": ("wood", "timber", "holzart", "essence"),
}
"""Headings of tests in English, German and French; each field also goes by its own name, with or
without its unit."""

_METHOD_WORDS = {key: method.synonyms for key, method in TEST_METHODS.items()}


def read_tests(
    path: Path | str, options: RecordOptions | None = None
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read calibrated tests from CSV or XLSX.

    Types and spelling are checked here; whether a test is valid is judged elsewhere, so a record
    that lacks a field is read all the same.

    Parameters
    ----------
    path : Path or str
    options : RecordOptions, optional

    Returns
    -------
    tests : pandas.DataFrame
        ``TEST_COLUMNS`` but ``test`` and ``visit``, then the further fields of ``TEST_FIELDS`` the
        table has, ``censored`` ("", "above", "below") and, as text, columns that are not known.
        ``x``, ``y`` in metres, NaN where no place is stated; times in UTC.
    notes : tuple of str

    Raises
    ------
    InputError
        Naming file, row, value and what is allowed.
    """
    options = options or RecordOptions()
    table = read_table(Path(path), options.sheet, options.name)
    columns = {name: Column(f.kind, f.low, f.high) for name, f in TEST_FIELDS.items()}
    records = RecordTable.find(table, columns, _headings(), ("method",), options)
    _refuse_more_values(records)
    frame, notes = records.frame()
    frame = records.positions(frame, needed=False)
    frame["method"] = records.keys("method", _METHOD_WORDS, "method")
    frame["unit"] = _units(records, frame)
    frame = _with_days(records, frame)
    frame = _with_words_beside(records, frame)
    frame["censored"] = parse_numbers(records.cells("value"), records.mark).censored
    if not records.rows:
        return _in_order(frame), (*notes, f"{table.source} holds no test.")
    notes += _repeated_names(frame, table.source)
    if frame["x"].isna().any():
        count = int(frame["x"].isna().sum())
        notes += (
            f"{table.source}: {count} of {len(frame)} tests state no place and cannot be "
            "shown on the map.",
        )
    return _in_order(frame), notes


_VALUE = re.compile(
    r"\b(?:rh|hr|readings?|values?|results?|messwert|wert|ergebnis|feuchte|humidity|valeur|lecture"
    r"|mesure|retest)\b"
)
_BESIDE = re.compile(
    r"\b(?:rh|hr|readings?|values?|results?|messwert|wert|ergebnis|feuchte|humidity|valeur|lecture"
    r"|mesure|retest|relative|relativ|final|first|last|initial|second|third|new|old|re|check|repeat"
    r"|before|after|erste|erster|zweite|zweiter|letzte|letzter|neu|alt|premiere|deuxieme|pct|cm"
    r"|\d)\b|[\W_]"
)


def _refuse_more_values(records: RecordTable) -> None:
    """Refuse a column of numbers beside the results that may be results too.

    Of two readings the higher is judged, so none may be kept as mere text.
    """
    header = records.header
    for j, heading in header.others.items():
        words = heading.casefold()
        if not _VALUE.search(words.replace("_", " ")) or _BESIDE.sub("", words.replace("_", " ")):
            continue
        cells = [records.table.rows[i][j] for i in records.rows]
        numbers = parse_numbers(cells, records.mark)
        found = np.flatnonzero(~(numbers.bad | numbers.blank))
        if found.size:
            raise SurveyError(
                f"column {heading} may hold results, and the table has no such field",
                source=records.table.source,
                place=records.table.place(records.rows[int(found[0])], j),
                value=shown(cells[int(found[0])]),
                allowed="value for the result, second_value and second_read for a second reading "
                "of it; a further test in a row of its own; or note",
            )


def _headings() -> dict[str, tuple[str, ...]]:
    headings = {}
    for name in TEST_FIELDS:
        bare = re.sub(r"_(?:mm|c|pct|g|cm2|bar)$", "", name)
        own = (name, bare) if bare not in TEST_FIELDS else (name,)
        headings[name] = (*own, *TEST_HEADINGS.get(name, ()))
    return headings


def _units(records: RecordTable, frame: pd.DataFrame) -> list[str]:
    units = []
    blank = [not text for text in texts(records.cells("value"))]
    for k, (text, key) in enumerate(
        zip(texts(records.cells("unit")), frame["method"], strict=True)
    ):
        method = TEST_METHODS[key]
        spelled = {_bare(unit): unit for unit in method.units}
        if text and _bare(text) not in spelled:
            raise records.refuse(
                f"the method {key} has no such unit", "unit", k, ", ".join(method.units)
            )
        if not text and method.asks_unit and not blank[k]:
            message = f"the unit of a {key} test has to be stated"
            raise records.refuse(message, "value", k, ", ".join(method.units))
        units.append(spelled[_bare(text)] if text else method.units[0])
    return units


def _with_days(records: RecordTable, frame: pd.DataFrame) -> pd.DataFrame:
    """Return the frame with the names of times that are stated as a day without a time of day."""
    times = [name for name, one in TEST_FIELDS.items() if one.kind == "time" and name in frame]
    known = frame["day_only"] if "day_only" in frame else [""] * len(frame)
    said = [set(str(names).split()) for names in known]
    for name in times:
        for names, cell in zip(said, records.cells(name), strict=True):
            names |= {name} if is_day_only(cell) else set()
    if any(said):
        frame["day_only"] = [" ".join(name for name in times if name in names) for names in said]
    return frame


def _with_words_beside(records: RecordTable, frame: pd.DataFrame) -> pd.DataFrame:
    """Return the frame with comments of cells, and what is said above the headings, as columns.

    What is said of no single row is said of all; so is what spoils tests in the name of file or
    sheet ("VOID do not use").
    """
    heading, rows = records.header.row, {row: k for k, row in enumerate(records.rows)}
    columns: dict[str, list[str]] = {
        f"preface of row {row + 1}": [line] * len(rows)
        for row, line in said_above(records.table, heading).items()
    }
    called = records.table.source.rsplit("/", 1)[-1]
    if may_spoil_test(called.replace("_", " ")):
        columns["name of the file"] = [called] * len(rows)
    for (row, column), words in records.table.comments.items():
        headings = texts(records.table.rows[heading])
        if row in rows:
            name = next(iter(filter(None, headings[column : column + 1])), f"column {column + 1}")
            columns.setdefault(f"comment on {name}", [""] * len(rows))[rows[row]] = words
        else:
            columns[f"comment on {address(row, column)}"] = [words] * len(rows)
    for name, cells in columns.items():
        frame[records.free_name(name, frame)] = cells
    return frame


def _bare(unit: str) -> str:
    return re.sub(r"[\s.²]", "", unit.casefold().replace("²", "2"))


def _repeated_names(frame: pd.DataFrame, source: str) -> tuple[str, ...]:
    if "hole" not in frame:
        return ()
    named = frame[frame["hole"] != ""]
    told = [name for name in ("hole", "method", "depth_mm", "x", "y", "read") if name in named]
    copies = named.duplicated(told)
    notes: tuple[str, ...] = ()
    if copies.any():
        rows = ", ".join(named.loc[copies, "row"])
        notes += (
            f"{source}: rows {rows} repeat hole, method, depth, place and time of an earlier row;"
            " all were kept.",
        )
    return (*notes, *_names_apart(named, source))


def _names_apart(named: pd.DataFrame, source: str) -> tuple[str, ...]:
    """Say which names stand at places apart: they are two holes, whatever they are called."""
    notes = []
    for hole, rows in named.dropna(subset=["x", "y"]).groupby("hole", sort=False):
        apart = float(np.hypot(np.ptp(rows["x"]), np.ptp(rows["y"])))
        if apart > ONE_HOLE_M:
            notes.append(
                f"{source}: rows {', '.join(rows['row'])} name places {apart:.1f} m apart {hole!r};"
                " they are judged as tests of their own. Give each hole its own name."
            )
    return tuple(notes)


ONE_HOLE_M = 0.35
"""Places of one name farther apart than this are told [m]; as in the verdict."""


def _in_order(frame: pd.DataFrame) -> pd.DataFrame:
    """Give the columns every table has, whatever the file states, then the rest."""
    frame = frame.reset_index(drop=True)
    for name in TEST_COLUMNS:
        if name in ("test", "visit") or name in frame:
            continue
        kind = TEST_FIELDS[name].kind if name in TEST_FIELDS else "text"
        if kind == "number":
            frame[name] = np.nan
        elif kind == "time":
            frame[name] = pd.Series([pd.NaT] * len(frame), dtype="datetime64[us, UTC]")
        else:
            frame[name] = ""
    first = [name for name in TEST_COLUMNS if name in frame]
    return frame[[*first, *[name for name in frame if name not in first]]]
