"""Column headings as the trade writes them, and which column they stand for."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from moisturemap.errors import SurveyError
from moisturemap.files.table import Cell, Table, is_blank, shown
from moisturemap.quantities import METRES_PER_UNIT

ROWS_SEARCHED = 25
"""A heading row is looked for in this many first rows; titles may stand above it."""

Synonyms = Mapping[str, tuple[str, ...]]

LENGTH_WORDS = {
    "m": "m",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "cm": "cm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "ft": "ft",
    "feet": "ft",
    "foot": "ft",
    "fuss": "ft",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "zoll": "in",
    '"': "in",
    "″": "in",
    "''": "in",
    "'": "ft",
    "′": "ft",
}

OTHER_UNITS = frozenset(
    (
        *("dm", "decimetre", "decimetres", "decimeter", "decimeters", "dezimeter"),
        *("yd", "yds", "yard", "yards", "km", "µm", "mil", "mils", "k", "kelvin"),
        *("pace", "paces", "step", "steps", "schritt", "schritte", "tile", "tiles", "fliesen"),
        *("%", "percent", "prozent", "px", "pixel", "pixels"),
    )
)
"""Units of headings that are refused where a length or a temperature stands: none is converted."""

READING_HEADINGS: Synonyms = {
    "x": (
        "xcoord",
        "xcoordinate",
        "xpos",
        "posx",
        "xposition",
        "east",
        "easting",
        "rechtswert",
        "xkoordinate",
        "coordx",
        "coordonneex",
        "abscisse",
        "along",
    ),
    "y": (
        "ycoord",
        "ycoordinate",
        "ypos",
        "posy",
        "yposition",
        "north",
        "northing",
        "hochwert",
        "ykoordinate",
        "coordy",
        "coordonneey",
        "ordonnee",
        "across",
    ),
    "value": (
        "reading",
        "val",
        "relativereading",
        "scan",
        "scanreading",
        "scanvalue",
        "meter",
        "meterreading",
        "moisture",
        "moisturereading",
        "mc",
        "wme",
        "digit",
        "digits",
        "scale",
        "rel",
        "relative",
        "wert",
        "messwert",
        "anzeige",
        "feuchte",
        "feuchtewert",
        "valeur",
        "lecture",
        "mesure",
        "humidite",
    ),
    "room": ("space", "area", "zone", "raum", "zimmer", "piece", "local", "salle"),
    "label": (
        "point",
        "pointid",
        "id",
        "name",
        "no",
        "nr",
        "number",
        "ref",
        "reference",
        "spot",
        "location",
        "station",
        "messpunkt",
        "messstelle",
        "punkt",
        "repere",
        "numero",
    ),
    "repeat": ("rep", "repeats", "replicate", "repetition", "wiederholung", "reading no", "pass"),
    "time": ("datetime", "timestamp", "readat", "taken", "uhrzeit", "zeit", "zeitpunkt", "heure"),
    "date": ("day", "datum", "tag", "jour"),
    "note": (
        "notes",
        "comment",
        "comments",
        "remark",
        "remarks",
        "bemerkung",
        "bemerkungen",
        "kommentar",
        "remarque",
        "remarques",
        "commentaire",
        "observation",
    ),
}


@dataclass(frozen=True)
class Header:
    """A heading row.

    Attributes
    ----------
    row : int
        Its index; the data start below it.
    columns : dict of str to int
        Index of the column of each known heading.
    units : dict of str to str
        Unit of length a heading states, e.g. ``x (ft)``.
    others : dict of int to str
        Headings that are not known, as written.
    units_below : bool
        Whether the row below holds units instead of data.
    """

    row: int
    columns: dict[str, int]
    units: dict[str, str]
    others: dict[int, str]
    units_below: bool = False

    @property
    def first(self) -> int:
        """Index of the first row of data."""
        return self.row + 1 + self.units_below


UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
"""German headings are listed with their umlauts written out, as they are typed without them."""


def key_of(heading: str) -> str:
    """Reduce a heading to lower-case letters and figures without accents or bracketed units."""
    bare = re.sub(r"[(\[{].*?[)\]}]", " ", heading)
    return _letters(bare)


def _letters(text: str) -> str:
    folded = unicodedata.normalize("NFC", text).casefold().translate(UMLAUTS)
    plain = unicodedata.normalize("NFKD", folded)
    return "".join(c for c in plain if c.isalnum())


def unit_of(heading: str) -> str | None:
    """Return the unit of length a heading states in brackets or as its last word, if any."""
    word, bracketed = _last_word(heading)
    unit = LENGTH_WORDS.get(word.casefold().rstrip("."))
    return unit if bracketed or key_of(heading) != _letters(word) else None


def _last_word(heading: str) -> tuple[str, bool]:
    """Return what stands in brackets, or else the last word; and whether it was in brackets."""
    found = re.search(r"[(\[{]\s*([^)\]}]*?)\s*[)\]}]", heading)
    return (found[1], True) if found else (re.split(r"[\s_/,]+", heading.strip())[-1], False)


def states_fahrenheit(heading: str) -> bool:
    """Whether a heading states degrees Fahrenheit, in brackets or as its last word."""
    word, _ = _last_word(heading)
    return word.casefold().strip("°.").removeprefix("deg").strip(" °.") in ("f", "fahrenheit")


def find_header(table: Table, synonyms: Synonyms, required: tuple[str, ...]) -> Header | None:
    """Find the first row that names all required columns.

    Raises
    ------
    SurveyError
        If two columns of the heading row stand for the same thing.
    """
    names = _names(synonyms)
    for index in range(min(ROWS_SEARCHED, len(table.rows))):
        found = [_known(shown(cell), names) for cell in table.rows[index]]
        if set(required) <= set(found):
            return _header(table, index, found)
    return None


def headings_known(row: Sequence[Cell], synonyms: Synonyms) -> dict[str, str]:
    """Return the cells of a row that are known headings, by what they stand for; the first of each.

    Parameters
    ----------
    row : sequence of Cell
    synonyms : mapping of str to tuple of str
    """
    names = _names(synonyms)
    known: dict[str, str] = {}
    for cell in row:
        name = _known(shown(cell), names)
        if name:
            known.setdefault(name, shown(cell))
    return known


def _names(synonyms: Synonyms) -> dict[str, str]:
    return {_letters(name): key for key, words in synonyms.items() for name in (key, *words)}


def _known(heading: str, names: dict[str, str]) -> str | None:
    key = key_of(heading)
    if key in names:
        return names[key]
    if unit_of(heading) or states_fahrenheit(heading):
        stem = re.sub(r"[\s_/,]+[^\s_/,]+$", "", heading.strip())
        return names.get(key_of(stem))
    return None


def _header(table: Table, index: int, found: list[str | None]) -> Header:
    _refuse_spilled(table, index)
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    others: dict[int, str] = {}
    for j, name in enumerate(found):
        heading = shown(table.rows[index][j])
        if name is None:
            if heading or any(not is_blank(row[j]) for row in table.rows[index + 1 :]):
                others[j] = heading
            continue
        if name in columns:
            first = shown(table.rows[index][columns[name]])
            message = f"two columns stand for {name}: {first!r} and {heading!r}"
            raise SurveyError(
                message,
                source=table.source,
                place=table.place(index, j),
                allowed="one column for each; rename the other",
            )
        columns[name] = j
        _refuse_other_unit(table, index, j, name)
        unit = unit_of(heading)
        if unit in METRES_PER_UNIT:
            units[name] = str(unit)
    below = _units_below(table, index, columns)
    for name, unit in below.items():
        if units.get(name, unit) != unit:
            raise SurveyError(
                "the heading and the unit below it do not agree",
                source=table.source,
                place=table.place(index + 1, columns[name]),
                value=f"{shown(table.rows[index][columns[name]])}; {unit}",
                allowed="one unit for each column",
            )
    return Header(index, columns, units | below, others, bool(below))


def _refuse_other_unit(table: Table, row: int, column: int, name: str) -> None:
    """Refuse a length or a temperature whose heading states a unit that is not converted."""
    length = name in ("x", "y") or name.endswith("_mm")
    if not length and not name.endswith("_c"):
        return
    heading = shown(table.rows[row][column])
    word = _last_word(heading)[0].casefold().strip("° .")
    if word in OTHER_UNITS or "%" in heading:
        raise SurveyError(
            f"{name} is in a unit that is not converted",
            source=table.source,
            place=table.place(row, column),
            value=heading,
            allowed="m, cm, mm, ft or in" if length else "C or F",
        )


def _units_below(table: Table, index: int, columns: Mapping[str, int]) -> dict[str, str]:
    """Return the units of x and y from a row of units below the headings, {} where none stands."""
    if index + 1 >= len(table.rows) or not {"x", "y"} <= set(columns):
        return {}
    row = [shown(cell) for cell in table.rows[index + 1]]
    words = {axis: LENGTH_WORDS.get(row[columns[axis]].strip("()[] .").casefold()) for axis in "xy"}
    units = {axis: unit for axis, unit in words.items() if unit in METRES_PER_UNIT}
    return units if len(units) == 2 else {}


def _refuse_spilled(table: Table, heading: int) -> None:
    """Refuse rows with more figures than headings: a comma that parts cells and marks decimals."""
    width = max(j for j, cell in enumerate(table.rows[heading]) if not is_blank(cell)) + 1
    for i, row in enumerate(table.rows[heading + 1 :], start=heading + 1):
        beyond = [cell for cell in row[width:] if shown(cell).isdigit()]
        if beyond and not table.book:
            raise SurveyError(
                "this row holds more cells than there are headings",
                source=table.source,
                place=table.place(i),
                value=", ".join(shown(cell) for cell in row if not is_blank(cell)),
                allowed="one heading above each column; where numbers have decimal commas, "
                "semicolons or tabs between the cells",
            )
