"""A drill plan in the making: its obstacles, earlier holes, pins and growing rows."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import count

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Anomalies
from moisturemap.drilling.clearance import (
    KNOWN_SERVICE_M,
    SETTING_OUT_M,
    Obstacle,
    beyond_ends,
    flagged_obstacles,
    forbidden,
    hole_obstacles,
    near_services,
    objections,
    plan_obstacles,
)
from moisturemap.drilling.depth import hole_depth, is_timber
from moisturemap.drilling.drawn_services import service_warnings
from moisturemap.drilling.noted import (
    Noted,
    noted_obstacles,
    noted_on,
    noted_warnings,
    notes_of,
    told_without_place,
    words_beside,
)
from moisturemap.drilling.options import DrillOptions, Place
from moisturemap.drilling.purpose import Purpose
from moisturemap.drilling.setout import set_out
from moisturemap.floorplan import NOT_KEPT_CLEAR, Domain, FloorPlan, unknown_words
from moisturemap.mapping import MoistureSurface
from moisturemap.survey import IssuedHole, Survey
from moisturemap.zones import MappedVisit, WetZones

Array = NDArray[np.float64]

SAME_HOLE_M = 0.3
"""A test within this of an issued hole is of that hole [m] (our choice: the usual clearance)."""

DRILLED_METHODS = ("in-situ-rh", "sleeve-rh")
"""Methods of tests that leave a hole."""


@dataclass
class Draft:
    """A plan in the making.

    Attributes
    ----------
    mapped : MappedVisit
    options : DrillOptions
        What it is made from.
    obstacles : list of Obstacle
    done : list of (float, float)
        Holes that count as drilled [m].
    names : frozenset of str
        Names of holes the survey has, not to be given again.
    issued : dict of (float, float) to IssuedHole
        Holes of issued plans that stand, by their place [m].
    earlier : list of (float, float)
        Holes drilled before that are kept clear of and not counted [m].
    tested : frozenset of str
        Names of holes with a calibrated test.
    notes : list of (float, float, str)
        Notes beside readings [m] that no list of words knows.
    statements, rules, unreached, warnings : list of str
        Sentences gathered on the way; ``unreached`` about wet zones without a hole, ``warnings``
        what no short form may leave out.
    blocked : list of (str, str)
        Issued holes that must not be drilled as things are known now, and the sentence about each.
    rows : list of dict
        Holes so far, columns ``HOLE_COLUMNS``.
    """

    mapped: MappedVisit
    options: DrillOptions
    obstacles: list[Obstacle]
    done: list[Place]
    names: frozenset[str] = frozenset()
    issued: dict[Place, IssuedHole] = field(default_factory=dict)
    tested: frozenset[str] = frozenset()
    notes: list[Noted] = field(default_factory=list)
    statements: list[str] = field(default_factory=list)
    rules: list[str] = field(default_factory=list)
    unreached: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    blocked: list[tuple[str, str]] = field(default_factory=list)
    rows: list[dict[str, object]] = field(default_factory=list)
    earlier: list[Place] = field(default_factory=list)

    @property
    def surface(self) -> MoistureSurface:
        """The map."""
        return self.mapped.moisture

    @property
    def wet(self) -> WetZones:
        """The wet zones."""
        return self.mapped.wet

    @property
    def anomalies(self) -> Anomalies:
        """What is flagged."""
        return self.mapped.found

    @property
    def plan(self) -> FloorPlan:
        """The plan of the floor."""
        return self.mapped.survey.plan

    def on(self, domains: tuple[Domain, ...], places: list[Place]) -> list[Place]:
        """Return the places [m] that lie in a room of some domains."""
        return [
            place
            for place in places
            if self.plan.room_at(*place) is not None
            and any(domain.geometry.covers(Point(place)) for domain in domains)
        ]

    def accepted(self, pinned: list[Place]) -> list[Place]:
        """Return the pinned places, rounded to the tape, that keep their clearances.

        Why the others do not is added to the warnings; one that was issued since is a hole already.
        """
        kept: list[Place] = []
        for place in ((round(x, 2), round(y, 2)) for x, y in pinned):
            if place in self.issued:
                continue
            others = hole_obstacles(kept, "pinned hole", self.options)
            why = objections([*self.obstacles, *others], *place)
            if why:
                self.warnings.append(
                    f"No hole at the pinned place x {place[0]:.2f} m, y {place[1]:.2f} m: "
                    f"{'; '.join(why)}."
                )
            else:
                kept.append(place)
        return kept

    def standing(self, kept: list[Place], pinned: list[Place]) -> list[Place]:
        """Return the kept places whose clearances hold beside the pinned ones."""
        obstacles = [*self.obstacles, *hole_obstacles(pinned, "pinned hole", self.options)]
        return [place for place in kept if not objections(obstacles, *place)]

    def closed(self, pinned: list[Place]) -> BaseGeometry:
        """Return the floor no further hole may stand on."""
        area = forbidden([*self.obstacles, *hole_obstacles(pinned, "pin", self.options)])
        for place in self.options.unwanted:
            area = area.union(Point(place).buffer(self.options.reject_radius_m + SETTING_OUT_M))
        return area

    @cached_property
    def unread(self) -> frozenset[str]:
        """Rooms that nobody read on this visit."""
        return frozenset(self.mapped.unread_rooms)

    def add_row(
        self, domains: tuple[Domain, ...], point: Array, purpose: Purpose, status: str
    ) -> None:
        """Add a hole, rounded to the tape, with its depth and set-out."""
        tidy = point if status == "done" else np.round(point, 2)
        x, y = float(tidy[0]), float(tidy[1])
        frozen = self.issued.get((x, y))
        room = self.plan.room_at(x, y) or self.plan.room_at(*point)
        assert room is not None
        mine = [domain for domain in domains if room.name in domain.rooms]
        domain = min(mine, key=lambda d: float(d.geometry.distance(Point(x, y))))
        read = domain.key in self.surface.fields and room.name not in self.unread
        expected = self._mapped(domain, x, y) if read else np.nan
        depth, tape = hole_depth(room.slab), set_out(room, x, y)
        blocked = self._blocked(frozen)
        near = "" if blocked else near_services(self.plan, x, y)
        only = f"Only {near}: locate it before any drilling."
        noted = words_beside(self.notes, x, y, max(self.options.clearance_m, KNOWN_SERVICE_M))
        told = [tape.sentence, only if near else "", noted]
        sentence = blocked or " ".join(one for one in told if one)
        prefix = "P" if is_timber(room.slab) else "H"
        used = {*self.names, *(str(row["hole"]) for row in self.rows)}
        number = next(one for one in count(1) if f"{prefix}{one}" not in used)
        row: dict[str, object] = {
            "hole": f"{prefix}{number}",
            "room": room.name,
            "domain": domain.key,
            "purpose": purpose.name,
            "why": purpose.why if read else f"{purpose.why} {self._unread(room.name)}",
            "expected": expected,
            "x": x,
            "y": y,
            "depth_mm": depth.depth_mm,
            "depth_note": depth.note,
            "set_out": sentence,
            "from_a": tape.from_a,
            "distance_a_m": tape.distance_a,
            "from_b": tape.from_b,
            "distance_b_m": tape.distance_b,
            "status": status,
            "geometry": Point(x, y),
        }
        self.rows.append(row | self._frozen(frozen) if frozen else row)
        if near:
            self.warnings.append(f"{self.rows[-1]['hole']} stands only {near}.")

    def _mapped(self, domain: Domain, x: float, y: float) -> float:
        """Return the mapped reading at a place [m]: that of its cell, which reasons tell too."""
        surface, grid = self.surface, self.surface.grid
        row, column = np.abs(grid.y - y).argmin(), np.abs(grid.x - x).argmin()
        own = surface.domains[grid.domain[row, column]].key == domain.key
        if own and np.isfinite(surface.mean[row, column]):
            return float(surface.mean[row, column])
        return float(surface.fields[domain.key].predict(np.array([[x, y]]))[0][0])

    def _blocked(self, hole: IssuedHole | None) -> str:
        """Say that an issued hole lies on what was found or drawn since; "" where it does not."""
        if hole is None or hole.hole in self.tested:
            return ""
        embedded = [one for one in self.obstacles if one.embedded]
        why = objections(embedded, hole.x, hole.y)
        if not why:
            return ""
        said = f"Do not drill {hole.hole}: issued, and by now {'; '.join(why)}. Withdraw it."
        self.blocked.append((hole.hole, said))
        self.warnings.insert(0, said)
        return said

    def _unread(self, room: str) -> str:
        """Say that no reading foretells what a hole will show."""
        return f"Nobody read {room} on this visit: no reading foretells what this hole will show."

    def _frozen(self, hole: IssuedHole) -> dict[str, object]:
        """Return what an issued hole keeps, whatever the map says by now."""
        return {
            "hole": hole.hole,
            "purpose": hole.purpose,
            "why": hole.why,
            "depth_mm": np.nan if hole.depth_mm is None else hole.depth_mm,
            "depth_note": hole.depth_note,
            "status": "done" if hole.hole in self.tested else "issued",
        }


def start_draft(mapped: MappedVisit, options: DrillOptions) -> Draft:
    """Gather the obstacles, earlier holes and the notes they make."""
    survey = mapped.survey
    plan = survey.plan
    read = mapped.readings.reindex(columns=["x", "y"]).dropna().to_numpy(dtype=float)
    flagged, notes = flagged_obstacles(mapped.anomalies, plan, options, read)
    told = notes_of(survey)
    noted = [*told.services, *noted_on(plan)]
    issued = {(one.x, one.y): one for one in survey.issued_holes if not one.withdrawn}
    earlier = [place for place in _earlier(survey) if not _of_issued(place, list(issued))]
    done = [*issued, *options.done, *(earlier if options.count_earlier else [])]
    kept_clear = [] if options.count_earlier else earlier
    obstacles = [
        *plan_obstacles(plan, options),
        *flagged,
        *noted_obstacles([*noted, *told.unknown], options),
        *hole_obstacles([*issued], "issued hole", options),
        *hole_obstacles(done[len(issued) :], "done hole", options),
        *hole_obstacles(kept_clear, "earlier hole", options),
    ]
    if kept_clear:
        words = "hole is" if len(kept_clear) == 1 else "holes are"
        notes.append(
            f"{len(kept_clear)} earlier {words} kept clear of and not counted among these, but the "
            "floor round them counts as drilled; where the sleeves still stand they can be read "
            "again instead of drilling anew."
        )
    off = [
        f"No hole at x {place[0]:.2f} m, y {place[1]:.2f} m: it is off the floor."
        for place in [*options.wanted, *options.done]
        if plan.room_at(*place) is None
    ]
    tested = frozenset(str(hole) for hole in survey.tests["hole"])
    names = tested | survey.hole_names | {one.hole for one in survey.issued_holes}
    draft = Draft(mapped, options, obstacles, done, names, issued, tested, told.others)
    draft.earlier = kept_clear
    draft.statements += notes
    draft.warnings += [*off, *_plan_warnings(plan, options), *told_without_place(survey)]
    draft.warnings += noted_warnings(noted, told.unknown)
    return draft


def _plan_warnings(plan: FloorPlan, options: DrillOptions) -> list[str]:
    """Say what the plan draws that nobody knows, and what clearance was not taken away."""
    unknown = unknown_words(plan.lines)
    found = [unknown] if unknown else []
    found += service_warnings(plan)
    found += [note for note in plan.notes if NOT_KEPT_CLEAR in note]
    found += [
        f"Known service {name or 'without a name'} ends on the plan in mid-floor, at x "
        f"{beyond.coords[0][0]:.2f} m, y {beyond.coords[0][1]:.2f} m: find its course beyond "
        "with a locator before any drilling near it; holes keep clear of its straight course alone."
        for name, beyond in beyond_ends(plan)
    ]
    if options.clearance_m < KNOWN_SERVICE_M and plan.lines_of("known-service"):
        found.append(
            f"A clearance of {options.clearance_m:.2f} m was asked for; from known services "
            f"{KNOWN_SERVICE_M:.2f} m is kept all the same."
        )
    return found


def _of_issued(place: Place, issued: list[Place]) -> bool:
    """Whether a tested place is that of an issued hole."""
    return any(np.hypot(x - place[0], y - place[1]) <= SAME_HOLE_M for x, y in issued)


def _earlier(survey: Survey) -> list[Place]:
    """Places of drilled tests of the survey [m], each once."""
    tests = survey.tests
    if tests.empty:
        return []
    drilled = tests[tests["method"].isin(DRILLED_METHODS)]
    places = drilled[["x", "y"]].astype(float).dropna().drop_duplicates()
    return [(float(x), float(y)) for x, y in places.to_numpy()]
