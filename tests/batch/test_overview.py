"""The page over many floors."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from kept_results import result

from moisturemap.batch.overview import overview_html, overview_rows

DAY = date(2026, 3, 20)


def test_a_hostile_name_stays_text(tmp_path: Path) -> None:
    """Nothing in a name ends the script or becomes markup."""
    page = overview_html(overview_rows([result(1, name="</script><b>x")]), DAY)
    assert "</script><b>" not in page
