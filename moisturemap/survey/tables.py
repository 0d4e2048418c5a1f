"""A survey as the tables of ``survey.toml``, of which each states what is known and no more."""

from __future__ import annotations

import dataclasses
from typing import Any

from moisturemap.survey.instrument import Instrument
from moisturemap.survey.survey import Limit, Survey
from moisturemap.survey.visit import Visit

Tables = dict[str, Any]


def _stated(bundle: Any, *leave: str) -> Tables:
    """Return the fields of a bundle that say something, as TOML can hold them."""
    fields = {one.name: getattr(bundle, one.name) for one in dataclasses.fields(bundle)}
    return {
        name: list(value) if isinstance(value, tuple) else value
        for name, value in fields.items()
        if name not in leave and value is not None and value not in ("", ())
    }


def survey_tables(survey: Survey) -> Tables:
    """Return the tables of ``survey.toml``; files of the visits are for the caller to add.

    Parameters
    ----------
    survey : Survey
    """
    # Each time carries its own offset; the zone is for files that come later.
    zone = survey.timezone or "UTC"
    head = {"name": survey.name, "coordinates": "m", "timezone": zone, **survey.details}
    head["units"] = survey.units
    content: Tables = {"survey": head, "plan": {"file": "plan.geojson"}}
    if survey.site is not None:
        content["site"] = _stated(survey.site, "unit_m")
    content["rooms"] = [
        {
            "name": room.name,
            **({"storey": room.storey.name} if room.storey else {}),
            **_stated(room.slab),
            **_room_limit(survey.room_limits.get(room.name)),
        }
        for room in survey.plan.rooms
    ]
    storeys = {room.storey.name: room.storey for room in survey.plan.rooms if room.storey}
    content["storeys"] = [_stated(one) for one in storeys.values()]
    content["instruments"] = [_instrument(one) for one in survey.instruments.values()]
    content["visits"] = [_visit(visit) for visit in survey.visits]
    content["scan"] = _stated(survey.scan)
    if survey.limit is not None:
        content["limit"] = _stated(survey.limit)
    return {name: table for name, table in content.items() if table}


def _room_limit(limit: Limit | None) -> Tables:
    return {} if limit is None else {"limit": _stated(limit)}


def _instrument(instrument: Instrument) -> Tables:
    checks = [_stated(check) for check in instrument.checks]
    return {**_stated(instrument, "checks"), **({"checks": checks} if checks else {})}


def _visit(visit: Visit) -> Tables:
    log = [_stated(one) for one in visit.acclimation]
    return {**_stated(visit, "acclimation"), **({"acclimation": log} if log else {})}
