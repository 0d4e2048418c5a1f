"""One visit, cleaned, searched, mapped and levelled: the joint between mapping and what uses it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

import geopandas as gpd

from moisturemap.anomalies import Anomalies, DetectOptions, detect
from moisturemap.checked import checked
from moisturemap.errors import NotEnoughData
from moisturemap.floorplan import Domain, domains, make_grid
from moisturemap.mapping import MappingOptions, MoistureSurface, map_readings
from moisturemap.survey import (
    USED_FLAGS,
    CleanReadings,
    Survey,
    Visit,
    clean_readings,
    why_unusable,
)
from moisturemap.zones.find import find_zones
from moisturemap.zones.level import choose_wet_level, stated_level
from moisturemap.zones.material import levels_by_domain, unlevelled_domains
from moisturemap.zones.options import LevelOptions, ZoneOptions
from moisturemap.zones.standing import over_standings, without_contested
from moisturemap.zones.unread import UnreadPart, unread_parts
from moisturemap.zones.zones import WetZones

if TYPE_CHECKING:
    import xarray as xr

Progress = Callable[[str, float], None] | None
M = TypeVar("M", bound="MappedVisit")

CELLS_A_READING = 16
"""Cells of the map for each reading: a quarter of the spacing of a square grid. Wet areas of six
floors moved by 0.01 m2 against 50 times as many (our choice)."""

FEWEST_CELLS, MOST_CELLS = 3_000, 20_000
"""Bounds of that number (our choice)."""


@dataclass(frozen=True)
@checked
class VisitOptions:
    """What the user may choose about the map of a visit.

    Attributes
    ----------
    instrument : str or None
        Relative instrument to map when a visit used several; None takes the one read most.
    spacing : float or None
        Side of a map cell [m]; None chooses one that gives at most `max_cells` cells.
    max_cells : int or None
        None takes sixteen for each reading of the visit read most, 3,000 to 20,000 in all, so that
        every visit of a survey has the same cells.
    detect, mapping, zones
        Options of the rooms.
    """

    instrument: str | None = None
    spacing: float | None = None
    max_cells: int | None = None
    detect: DetectOptions = field(default_factory=DetectOptions)
    mapping: MappingOptions = field(default_factory=MappingOptions)
    zones: ZoneOptions = field(default_factory=ZoneOptions)


@dataclass(frozen=True)
class MappedVisit:
    """One visit of one survey with its map and wet zones.

    Attributes
    ----------
    survey : Survey
    visit : Visit
    domains : tuple of Domain
    clean : CleanReadings
    found : Anomalies
    moisture : MoistureSurface
        With ``p_wet`` for the wet level of ``wet``.
    wet : WetZones
    """

    survey: Survey
    visit: Visit
    domains: tuple[Domain, ...]
    clean: CleanReadings
    found: Anomalies
    moisture: MoistureSurface
    wet: WetZones

    @property
    def readings(self) -> gpd.GeoDataFrame:
        """Every reading with its flag and reason."""
        return self.found.readings

    @property
    def surface(self) -> xr.Dataset:
        """``mean``, ``sd`` and ``p_wet`` on (y, x); NaN outside the rooms."""
        return self.moisture.dataset

    @property
    def zones(self) -> gpd.GeoDataFrame:
        """Wet zones as polygons."""
        return self.wet.zones

    @property
    def anomalies(self) -> gpd.GeoDataFrame:
        """Lines and spots that disturb readings."""
        return self.found.table

    @property
    def unread_rooms(self) -> tuple[str, ...]:
        """Rooms without a usable reading: what the map shows there is carried over from others."""
        read = set(self.clean.locations["room"].unique())
        return tuple(room.name for room in self.survey.plan.rooms if room.name not in read)

    @property
    def unread_parts(self) -> tuple[UnreadPart, ...]:
        """Large parts of rooms that were read only elsewhere."""
        used = used_values(self.found)
        return unread_parts(self.survey.plan, used[["x", "y"]].to_numpy(dtype=float))

    @property
    def unlevelled_rooms(self) -> tuple[str, ...]:
        """Rooms of another material than the wet level is of: no zone is drawn there."""
        others = [one for one in self.moisture.domains if one.key in self.moisture.unlevelled]
        return tuple(dict.fromkeys(name for domain in others for name in domain.rooms))

    @property
    def quality(self) -> str:
        """Whether the interval can be trusted here, and why not."""
        return self.moisture.quality

    @property
    def notes(self) -> tuple[str, ...]:
        """What was understood, mended or assumed on the way, in sentences."""
        unread = self.unread_rooms
        return (
            *self.survey.plan.notes,
            *self.survey.notes,
            *self.clean.notes,
            *self.moisture.notes,
            *((f"No reading was taken in {', '.join(unread)}.",) if unread else ()),
        )


def map_visit(
    survey: Survey,
    visit: str | None = None,
    *,
    options: VisitOptions | None = None,
    progress: Progress = None,
) -> MappedVisit:
    """Clean, search, map and level the readings of one visit.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id of the visit; the latest when none is named.
    options : VisitOptions, optional
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``.

    Raises
    ------
    SurveyError
        When the visit is not in the survey.
    NotEnoughData
        When no reading of the visit lies on the plan.
    """
    options = options or VisitOptions()
    say = progress or (lambda phrase, fraction: None)
    chosen, plan, parts = survey.scanned_visit(visit), survey.plan, domains(survey.plan)
    say("cleaning readings", 0.0)
    clean = clean_readings(survey, chosen.id, instrument=options.instrument, domains=parts)
    refusal = why_unusable(clean, plan)
    if refusal:
        raise NotEnoughData(refusal)
    earlier = earlier_readings(survey, chosen, options.instrument, parts)
    look, draw, outline = (_part(progress, *span) for span in ((0.0, 0.4), (0.4, 0.8), (0.8, 1.0)))
    meter = LevelOptions(meter=clean.instrument.id)
    known = stated_level(survey, chosen, meter)
    found = detect(
        clean,
        plan,
        parts,
        options=_with_lent_footprint(options, clean),
        earlier=earlier,
        levels=levels_by_domain(known, plan),
        progress=look,
    )
    grid = make_grid(plan, parts, options.spacing, options.max_cells or cells_for(survey))
    moisture = map_readings(
        found.readings, clean, parts, grid, options=options.mapping, progress=draw
    )
    moisture, wet = levelled(survey, chosen, found, clean, moisture, options, progress=outline)
    return MappedVisit(survey, chosen, parts, clean, found, moisture, wet)


def _with_lent_footprint(options: VisitOptions, clean: CleanReadings) -> DetectOptions:
    """Return how things are searched, with the footprint that earlier floors lend."""
    lenders = options.mapping.earlier
    if lenders is None or options.detect.footprint_m is not None:
        return options.detect
    lenders.check(clean.instrument)
    return replace(options.detect, footprint_m=lenders.footprint_for(clean.instrument))


def map_visit_again(before: M, found: Anomalies, *, options: VisitOptions | None = None) -> M:
    """Map a visit again on the same cells after flags of its readings have changed.

    Parameters
    ----------
    before : MappedVisit
        Or a study: the rest of it is kept as it is.
    found : Anomalies
        The readings with the flags that hold now.
    options : VisitOptions, optional
    """
    options = options or VisitOptions()
    moisture = map_readings(
        found.readings,
        before.clean,
        before.domains,
        before.moisture.grid,
        options=options.mapping,
    )
    moisture, wet = levelled(before.survey, before.visit, found, before.clean, moisture, options)
    return replace(before, found=found, moisture=moisture, wet=wet)


def used_values(found: Anomalies) -> gpd.GeoDataFrame:
    """Return the readings that make the map."""
    return found.readings[found.readings["flag"].isin(USED_FLAGS)]


def levelled(
    survey: Survey,
    visit: Visit,
    found: Anomalies,
    clean: CleanReadings,
    moisture: MoistureSurface,
    options: VisitOptions,
    progress: Progress = None,
) -> tuple[MoistureSurface, WetZones]:
    """Choose the wet level of a map and find its wet zones, over what contested things may be."""
    meter = LevelOptions(meter=clean.instrument.id)
    level = choose_wet_level(survey, visit, used_values(found), surface=moisture, options=meter)
    others = unlevelled_domains(level, survey.plan)
    moisture = moisture.with_wet_level(level.value, others)
    rival = without_contested(found, clean, moisture, options.mapping)
    if rival is not None:
        moisture = over_standings(moisture, rival.with_wet_level(level.value, others), found)
    wet = find_zones(
        moisture,
        level,
        survey.plan,
        anomalies=found,
        if_things=None if rival is None else rival.mean,
        options=replace(options.zones, scale=clean.instrument.scale),
        progress=progress,
    )
    return moisture, wet


def cells_for(survey: Survey) -> int:
    """Most cells a map of any visit of a survey is drawn on."""
    most = int(survey.readings["visit"].value_counts().max())
    return min(max(CELLS_A_READING * most, FEWEST_CELLS), MOST_CELLS)


def earlier_readings(
    survey: Survey, visit: Visit, instrument: str | None, parts: tuple[Domain, ...]
) -> tuple[CleanReadings, ...]:
    """Clean the readings of the visits before one, oldest first.

    Parameters
    ----------
    survey : Survey
    visit : Visit
    instrument : str or None
        Relative instrument; None takes the one read most on each visit.
    parts : tuple of Domain
    """
    before = survey.visits[: survey.visits.index(visit)]
    with_readings = [one for one in before if (survey.readings["visit"] == one.id).any()]
    return tuple(
        clean_readings(survey, one.id, instrument=instrument, domains=parts)
        for one in with_readings
    )


def _part(progress: Progress, begin: float, end: float) -> Progress:
    """Progress of one part within the whole."""
    if progress is None:
        return None
    return lambda phrase, done: progress(phrase, begin + (end - begin) * min(done, 1.0))
