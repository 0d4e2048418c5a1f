"""The invented floors that come with the package."""

from __future__ import annotations

import shutil
from datetime import date, timedelta
from pathlib import Path

from moisturemap.errors import OptionError
from moisturemap.survey import Survey

PACKAGE = Path(__file__).resolve().parent.parent
PLACES = (PACKAGE / "demo_plans", PACKAGE.parent / "demo_plans")
"""In an installed package, and in a checkout."""


def demo_plans() -> Path:
    """Return the folder that holds the invented floors."""
    for place in PLACES:
        if place.is_dir():
            return place
    message = "the demo floors are not installed with this package"
    raise OptionError(message, source=str(PLACES[0]))


def day_after(survey: Survey) -> date:
    """Return the day after the last thing recorded of a survey, on which an example is judged.

    Parameters
    ----------
    survey : Survey
    """
    moments = [visit.started for visit in survey.visits if visit.started is not None]
    moments += [check.when for one in survey.instruments.values() for check in one.checks]
    for name in ("read", "second_read"):
        if name in survey.tests:
            moments += list(survey.tests[name].dropna())
    return max(moments).date() + timedelta(days=1)


def copy_demo(name: str, folder: Path) -> Path:
    """Copy a demo survey to ``folder/survey`` so that it can be looked at and changed.

    Parameters
    ----------
    name : str
        Name of a demo floor.
    folder : Path
        Folder to write into.

    Raises
    ------
    OptionError
        When there is no demo floor of that name.
    """
    source = demo_plans() / name
    if not (source / "survey.toml").is_file():
        allowed = ", ".join(sorted(p.parent.name for p in demo_plans().glob("*/survey.toml")))
        message = "no such demo floor"
        raise OptionError(message, value=name, allowed=allowed)
    target = folder / "survey"
    shutil.copytree(source, target, dirs_exist_ok=True)
    return target
