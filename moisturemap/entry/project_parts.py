"""Parts of a project that exist before it is a whole survey."""

from __future__ import annotations

from datetime import date, datetime, tzinfo

from moisturemap.errors import OptionError
from moisturemap.files.moment import clock_of_visit, zone_of
from moisturemap.store import Project
from moisturemap.survey import Instrument


def clock_of(project: Project, visit: str) -> tuple[tzinfo | None, date | None]:
    """Return the zone of times that state none, and the day of bare times of day, on a visit.

    Parameters
    ----------
    project : Project
    visit : str
        One that does not exist has no day.
    """
    named = str(project.settings().get("timezone") or "")
    rows = project.rows("visits")
    started = next((one["started"] for one in rows if one["id"] == visit), None)
    return clock_of_visit(
        zone_of(named, project.path.name, "timezone") if named else None,
        datetime.fromisoformat(started) if started else None,
    )


def instrument_of(project: Project, id: str) -> Instrument:
    """Return an instrument of a project, without its checks.

    Parameters
    ----------
    project : Project
    id : str

    Raises
    ------
    OptionError
        If the project has no such instrument.
    """
    rows = project.rows("instruments")
    row = next((one for one in rows if one["id"] == id), None)
    if row is None:
        message = "no such instrument"
        allowed = ", ".join(one["id"] for one in rows) or "add an instrument first"
        raise OptionError(message, value=id, allowed=allowed)
    low, high = row["scale_low"], row["scale_high"]
    return Instrument(
        id=row["id"],
        kind=row["kind"],
        scale=None if low is None else (low, high),
        step=row["step"],
        serial=row["serial"] or "",
        certificate=row["certificate"] or "",
        uncertainty=row["uncertainty"],
    )
