"""Map and Drying say one wet level and one area of a visit, and which of two values is used."""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pandas as pd
import pytest

from moisturemap.web.work.visit_words import off_the_plan

from .conftest import WHO, make_job, readings

if TYPE_CHECKING:
    from starlette.testclient import TestClient


@pytest.mark.thorough
def test_map_and_drying_agree_on_a_visit_with_two_values_at_a_place(client: TestClient) -> None:
    """Two devices read P3 on the second visit: 21 and 70; one number each on both pages."""
    job = make_job(client)
    dry = [20.0, 21.0, 20.5, 21.5, 20.0, 21.0, 20.0, 20.5, 21.0, 20.0]
    visit = {"id": "v2", "started": "2026-03-09T08:00:00Z", "dry_reference": dry, "who": WHO}
    assert client.post(f"{job}/visits", json=visit).status_code == 201
    rows = [{**one, "raw": f"{0.9 * float(one['raw']):.1f}"} for one in readings()]
    body = {"visit": "v2", "instrument": "meter 1", "who": WHO}
    client.post(f"{job}/readings", json={**body, "readings": rows})
    client.post(f"{job}/readings", json={**body, "readings": [{**rows[3], "raw": "95"}]})

    mapped = client.get(f"{job}/map", params={"visit": "v2"}).json()
    dried = client.get(f"{job}/drying", params={"visit": "v2"}).json()
    level, area, low, high = re.findall(r"\d+(?:\.\d+)?", mapped["wet_area"].replace("m2", ""))
    assert mapped["wet_level"] == dried["wet_level"]
    assert f"{dried['wet_level']:.3g}" == level
    counted = next(one for one in dried["wet_areas"] if one["visit"] == "v2")
    assert [f"{counted[name]:.0f}" for name in ("area_m2", "low_m2", "high_m2")] == [
        area,
        low,
        high,
    ]
    assert f"Wet level {level}, that of the map of visit v2." in dried["level_words"]
    assert "stands on the wet level of its own day" in dried["level_words"]
    (words,) = mapped["differing"]
    assert words.startswith("Visit v2, P3 shop at x 0.40 m, y 2.80 m: 95 is mapped, ")
    assert f"{float(rows[3]['raw']):g} set aside" in words
    assert words in dried["differing"]


@pytest.mark.parametrize(("off", "said"), [(0, ""), (2, "Not in this map: 2 of 5 readings")])
def test_a_map_says_which_readings_it_leaves_out_after_an_outline_changed(off, said) -> None:
    """A wall typed 3 m shorter took 72 of 192 readings off the map without a word on it."""
    flags = ["off-plan"] * off + ["clear"] * (5 - off)
    told = off_the_plan(SimpleNamespace(readings=pd.DataFrame({"flag": flags})))
    assert "".join(told).startswith(said)
    assert bool(told) is bool(said)
