"""The survey.toml of each invented floor, as a person would write it."""

from __future__ import annotations


def _probe(name: str, certificate: str, deviation: float) -> str:
    """Return a probe with its certificate and salt checks before and after the job."""
    checks = "".join(
        f"""
[[instruments.checks]]
when = {when}
reference = "{salt}"
read = {value + deviation:.1f}
temperature_c = 20.0
"""
        for when in ("2026-03-06T08:00:00+01:00", "2026-03-10T08:00:00+01:00")
        for salt, value in (("NaCl", 75.5), ("KCl", 85.1))
    )
    return f"""
[[instruments]]
id = "{name}"
kind = "rh-probe"
serial = "P-{certificate[-2:]}"
certificate = "{certificate}"
calibrated = 2025-11-20
uncertainty = 1.5           # expanded (k = 2), %RH
{checks}"""


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
heated = false
thickness_mm = 150
drying_faces = 1            # on a membrane: only the top can dry
on = "ground"
service_temperature_c = 20  # air of the room in normal use
service_rh_pct = 50
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
tests = [{ file = "tests.csv" }]

[limit]
method = "in-situ-rh"
value = 85
unit = "%RH"
source = "data sheet of the adhesive (invented), revision 4"

[scan]
# read on the known-dry store room next door, same slab, same day
dry_reference = [30, 33, 31, 29, 34, 32, 31, 33, 30, 32]
""" + "".join(
    _probe(*probe)
    for probe in (
        ("probe 1", "C-2025-11", 0.4),
        ("probe 2", "C-2025-12", -0.3),
        ("probe 3", "C-2025-13", 0.6),
    )
)

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
heated = false
thickness_mm = 65

[[rooms]]
name = "kitchen"
base = "cement screed"
heated = false
thickness_mm = 65

[[rooms]]
name = "hall"
base = "cement screed"
heated = false
thickness_mm = 65

[[rooms]]
name = "bath"
base = "cement screed"
heated = false
thickness_mm = 65

[[rooms]]
name = "loft room"
base = "timber deck"
heated = false
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
equipment = [{{ file = "equipment.csv" }}]
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
heated = false
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
