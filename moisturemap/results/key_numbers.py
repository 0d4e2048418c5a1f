"""The numbers a document rests on, to be frozen with it and compared later."""

from __future__ import annotations

from typing import Any

import numpy as np

from moisturemap.acceptance import Decision
from moisturemap.bundles import Study


def key_numbers(study: Study | None, decision: Decision | None = None) -> dict[str, Any]:
    """Return key numbers of a study and a decision by name: plain numbers, texts or None.

    Of a floor that was not scanned those of the decision alone.
    """
    numbers = {} if study is None else _of_scan(study)
    if decision is not None:
        numbers["verdict"] = decision.verdict
    return numbers


def _of_scan(study: Study) -> dict[str, Any]:
    flags = study.readings["flag"].value_counts()
    zones = study.zones
    mean = study.moisture.mean
    mapped = mean[np.isfinite(mean)]
    numbers: dict[str, Any] = {
        "readings": len(study.readings),
        "wet level": study.wet.level.value,
        "wet zones": len(zones),
        "wet area [m2]": float(zones["area_m2"].sum()),
        "anomalies": len(study.anomalies),
        "holes": len(study.drill_plan),
        "mean of the map": float(mapped.mean()) if mapped.size else float("nan"),
    }
    numbers |= {f"readings {flag}": int(count) for flag, count in flags.items()}
    numbers |= {f"zone {z.zone} peak": float(z.peak) for z in zones.itertuples()}
    return numbers
