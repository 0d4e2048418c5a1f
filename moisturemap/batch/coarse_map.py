"""A map small enough to stand among a thousand others."""

from __future__ import annotations

from base64 import b64encode
from typing import Any

import numpy as np

from moisturemap.bundles import Study

LONGEST = 36
"""Most cells along the longer side of a small map (our choice: 2,000 of them load at once)."""

BLANK = 255
"""Byte of a cell outside the rooms; 0 to 254 span the scale."""


def coarse_map(study: Study) -> dict[str, Any]:
    """Return the mean of the map on few cells, as bytes over the scale of the instrument.

    Returns
    -------
    dict
        ``width, height`` [cells], ``low, high`` [reading units] of the bytes 0 and 254, ``model``
        of the instrument ("" when not stated) and ``cells``: base64, row by row from the top.
    """
    mean = study.moisture.mean
    block = max(1, int(np.ceil(max(mean.shape) / LONGEST)))
    cells = _block_means(mean, block)[::-1]
    instrument = study.clean.instrument
    known = cells[np.isfinite(cells)]
    own = (float(known.min()), float(known.max())) if known.size else (0.0, 1.0)
    low, high = instrument.scale or own
    share = np.clip((cells - low) / max(high - low, 1e-9), 0.0, 1.0)
    shown = np.where(np.isfinite(share), np.round(share * (BLANK - 1)), BLANK).astype(np.uint8)
    return {
        "width": shown.shape[1],
        "height": shown.shape[0],
        "low": round(float(low), 4),
        "high": round(float(high), 4),
        "model": instrument.model if instrument.scale else "",
        "cells": b64encode(shown.tobytes()).decode("ascii"),
    }


def _block_means(values: np.ndarray, block: int) -> np.ndarray:
    rows, columns = (int(np.ceil(size / block)) for size in values.shape)
    padded = np.full((rows * block, columns * block), np.nan)
    padded[: values.shape[0], : values.shape[1]] = values
    blocks = padded.reshape(rows, block, columns, block)
    known = np.isfinite(blocks)
    count = known.sum(axis=(1, 3))
    total = np.where(known, blocks, 0.0).sum(axis=(1, 3))
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
