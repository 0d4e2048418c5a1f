"""Sweeps that would settle what the scan of a visit cannot tell."""

from __future__ import annotations

import geopandas as gpd

from moisturemap.anomalies import Anomalies, detect
from moisturemap.floorplan import domains
from moisturemap.scanning import confirming_sweeps
from moisturemap.survey import CleanReadings, Survey, clean_readings, why_unusable
from moisturemap.zones import LevelOptions, earlier_readings, levels_by_domain, stated_level


def propose_sweeps(
    survey: Survey, visit: str | None = None, *, clean: CleanReadings | None = None
) -> gpd.GeoDataFrame:
    """Propose short rows of readings across what a visit cannot tell.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id of the visit; the latest when none is named.
    clean : CleanReadings, optional
        Its readings, where they have been cleaned already.

    Returns
    -------
    geopandas.GeoDataFrame
        Columns ``scanning.SWEEP_COLUMNS``; empty where nothing is open or no map can be made.
    """
    return confirming_sweeps(contested_on(survey, visit, clean=clean), survey.plan)


def contested_on(
    survey: Survey, visit: str | None = None, *, clean: CleanReadings | None = None
) -> Anomalies:
    """Search the readings of a visit for what is contested, and for sweeps that are doubted.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id of the visit; the latest when none is named.
    clean : CleanReadings, optional
        Its readings, where they have been cleaned already.
    """
    chosen, parts = survey.scanned_visit(visit), domains(survey.plan)
    clean = clean or clean_readings(survey, chosen.id, domains=parts)
    usable = () if why_unusable(clean, survey.plan) else parts
    known = stated_level(survey, chosen, LevelOptions(meter=clean.instrument.id))
    return detect(
        clean,
        survey.plan,
        usable,
        earlier=earlier_readings(survey, chosen, None, parts),
        levels=levels_by_domain(known, survey.plan),
    )
