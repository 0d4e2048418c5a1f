"""The page over many floors."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from kept_results import result

from moisturemap.batch.overview import overview_html, overview_rows

DAY = date(2026, 3, 20)


def test_a_hostile_name_stays_text(tmp_path: Path) -> None:
    """Nothing in a name ends the script or becomes markup."""
    page = overview_html(overview_rows([result(1, name="</script><b>x")]), DAY)
    assert "</script><b>" not in page


def test_a_floor_named_as_a_mark_of_the_page_stays_itself() -> None:
    """Names are put in once, whatever they hold."""
    rows = overview_rows([result(1, name='"MAPS"'), result(2, name="/*SCRIPT*/<!--<script>")])
    page = overview_html(rows, DAY)
    data = page.split('id="data">')[1].split("</script>")[0]
    names = [row["name"] for row in json.loads(data)["rows"]]
    assert names == ['"MAPS"', "/*SCRIPT*/<!--<script>"]
    assert "map" not in json.loads(data)["rows"][0], "maps are read only when asked for"
    maps = page.split('id="maps-data">')[1].split("</script>")[0]
    assert set(json.loads(maps)) == {"f0001", "f0002"}
