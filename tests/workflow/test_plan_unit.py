"""The unit of a drawing against the one that is stated, as `check` tells it."""

import pytest

from moisturemap.workflow.check import check_path

ezdxf = pytest.importorskip("ezdxf")

SURVEY = """
[survey]
name = "Hall"
coordinates = "m"
[plan]
file = "plan.dxf"
coordinates = "mm"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[[visits]]
id = "v1"
started = 2026-03-02T09:00:00
readings = [{ file = "readings.csv", instrument = "scanner" }]
"""


def test_a_unit_against_that_of_the_drawing_is_a_warning(tmp_path):
    """The person is followed, and told at once: every service lies by it."""
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 1
    ring = [(0, 0), (8000, 0), (8000, 6000), (0, 6000)]
    drawing.modelspace().add_lwpolyline(ring, close=True)
    drawing.saveas(tmp_path / "plan.dxf")
    rows = [f"{x},{y},{30 + (x + y) % 3}" for x in range(1, 8) for y in range(1, 6)]
    (tmp_path / "readings.csv").write_text("\n".join(["x,y,value", *rows]))
    (tmp_path / "survey.toml").write_text(SURVEY)
    told = [one for one in check_path(tmp_path).remarks if "states its unit" in one.sentence]
    assert [one.level for one in told] == ["warning"]
