"""Calibrated tests: the methods, and what the record of each must and may hold.

Which results are valid is judged elsewhere; here stands only what can be written down.
Requirements follow what the standards ask to be reported (ASTM F2170 section 11, ASTM F1869,
DIN 18560-1, ISO 12570, as far as their public abstracts and trade guides tell).
"""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.quantities import (
    CARBIDE,
    MVER,
    OVEN_DRY,
    PIN_TIMBER,
    RH_HOOD,
    RH_IN_SITU,
    RH_SLEEVE,
    Quantity,
)


@dataclass(frozen=True, slots=True)
class TestField:
    """One thing a test record may state.

    Attributes
    ----------
    name : str
        Column name.
    kind : str
        ``number``, ``time``, ``flag`` (yes or no) or ``text``.
    unit : str
        Unit of a number.
    meaning : str
    low, high : float or None
        Bounds a number cannot pass whatever the method (a slip of the pen is meant, not a rule).
    """

    name: str
    kind: str
    unit: str
    meaning: str
    low: float | None = None
    high: float | None = None


def _number(
    name: str, unit: str, meaning: str, low: float | None = None, high: float | None = None
) -> TestField:
    return TestField(name, "number", unit, meaning, low, high)


_FIELDS = (
    TestField("hole", "text", "", "name of the hole, hood or sample"),
    _number("x", "plan unit", "position in the plan's frame"),
    _number("y", "plan unit", "position in the plan's frame"),
    TestField("room", "text", "", "room, where the position leaves doubt"),
    TestField("method", "text", "", "test method"),
    _number("depth_mm", "mm", "depth of the measuring point below the top face", 0, 2000),
    _number("thickness_mm", "mm", "thickness of the slab or screed at the hole", 0, 3000),
    _number("value", "as unit", "result as read; blank when it follows from masses"),
    TestField("unit", "text", "", "unit of the result"),
    _number("temperature_c", "C", "temperature in the hole, hood or sample", -40, 90),
    _number("slab_temperature_c", "C", "temperature of the slab surface", -40, 90),
    _number("air_temperature_c", "C", "air above the slab", -40, 90),
    _number("air_rh_pct", "%RH", "air above the slab", 0, 100),
    TestField("drilled", "time", "", "hole drilled"),
    TestField("lined", "time", "", "hole lined and sealed"),
    TestField("placed", "time", "", "probe, hood, sleeve or dish placed"),
    TestField("read", "time", "", "result read"),
    _number("second_value", "as unit", "second result, to show a steady state"),
    TestField("second_read", "time", "", "second result read"),
    _number("drift_pct", "%RH in 5 min", "change over the last five minutes", 0, 100),
    _number("probe_temperature_c", "C", "temperature of the probe before it went in", -40, 90),
    _number("conditioned_hours", "h", "hours at service conditions before the test", 0, 1e5),
    _number(
        "heating_off_hours",
        "h",
        "hours floor heating and forced drying were off, up to the reading",
        0,
        1e5,
    ),
    TestField("service_conditions", "flag", "", "room held at service conditions during the test"),
    TestField("marked_point", "flag", "", "taken at a point marked free of heating pipes"),
    TestField("surface_bare", "flag", "", "surface ground clean, free of coating and adhesive"),
    TestField("surface", "text", "", "finish of the surface, e.g. power-floated, sealed, ground"),
    _number("open_hours", "h", "hours the ground surface stood open before the test", 0, 1e5),
    _number("mass_start_g", "g", "dish before exposure", 0),
    _number("mass_end_g", "g", "dish after exposure", 0),
    _number("mass_gain_g", "g", "gain of the dish", -100, 10_000),
    _number("dome_area_cm2", "cm2", "floor exposed inside the dome, less the dish", 0),
    _number("sample_mass_g", "g", "mass of the sample", 0),
    _number("water_mass_g", "g", "water found in the sample", 0),
    _number("pressure_bar", "bar", "pressure in the carbide bottle", 0, 10),
    _number("wet_mass_g", "g", "sample before drying, with its dish when tare is given", 0),
    _number("dry_mass_g", "g", "sample after drying, with its dish when tare is given", 0),
    _number("tare_g", "g", "empty dish", 0),
    _number("drying_temperature_c", "C", "oven", 0, 200),
    _number("free_water_pct", "mass-%", "water of the sample above its hygroscopic water", 0, 100),
    _number(
        "hygroscopic_pct", "mass-%", "water the oven-dry sample takes up in air of 75 %RH", 0, 100
    ),
    TestField("salts", "text", "", "salts found in the sample: none, traces or strong"),
    TestField("species", "text", "", "timber species or group set on the meter"),
    _number("correction", "%MC", "correction already made: the value holds it"),
    TestField("instrument", "text", "", "instrument of the survey"),
    TestField("operator", "text", "", "who made the test"),
    TestField("edition", "text", "", "standard and edition followed"),
    TestField("reread_reason", "text", "", "why the place was read again so soon"),
    TestField("day_only", "text", "", "times above that state a day without a time of day"),
    TestField("photo", "text", "", "file name of a photograph"),
    TestField("note", "text", "", "anything else seen"),
)

TEST_FIELDS = {field.name: field for field in _FIELDS}
"""Every field a test record may hold, by name."""

_ALWAYS = (
    "hole",
    "x",
    "y",
    "room",
    "method",
    "value",
    "unit",
    "read",
    "instrument",
    "operator",
    "edition",
    "photo",
    "note",
    "air_temperature_c",
    "air_rh_pct",
    "slab_temperature_c",
    "conditioned_hours",
    "heating_off_hours",
    "service_conditions",
    "marked_point",
    "reread_reason",
)


@dataclass(frozen=True, slots=True)
class TestMethod:
    """A method of test.

    Attributes
    ----------
    key : str
        Name in tables.
    quantity : Quantity
        What it measures.
    units : tuple of str
        Units its value may be written in; the first is meant when none is, unless ``asks_unit``.
    instrument_kinds : tuple of str
        Kinds of instrument it is made with.
    required : tuple of tuple of str
        Groups of fields; of each group at least one must be filled, a group inside joined by
        ``+`` counts when all its fields are.
    optional : tuple of str
        Fields besides those every record may hold.
    synonyms : tuple of str
        Other ways tables write the method.
    """

    key: str
    quantity: Quantity
    units: tuple[str, ...]
    instrument_kinds: tuple[str, ...]
    required: tuple[tuple[str, ...], ...]
    optional: tuple[str, ...]
    synonyms: tuple[str, ...]

    @property
    def asks_unit(self) -> bool:
        """Whether a number alone says nothing: its units are of different sizes."""
        return self.quantity is MVER

    @property
    def units_offered(self) -> tuple[str, ...]:
        """One spelling of each unit."""
        grams = [unit for unit in self.units if unit.startswith("g/m")]
        return (self.units[0], *grams[:1])

    @property
    def fields(self) -> tuple[str, ...]:
        """All fields a record of this method may hold, in order."""
        needed = [name for group in self.required for one in group for name in one.split("+")]
        named = {*_ALWAYS, *needed, *self.optional}
        return tuple(name for name in TEST_FIELDS if name in named)


_RH = ("%RH", "%", "% RH", "RH", "%rF", "%r.F.", "%HR")

_METHODS = (
    TestMethod(
        "in-situ-rh",
        RH_IN_SITU,
        _RH,
        ("rh-probe",),
        (
            ("value",),
            ("depth_mm",),
            ("drilled", "lined"),
            ("read",),
            ("instrument",),
            ("temperature_c",),
        ),
        (
            "lined",
            "placed",
            "second_value",
            "second_read",
            "drift_pct",
            "thickness_mm",
            "probe_temperature_c",
        ),
        (
            "in situ rh",
            "insitu",
            "rh in situ",
            "probe",
            "hole",
            "rh probe",
            "rh-in-situ",
            "f2170",
            "bohrlochsonde",
            "sonde",
        ),
    ),
    TestMethod(
        "hood-rh",
        RH_HOOD,
        _RH,
        ("hood", "rh-probe"),
        (("value",), ("placed",), ("read",), ("instrument",)),
        ("temperature_c", "second_value", "second_read", "surface", "surface_bare"),
        (
            "hood",
            "box",
            "box rh",
            "surface hood",
            "hygrometer box",
            "hygrometer",
            "rh-hood",
            "erh",
            "haube",
        ),
    ),
    TestMethod(
        "sleeve-rh",
        RH_SLEEVE,
        _RH,
        ("rh-probe",),
        (("value",), ("depth_mm",), ("drilled", "lined"), ("read",), ("instrument",)),
        (
            "lined",
            "placed",
            "temperature_c",
            "second_value",
            "second_read",
            "thickness_mm",
            "drift_pct",
            "probe_temperature_c",
        ),
        ("sleeve", "rh sleeve", "rh-sleeve", "huelse", "manchon"),
    ),
    TestMethod(
        "carbide",
        CARBIDE,
        ("CM-%", "CM%", "%CM", "% CM"),
        ("carbide",),
        (
            ("value", "sample_mass_g+water_mass_g", "sample_mass_g+pressure_bar"),
            ("read",),
            ("sample_mass_g",),
        ),
        ("depth_mm", "thickness_mm", "temperature_c", "water_mass_g", "pressure_bar", "drilled"),
        ("cm", "calcium carbide", "carbide bomb", "ccm", "carbure", "karbid"),
    ),
    TestMethod(
        "mver",
        MVER,
        ("lb/1000 ft2/24 h", "lb/1000ft2/24h", "lb", "lbs", "g/m2/24 h", "g/m2/24h"),
        ("mver",),
        (
            ("value", "mass_gain_g+dome_area_cm2", "mass_start_g+mass_end_g+dome_area_cm2"),
            ("placed",),
            ("read",),
        ),
        (
            "temperature_c",
            "surface_bare",
            "surface",
            "open_hours",
            "mass_start_g",
            "mass_end_g",
            "mass_gain_g",
            "dome_area_cm2",
        ),
        ("calcium chloride", "cacl2", "f1869", "vapour emission", "vapor emission", "emission"),
    ),
    TestMethod(
        "oven-dry",
        OVEN_DRY,
        ("mass-%", "%", "M-%", "% by mass", "mass %"),
        ("oven-dry",),
        (("value", "wet_mass_g+dry_mass_g"), ("read",)),
        (
            "depth_mm",
            "thickness_mm",
            "drilled",
            "wet_mass_g",
            "dry_mass_g",
            "tare_g",
            "drying_temperature_c",
            "free_water_pct",
            "hygroscopic_pct",
            "salts",
        ),
        ("oven", "gravimetric", "darr", "darrprobe", "iso 12570", "gravimetrie"),
    ),
    TestMethod(
        "pin",
        PIN_TIMBER,
        ("%MC", "%", "% MC", "MC"),
        ("pin",),
        (("value",), ("read",)),
        ("depth_mm", "temperature_c", "species", "correction", "thickness_mm"),
        ("pin meter", "timber", "wood", "resistance", "timber mc", "conductance"),
    ),
)

TEST_METHODS = {method.key: method for method in _METHODS}
"""The methods of test, by the name tables use."""
