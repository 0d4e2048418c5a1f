"""The page asks about the same values as `check`."""

from __future__ import annotations

import re
from pathlib import Path

import moisturemap.web
from moisturemap.survey.usual import DEGREES, DEPTH, HUMIDITY, RESULTS, THICKNESS

SOURCE = Path(moisturemap.web.__file__).parent / "frontend" / "src" / "usual.ts"


def test_the_page_and_check_take_the_same_values_for_usual() -> None:
    """Two languages, one set of numbers."""
    ranges = {
        name.strip('"'): (float(low), float(high))
        for name, low, high in re.findall(
            r'^(?:export const )?\s*("?[\w-]+"?)(?:: Range =|:) \[([\d.]+), ([\d.]+)\]',
            SOURCE.read_text(encoding="utf-8"),
            flags=re.MULTILINE,
        )
    }
    fields = {"DEGREES": DEGREES, "HUMIDITY": HUMIDITY, "THICKNESS": THICKNESS, "DEPTH": DEPTH}
    assert ranges == {name: (one.low, one.high) for name, one in {**fields, **RESULTS}.items()}
