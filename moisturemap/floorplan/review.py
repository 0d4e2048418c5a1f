"""What a careful colleague would say about a plan before the scan starts."""

from __future__ import annotations

import numpy as np

from moisturemap.floorplan.domain import THIN_WALL_M, domains
from moisturemap.floorplan.joint import JOINT_KINDS, JOINT_REACH_M
from moisturemap.floorplan.line import unknown_words
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.size import CHECK_ONE_WALL

_FAR_M = 10_000.0


def check_plan(plan: FloorPlan) -> tuple[str, ...]:
    """Return remarks on a plan, in sentences; empty when there is nothing to say.

    Parameters
    ----------
    plan : FloorPlan
    """
    return (*plan.notes, *_on_rooms(plan), *_on_gaps(plan), *_on_joints(plan), *_on_lines(plan))


def _on_rooms(plan: FloorPlan) -> list[str]:
    remarks = []
    for room in plan.rooms:
        area = room.polygon.area
        if area < 1.0:
            remarks.append(f"Room '{room.name}' has only {area:.2f} m2.")
        elif room.polygon.buffer(-0.25).is_empty:
            remarks.append(f"Room '{room.name}' is nowhere wider than 0.5 m.")
    west, south, _, _ = plan.bounds
    if max(abs(west), abs(south)) > _FAR_M:
        remarks.append(
            f"The plan lies far from its origin (x from {west:,.0f} m, y from {south:,.0f} m): "
            "readings and tests must use the same system of coordinates."
        )
    return remarks


def _on_gaps(plan: FloorPlan) -> list[str]:
    """Rooms on one slab that just miss being one domain, or that are drawn without walls."""
    remarks = []
    for first, one in enumerate(plan.rooms):
        for other in plan.rooms[first + 1 :]:
            if one.slab != other.slab:
                continue
            gap = one.polygon.distance(other.polygon)
            if THIN_WALL_M < gap <= 2 * THIN_WALL_M:
                remarks.append(
                    f"Rooms '{one.name}' and '{other.name}' stand {gap:.2f} m apart: mapped "
                    f"apart, as walls thicker than {THIN_WALL_M} m are taken to part the slab."
                )
    return remarks


def _on_joints(plan: FloorPlan) -> list[str]:
    """Joints that end inside the floor part nothing."""
    remarks = []
    whole = len(domains(FloorPlan(plan.rooms)))
    parted = len(domains(plan))
    joints = plan.lines_of(*JOINT_KINDS)
    if joints and parted == whole:
        remarks.append(
            "No joint of the plan parts a slab: a joint must run from edge to edge of the floor, "
            f"or end at most {JOINT_REACH_M} m short of it."
        )
    return remarks


def _on_lines(plan: FloorPlan) -> list[str]:
    unknown = unknown_words(plan.lines)
    remarks = [unknown] if unknown and unknown not in plan.notes else []
    if not plan.lines_of("known-service"):
        remarks.append(
            "The plan shows no services (pipes, cables, tendons). That does not mean there are "
            "none: locate them before any drilling."
        )
    if not plan.lines_of("exterior-wall"):
        remarks.append("The plan names no exterior walls; the outer edge is taken instead.")
    heights = [np.ptp(room.polygon.bounds[1::2]) for room in plan.rooms]
    widths = [np.ptp(room.polygon.bounds[0::2]) for room in plan.rooms]
    told = any(CHECK_ONE_WALL in note for note in plan.notes)
    if not told and (max(widths) > 500 or max(heights) > 500):
        remarks.append("A room is longer than 500 m: check the unit of the coordinates.")
    return remarks
