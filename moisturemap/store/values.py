"""Python values as plain JSON that comes back as the same Python values."""

from __future__ import annotations

import dataclasses
import math
from datetime import date, datetime
from pathlib import PurePath
from typing import Any

import pandas as pd

from moisturemap.errors import StoreError
from moisturemap.floorplan import SitePlace
from moisturemap.provenance import Fingerprint, Provenance
from moisturemap.survey import (
    AmbientReading,
    IssuedHole,
    Limit,
    LoggerSeries,
    MachineEntry,
    MachineLog,
    ScanSettings,
)

_BUNDLES = {
    cls.__name__: cls
    for cls in (
        AmbientReading,
        Fingerprint,
        IssuedHole,
        Limit,
        LoggerSeries,
        MachineEntry,
        MachineLog,
        Provenance,
        ScanSettings,
        SitePlace,
    )
}
_MISSING = {"NaT": pd.NaT, "NA": pd.NA, "nan": float("nan")}


def missing_name(value: Any) -> str:
    """Return which missing value this is (``None``, ``NaT``, ``NA``, ``nan``), or ""."""
    if value is None:
        return "None"
    if value is pd.NaT or value is pd.NA:
        return "NaT" if value is pd.NaT else "NA"
    return "nan" if isinstance(value, float) and math.isnan(value) else ""


def missing_value(name: str) -> Any:
    """Return the missing value of that name."""
    return _MISSING.get(name)


def to_plain(value: Any) -> Any:
    """Return a value as JSON can hold it, tagged where JSON has no such type.

    Raises
    ------
    StoreError
        If the value is of a type that could not come back the same.
    """
    if hasattr(value, "dtype") and hasattr(value, "item"):
        value = value.item()
    name = missing_name(value)
    if name:
        return None if name == "None" else {"missing": name}
    if isinstance(value, (bool, int, float, str)):
        return value
    if isinstance(value, (date, datetime)):
        return {_time_tag(value): value.isoformat()}
    if isinstance(value, (tuple, list)):
        return {type(value).__name__: [to_plain(one) for one in value]}
    if isinstance(value, dict):
        return {"dict": [[to_plain(key), to_plain(one)] for key, one in value.items()]}
    if isinstance(value, PurePath):
        return str(value)
    if type(value).__name__ in _BUNDLES:
        fields = {one.name: to_plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
        return {"is": type(value).__name__, "fields": fields}
    message = f"a value of type {type(value).__name__} cannot be kept in the project file"
    raise StoreError(message)


def _time_tag(value: date) -> str:
    if isinstance(value, pd.Timestamp):
        return "timestamp"
    return "time" if isinstance(value, datetime) else "date"


def from_plain(plain: Any) -> Any:
    """Return the value that :func:`to_plain` was given."""
    if not isinstance(plain, dict):
        return plain
    if "is" in plain:
        fields = {name: from_plain(one) for name, one in plain["fields"].items()}
        return _BUNDLES[plain["is"]](**fields)
    ((tag, content),) = plain.items()
    if tag == "missing":
        return missing_value(content)
    if tag == "dict":
        return {from_plain(key): from_plain(one) for key, one in content}
    if tag in ("tuple", "list"):
        items = [from_plain(one) for one in content]
        return tuple(items) if tag == "tuple" else items
    return parse_time(tag, content)


def parse_time(tag: str, text: str) -> Any:
    """Return a day, a time or a pandas timestamp."""
    if tag == "timestamp":
        return pd.Timestamp(text)
    return datetime.fromisoformat(text) if tag == "time" else date.fromisoformat(text)
