"""Parts of a project that exist before it is a whole survey."""

from __future__ import annotations

from moisturemap.errors import OptionError
from moisturemap.store import Project
from moisturemap.survey import Instrument


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
