"""The survey.toml of each invented floor, as a person would write it."""

from __future__ import annotations

BAKERY = """\
# Everything in this folder is invented.

[survey]
name = "Corner bakery, ground floor"
coordinates = "m"

[plan]
file = "plan.geojson"

[[rooms]]
name = "bakery"
base = "concrete slab"
thickness_mm = 150
drying_faces = 1            # on a membrane: only the top can dry
placed = 2025-09-15

[[instruments]]
id = "scanner A"
kind = "relative"
scale = [0, 100]
step = 1
serial = "A-1042"

[[visits]]
id = "v1"
started = 2026-03-04T09:10:00+01:00
operator = "R. Fenn"
air_temperature_c = 19.5
air_rh_pct = 48
slab_temperature_c = 18.0
readings = [{ file = "readings.csv", instrument = "scanner A" }]

[scan]
# read on the known-dry store room next door, same slab, same day
dry_reference = [30, 33, 31, 29, 34, 32, 31, 33, 30, 32]
"""

FLAT = """\
# Everything in this folder is invented. The readings use semicolons and decimal commas.

[survey]
name = "Flat 2, second floor"
coordinates = "m"

[plan]
file = "plan.geojson"

[[rooms]]
name = "living room"
base = "cement screed"
thickness_mm = 65

[[rooms]]
name = "kitchen"
base = "cement screed"
thickness_mm = 65

[[rooms]]
name = "hall"
base = "cement screed"
thickness_mm = 65

[[rooms]]
name = "bath"
base = "cement screed"
thickness_mm = 65

[[rooms]]
name = "loft room"
base = "timber deck"
thickness_mm = 22
drying_faces = 2

[[instruments]]
id = "scanner B"
kind = "relative"
scale = [0, 500]
step = 1
serial = "B-77"

[[visits]]
id = "v1"
started = 2026-05-18T08:30:00+02:00
operator = "M. Osei"
air_temperature_c = 21
air_rh_pct = 52
readings = [{ file = "readings.csv", instrument = "scanner B" }]
"""


def _warehouse_visit(number: int, day: str, temperature: float, humidity: int) -> str:
    return f"""
[[visits]]
id = "v{number}"
started = {day}T07:45:00+02:00
operator = "J. Calder"
air_temperature_c = {temperature}
air_rh_pct = {humidity}
slab_temperature_c = {temperature - 2.5}
readings = [{{ file = "visit-{number}.csv", instrument = "scanner A" }}]
"""


WAREHOUSE = """\
# Everything in this folder is invented. Readings are grids: first row x, first column y.

[survey]
name = "Warehouse, bay 4"
coordinates = "m"

[plan]
file = "plan.geojson"

[[rooms]]
name = "hall"
base = "concrete slab"
thickness_mm = 200
drying_faces = 1

[[instruments]]
id = "scanner A"
kind = "relative"
scale = [0, 100]
step = 1
serial = "A-1042"

[scan]
wet_level = 45              # agreed on site from the dry bays
""" + "".join(
    _warehouse_visit(*visit)
    for visit in (
        (1, "2026-09-07", 18.0, 68),
        (2, "2026-09-14", 19.5, 61),
        (3, "2026-09-21", 20.5, 55),
        (4, "2026-09-28", 21.0, 50),
        (5, "2026-10-05", 21.0, 47),
    )
)
