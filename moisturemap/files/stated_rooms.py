"""What survey.toml states of rooms, storeys and limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from moisturemap.errors import SurveyError
from moisturemap.files.setting import check_settings
from moisturemap.files.survey_keys import LIMIT_KEYS, ROOM_KEYS, STOREY_KEYS
from moisturemap.floorplan import Storey
from moisturemap.survey import TEST_METHODS, Limit


def refuse_repeated(
    name: str, known: Mapping[str, Any], source: str, where: str, allowed: str = "each name once"
) -> None:
    """Refuse a name that is empty or stands twice."""
    if not name.strip():
        raise SurveyError("a name is empty", source=source, place=where, allowed="text in quotes")
    if name in known:
        raise SurveyError(
            "this name stands twice",
            source=source,
            place=where,
            value=name,
            allowed=allowed,
        )


def stated_rooms(
    tables: list[dict[str, Any]], source: str, limit: Limit | None
) -> tuple[dict[str, dict[str, Any]], dict[str, Limit]]:
    """Return what is stated of the slab of each room, and its own limit."""
    slabs: dict[str, dict[str, Any]] = {}
    limits = {}
    for number, table in enumerate(tables, start=1):
        where = f"[[rooms]] {number}"
        stated = check_settings(table, ROOM_KEYS, source, where)
        name = stated.pop("name")
        own = f"each name once; a second room '{name}' of the plan is written '{name} 2'"
        refuse_repeated(name, slabs, source, where, own)
        if "limit" in stated:
            limits[name] = _room_limit(stated.pop("limit"), source, f"{where} limit", limit)
        slabs[name] = stated
    return slabs, limits


def stated_storeys(
    tables: list[dict[str, Any]], slabs: dict[str, dict[str, Any]], source: str, scale: float
) -> tuple[tuple[Storey, ...], dict[str, Storey]]:
    """Take the storey out of what is stated of each room; return all storeys, and those by room."""
    known: dict[str, Storey] = {}
    for number, table in enumerate(tables, start=1):
        where = f"[[storeys]] {number}"
        stated = check_settings(table, STOREY_KEYS, source, where)
        refuse_repeated(stated["name"], known, source, where)
        origin = stated.get("origin", [0.0, 0.0])
        if len(origin) != 2:
            message = "origin is a place: two numbers"
            raise SurveyError(message, source=source, place=where, value=origin, allowed="[x, y]")
        place = (float(origin[0]) * scale, float(origin[1]) * scale)
        known[stated["name"]] = Storey(stated["name"], stated.get("level"), place)
    found = {}
    for room, stated in slabs.items():
        name = stated.pop("storey", None)
        if name is not None and tables and name not in known:
            message = "there is no such storey"
            where = f"[[rooms]] {room} storey"
            allowed = ", ".join(known)
            raise SurveyError(message, source=source, place=where, value=name, allowed=allowed)
        if name is not None:
            found[room] = known.get(name) or Storey(name)
    return tuple(known.values()), found


def _room_limit(stated: Any, source: str, where: str, limit: Limit | None) -> Limit:
    if isinstance(stated, dict):
        return stated_limit(stated, source, where)
    if limit is None:
        raise SurveyError(
            "a limit given as a number needs [limit] to say method and source",
            source=source,
            place=where,
            value=stated,
            allowed="{method = ..., value = ..., unit = ..., source = ...}",
        )
    known = {"method": limit.method, "unit": limit.unit, "source": limit.source}
    return replace(limit, value=stated_limit(known | {"value": stated}, source, where).value)


def stated_limit(table: dict[str, Any], source: str, where: str) -> Limit:
    """Read a limit: method, value, unit and source."""
    stated = check_settings(table, LIMIT_KEYS, source, where)
    method = TEST_METHODS[stated["method"]]
    unit = stated.get("unit", "" if method.asks_unit else method.units[0])
    if unit not in method.units:
        raise SurveyError(
            f"the method {method.key} has no such unit" if unit else f"{method.key} asks its unit",
            source=source,
            place=f"{where} unit",
            value=unit,
            allowed=", ".join(method.units),
        )
    if unit in ("%RH", "%MC") and stated["value"] <= 1.0:
        raise SurveyError(
            f"no floor meets this; {100 * stated['value']:g} {unit} if it is a share of 1",
            source=source,
            place=f"{where} value",
            value=stated["value"],
            allowed=f"a number above 1 in {unit}",
        )
    return Limit(method.key, stated["value"], unit, stated["source"], stated.get("risk_pct"))
