"""The keys of survey.toml, table by table, and what each may hold."""

from __future__ import annotations

from moisturemap.files.setting import Setting
from moisturemap.floorplan import BUILD_UPS, MEMBRANES, SLAB_POSITIONS
from moisturemap.quantities import METRES_PER_UNIT
from moisturemap.survey import DETAILS, INSTRUMENT_KINDS, LOGGER_PLACES, TEST_METHODS
from moisturemap.units import SYSTEMS

_TEXT = Setting(kind="text")
_NAME = Setting(kind="text", required=True)
CELSIUS = Setting(kind="number", low=-40, high=90)
_SERVICE_C = Setting(kind="number", low=-40, high=60)
_PERCENT = Setting(kind="number", low=0, high=100)
_UNIT = Setting(kind="text", choices=tuple(METRES_PER_UNIT))
_TABLES = Setting(kind="tables")

SURVEY_TABLES = {
    "survey": Setting(kind="table", required=True),
    "plan": Setting(kind="table", required=True),
    "rooms": _TABLES,
    "storeys": _TABLES,
    "instruments": _TABLES,
    "visits": Setting(kind="tables", required=True),
    "loggers": _TABLES,
    "machine_logs": _TABLES,
    "site": Setting(kind="table"),
    "scan": Setting(kind="table"),
    "limit": Setting(kind="table"),
}
SURVEY_KEYS = {
    "name": _NAME,
    "coordinates": _UNIT,
    "timezone": _TEXT,
    "units": Setting(kind="text", choices=SYSTEMS),
    "changed_before": _TEXT,
    **dict.fromkeys(DETAILS, _TEXT),
}
SITE_KEYS = {
    "crs": _TEXT,
    "anchor": Setting(kind="numbers", required=True),
    "north_deg": Setting(kind="number", low=-360, high=360),
}
PLAN_KEYS = {"file": _NAME, "coordinates": _UNIT, "layer": _TEXT}
ROOM_KEYS = {
    "name": _NAME,
    "base": _TEXT,
    "thickness_mm": Setting(kind="number", low=1, high=3000),
    "drying_faces": Setting(kind="whole", choices=(1, 2)),
    "heated": Setting(kind="flag"),
    "placed": Setting(kind="day"),
    "pour": _TEXT,
    "on": Setting(kind="text", choices=SLAB_POSITIONS),
    "service_temperature_c": _SERVICE_C,
    "service_rh_pct": _PERCENT,
    "covered": Setting(kind="day"),
    "lifted": Setting(kind="day"),
    "first_fault": Setting(kind="day"),
    "membrane": Setting(kind="text", choices=MEMBRANES),
    "build_up": Setting(kind="text", choices=BUILD_UPS),
    "storey": _TEXT,
    "limit": Setting(kind="limit"),
}
STOREY_KEYS = {
    "name": _NAME,
    "level": Setting(kind="whole", low=-20, high=200),
    "origin": Setting(kind="numbers"),
}
INSTRUMENT_KEYS = {
    "id": _NAME,
    "kind": Setting(kind="text", choices=INSTRUMENT_KINDS),
    "scale": Setting(kind="scale"),
    "step": Setting(kind="number", low=0),
    "serial": _TEXT,
    "model": _TEXT,
    "certificate": _TEXT,
    "calibrated": Setting(kind="day"),
    "uncertainty": Setting(kind="number", low=0),
    "footprint_m": Setting(kind="number", low=0.01, high=0.5),
    "checks": _TABLES,
}
CHECK_KEYS = {
    "when": Setting(kind="moment", required=True),
    "reference": _NAME,
    "read": Setting(kind="number", required=True),
    "expected": Setting(kind="number"),
    "temperature_c": CELSIUS,
    "uncertainty": Setting(kind="number", low=0),
}
VISIT_KEYS = {
    "id": _NAME,
    "started": Setting(kind="moment"),
    "operator": _TEXT,
    "air_temperature_c": CELSIUS,
    "air_rh_pct": _PERCENT,
    "slab_temperature_c": CELSIUS,
    "surface_temperatures": Setting(kind="spots"),
    "dry_reference": Setting(kind="numbers"),
    "service_temperature_c": _SERVICE_C,
    "service_rh_pct": _PERCENT,
    "note": _TEXT,
    "acclimation": Setting(kind="files"),
    "readings": Setting(kind="files"),
    "tests": Setting(kind="files"),
    "equipment": Setting(kind="files"),
}
READING_FILE_KEYS = {
    "file": _NAME,
    "instrument": _TEXT,
    "sheet": _TEXT,
    "coordinates": _UNIT,
    "layout": Setting(kind="text", choices=("auto", "long", "grid")),
    "decimal": Setting(kind="text", choices=(".", ",")),
}
OTHER_FILE_KEYS = {
    name: READING_FILE_KEYS[name] for name in ("file", "sheet", "coordinates", "decimal")
}
ACCLIMATION_KEYS = {
    "when": Setting(kind="moment", required=True),
    "air_temperature_c": CELSIUS,
    "air_rh_pct": _PERCENT,
    "slab_temperature_c": CELSIUS,
    "room": _TEXT,
    "note": _TEXT,
}
ACCLIMATION_FILE_KEYS = {
    **{name: READING_FILE_KEYS[name] for name in ("file", "sheet", "decimal")},
    "room": _TEXT,
}
LOGGER_KEYS = {
    **ACCLIMATION_FILE_KEYS,
    "id": _NAME,
    "place": Setting(kind="text", choices=LOGGER_PLACES, required=True),
    "channel": _TEXT,
    "x": Setting(kind="number"),
    "y": Setting(kind="number"),
    "depth_mm": Setting(kind="number", above=0),
    "timezone": _TEXT,
    "temperature_unit": Setting(kind="text", choices=("C", "F")),
}
MACHINE_LOG_KEYS = {**ACCLIMATION_FILE_KEYS, "machine": _TEXT, "timezone": _TEXT}
SCAN_KEYS = {
    "wet_level": Setting(kind="number"),
    "dry_reference": Setting(kind="numbers"),
    "base": _TEXT,
}
LIMIT_KEYS = {
    "method": Setting(kind="text", choices=tuple(TEST_METHODS), required=True),
    "value": Setting(kind="number", above=0, required=True),
    "unit": _TEXT,
    "source": _NAME,
    "risk_pct": Setting(kind="number", low=0.1, high=50),
}
