"""Where a plan lies on the site, as ``survey.toml`` states it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moisturemap.errors import OptionError, SurveyError
from moisturemap.files.setting import check_settings
from moisturemap.files.survey_keys import SITE_KEYS
from moisturemap.floorplan import SitePlace

WHERE = "[site]"


def site_of(table: Mapping[str, Any], source: str) -> SitePlace:
    """Return the place of a plan on the site.

    Parameters
    ----------
    table : mapping
        The table ``[site]``.
    source : str
        Name of the file, for refusals.

    Raises
    ------
    SurveyError
        Naming key, value and what is allowed.
    """
    stated = check_settings(table, SITE_KEYS, source, WHERE)
    anchor = stated["anchor"]
    if len(anchor) != 2:
        message = "anchor is a place: two numbers"
        allowed = "[easting, northing] of the plan's origin"
        raise SurveyError(
            message, source=source, place=f"{WHERE} anchor", value=anchor, allowed=allowed
        )
    crs = stated.get("crs", "")
    unit = _unit_of(crs, source) if crs else 1.0
    place = (float(anchor[0]), float(anchor[1]))
    try:
        return SitePlace(place, crs, float(stated.get("north_deg", 0.0)), unit)
    except OptionError as error:
        raise SurveyError(
            "the plan cannot lie there",
            source=source,
            place=f"{WHERE} anchor",
            value=anchor,
            allowed=error.allowed,
        ) from error


def _unit_of(crs: str, source: str) -> float:
    """Return the metres in the unit of a projected system.

    Raises
    ------
    SurveyError
        If the name is not known, or its coordinates are degrees.
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    allowed = "a projected system, such as EPSG:25832; leave crs out for a grid of the site's own"
    try:
        known = CRS.from_user_input(crs)
    except CRSError as error:
        raise SurveyError(
            "there is no such coordinate reference system",
            source=source,
            place=f"{WHERE} crs",
            value=crs,
            allowed=allowed,
        ) from error
    if not known.is_projected:
        raise SurveyError(
            "a floor cannot be placed in degrees",
            source=source,
            place=f"{WHERE} crs",
            value=crs,
            allowed=allowed,
        )
    return float(known.axis_info[0].unit_conversion_factor)
