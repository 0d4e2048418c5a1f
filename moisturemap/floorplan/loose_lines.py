"""Rooms out of loose lines that nearly meet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from shapely.geometry import LineString, Point, Polygon

Array = NDArray[np.float64]

_GRID_M = 1e-4


def areas_between(lines: Sequence[LineString], gap: float) -> list[Polygon]:
    """Return the areas that loose lines enclose, closing gaps up to a width.

    Parameters
    ----------
    lines : sequence of LineString
        In metres, in any order and direction.
    gap : float
        Ends this close to another end, or to another line, meet it [m]. Everything else stays
        where it was drawn.

    Returns
    -------
    list of Polygon
        Faces of the net of lines, not overlapping; lines that enclose nothing are passed over.
    """
    sound = [line for line in lines if line.length > 0]
    if not sound:
        return []
    joined = _reach_lines(_join_ends(sound, gap), gap)
    net = shapely.union_all(joined, grid_size=_GRID_M)
    faces = shapely.polygonize(list(getattr(net, "geoms", [net])))
    return [face for face in faces.geoms if face.area > 0]


def _join_ends(lines: Sequence[LineString], gap: float) -> list[LineString]:
    """Move ends that lie within the gap of each other to their common middle."""
    ends = np.array([place for line in lines for place in (line.coords[0], line.coords[-1])])[:, :2]
    pairs = cKDTree(ends).query_pairs(gap, output_type="ndarray")
    count = len(ends)
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    groups, group = connected_components(links, directed=False)
    size = np.bincount(group, minlength=groups)
    middle = np.column_stack(
        [np.bincount(group, ends[:, axis], minlength=groups) / size for axis in (0, 1)]
    )[group]
    middle[size[group] == 1] = ends[size[group] == 1]
    return [
        _with_ends(line, middle[2 * index], middle[2 * index + 1])
        for index, line in enumerate(lines)
    ]


def _with_ends(line: LineString, start: Array, end: Array) -> LineString:
    inner = [place[:2] for place in line.coords[1:-1]]
    return LineString([tuple(start), *inner, tuple(end)])


def _reach_lines(lines: list[LineString], gap: float) -> list[LineString]:
    """Carry free ends that stop just short of a line on to that line."""
    tree = shapely.STRtree(lines)
    carried = list(lines)
    for index, line in enumerate(lines):
        for end in (line.coords[0], line.coords[-1]):
            place = Point(end)
            near = [int(i) for i in tree.query(place.buffer(gap)) if i != index]
            gaps = [(lines[i].distance(place), i) for i in near]
            if not gaps or min(gaps)[0] == 0 or min(gaps)[0] > gap:
                continue
            other = lines[min(gaps)[1]]
            foot = other.interpolate(other.project(place))
            carried.append(LineString([end[:2], foot.coords[0]]))
    return carried
