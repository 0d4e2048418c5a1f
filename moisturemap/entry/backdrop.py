"""The picture a plan is traced over: where it lies on the floor, and seen from straight above.

A picture lies on the floor by a similarity. With u to the right and v down [pixels],

    x = x0 + a u + b v,   y = y0 + b u - a v   [m],

where a = s cos t, b = s sin t, s the size of a pixel [m] and t the turn counter-clockwise. A
photograph taken at a slant is first drawn anew from straight above, by the plane homography that
takes the four corners of a known rectangle to their places (Hartley and Zisserman, Multiple View
Geometry in Computer Vision, 2nd ed., 2003, section 2.3 and algorithm 4.1 for four points).
Bent lines of a wide-angle lens are not made straight.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Polygon, box

from moisturemap.checked import checked, within
from moisturemap.errors import FormatError, OptionError

Array = NDArray[np.float64]

MOST_PIXELS = 16_000_000
"""Largest picture drawn anew [pixels]: what the browser of a tablet still shows. Our choice."""
THUMB_PIXELS = 900
"""Size of a page shown before it is taken [pixels]; our choice."""
TAP_PIXELS = 3.0
"""How far from a corner a careful tap lies [pixels of the picture]; our choice."""
LEAST_SHARE = 0.01
"""Least share of the picture the rectangle takes; a smaller one tells too little (our choice)."""
SMALLEST = 0.25
"""The picture is cut off towards the horizon where its scale falls below this share of that at the
far corner of the rectangle; beyond, a pixel covers too much floor to trace by. Our choice."""


@dataclass(frozen=True, slots=True)
@checked
class Rectangle:
    """A rectangle of known sides in a picture.

    Attributes
    ----------
    corners : four (float, float)
        In the picture, u to the right and v down [pixels]; in order round the rectangle.
    sides : (float, float)
        From the first corner to the second, and from the second to the third [m].
    """

    corners: tuple[tuple[float, float], ...]
    sides: Annotated[tuple[float, float], within(0.01, 2000, "m")]


@dataclass(frozen=True, slots=True)
class Straightened:
    """How a picture looks from straight above.

    Attributes
    ----------
    width, height : int
        Of the picture drawn anew [pixels].
    pixel_m : float
        Size of one of its pixels [m].
    to_picture : (3, 3) array
        From its pixels to those of the picture taken, homogeneous.
    first : (float, float)
        The first corner of the rectangle in it [pixels].
    error_m : float
        How far a place at the edge of the picture may be off, when each corner was tapped
        ``TAP_PIXELS`` beside its place [m].
    """

    width: int
    height: int
    pixel_m: float
    to_picture: Array
    first: tuple[float, float]
    error_m: float


def homography(places: ArrayLike, onto: ArrayLike) -> Array:
    """Return the homography that takes four places to four others.

    Parameters
    ----------
    places, onto : array_like, (4, 2)
        No three of either on one line.

    Returns
    -------
    (3, 3) array
        H with H[2, 2] = 1; (x, y, 1) goes to H (x, y, 1), divided by its last number.

    Raises
    ------
    OptionError
        When three places lie on one line.
    """
    (x, y), (u, v) = np.asarray(places, dtype=float).T, np.asarray(onto, dtype=float).T
    zero, one = np.zeros(4), np.ones(4)
    rows = np.vstack(
        [
            np.column_stack([x, y, one, zero, zero, zero, -u * x, -u * y]),
            np.column_stack([zero, zero, zero, x, y, one, -v * x, -v * y]),
        ]
    )
    try:
        found = np.linalg.solve(rows, np.concatenate([u, v]))
    except np.linalg.LinAlgError:
        message = "three of the corners lie on one line"
        raise OptionError(message, allowed="the four corners of a rectangle") from None
    return np.append(found, 1.0).reshape(3, 3)


def carried(by: Array, places: ArrayLike) -> Array:
    """Return where a homography takes places, (n, 2)."""
    given = np.asarray(places, dtype=float)
    moved = np.column_stack([given, np.ones(len(given))]) @ by.T
    return moved[:, :2] / moved[:, 2:]


def straighten(rectangle: Rectangle, width: int, height: int) -> Straightened:
    """Work out how a picture with a known rectangle looks from straight above.

    Parameters
    ----------
    rectangle : Rectangle
    width, height : int
        Of the picture as taken [pixels].

    Raises
    ------
    OptionError
        When the corners are not those of a rectangle seen from one side, or lie too close.
    """
    tapped = _tapped(rectangle, width, height)
    wide, deep = rectangle.sides
    clockwise = _signed_area(tapped) > 0  # v runs down
    up = -deep if clockwise else deep
    onto = np.array([(0.0, 0.0), (wide, 0.0), (wide, -up), (0.0, -up)])  # m, second axis down
    to_floor = homography(tapped, onto)
    seen = _in_sight(to_floor, tapped, width, height)
    low, high = _bounds(to_floor, seen)
    lengths = np.linalg.norm(np.roll(tapped, -1, axis=0) - tapped, axis=1)
    finest = float((np.array([wide, deep, wide, deep]) / lengths).min())
    pixel = max(finest, math.sqrt(float(np.prod(high - low)) / MOST_PIXELS))
    drawn = np.array([[pixel, 0.0, low[0]], [0.0, pixel, low[1]], [0.0, 0.0, 1.0]])
    across, down = (max(1, int(size)) for size in np.ceil((high - low) / pixel))
    first = -low / pixel
    return Straightened(
        width=across,
        height=down,
        pixel_m=pixel,
        to_picture=np.linalg.inv(to_floor) @ drawn,
        first=(float(first[0]), float(first[1])),
        error_m=_error(tapped, onto, seen),
    )


def _tapped(rectangle: Rectangle, width: int, height: int) -> Array:
    tapped = np.asarray(rectangle.corners, dtype=float)
    allowed = "the four corners of a rectangle, one after the other round it"
    if tapped.shape != (4, 2):
        raise OptionError("the rectangle needs four corners", value=len(tapped), allowed=allowed)
    ahead = np.roll(tapped, -1, axis=0) - tapped
    turns = ahead[:, 0] * np.roll(ahead[:, 1], -1) - ahead[:, 1] * np.roll(ahead[:, 0], -1)
    if not (np.all(turns > 0) or np.all(turns < 0)):
        raise OptionError("the four corners do not go round a rectangle", allowed=allowed)
    if abs(_signed_area(tapped)) < LEAST_SHARE * width * height:
        raise OptionError(
            "the rectangle is too small in the picture to straighten it by",
            allowed=f"one that takes at least {LEAST_SHARE:.0%} of the picture",
        )
    return tapped


def _signed_area(ring: Array) -> float:
    x, y = ring.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def _in_sight(to_floor: Array, tapped: Array, width: int, height: int) -> Array:
    """Return the part of the picture that is far enough from the horizon, as corners [pixels]."""
    near = to_floor[2] @ np.column_stack([tapped, np.ones(4)]).T
    sign = math.copysign(1.0, float(near[0]))
    if np.any(near * sign <= 0):
        message = "the four corners cannot be those of a rectangle seen from one place"
        raise OptionError(message, allowed="its corners one after the other round it")
    # the last number of H (u, v, 1) falls to zero at the horizon
    least = SMALLEST * float((near * sign).min())
    picture = box(0, 0, width, height)
    corners = np.asarray(picture.exterior.coords[:-1])
    height_of = sign * (np.column_stack([corners, np.ones(4)]) @ to_floor[2]) - least
    kept: list[Any] = []
    for i in range(4):
        j = (i + 1) % 4
        if height_of[i] >= 0:
            kept.append(corners[i])
        if (height_of[i] >= 0) != (height_of[j] >= 0):
            share = height_of[i] / (height_of[i] - height_of[j])
            kept.append(corners[i] + share * (corners[j] - corners[i]))
    seen = Polygon(kept).union(Polygon(tapped))
    return np.asarray(shapely.convex_hull(seen).exterior.coords[:-1])


def _bounds(to_floor: Array, seen: Array) -> tuple[Array, Array]:
    places = carried(to_floor, seen)
    return places.min(axis=0), places.max(axis=0)


def _error(tapped: Array, onto: Array, seen: Array) -> float:
    """Return how far places at the edge move when each corner was tapped a little off [m]."""
    there = carried(homography(tapped, onto), seen)
    squares = np.zeros(len(seen))
    for corner in range(4):
        for axis in range(2):
            off = tapped.copy()
            off[corner, axis] += TAP_PIXELS
            squares += np.sum((carried(homography(off, onto), seen) - there) ** 2, axis=1)
    return float(np.sqrt(squares.max() / 2))  # each tap is off one way, not both


def upright_size(content: bytes) -> tuple[int, int]:
    """Return width and height of a picture held the way its camera was [pixels]."""
    with _upright(content) as picture:
        return int(picture.width), int(picture.height)


def small(content: bytes) -> bytes:
    """Return a picture no larger than ``THUMB_PIXELS`` either way, as JPEG."""
    with _upright(content) as picture:
        shown = picture.convert("RGB")
        shown.thumbnail((THUMB_PIXELS, THUMB_PIXELS))
    buffer = io.BytesIO()
    shown.save(buffer, "JPEG", quality=80)
    return buffer.getvalue()


def drawn_from_above(content: bytes, rectangle: Rectangle) -> bytes:
    """Draw a picture anew as seen from straight above.

    Parameters
    ----------
    content : bytes
        JPEG or PNG.
    rectangle : Rectangle
        In pixels of the picture held upright.

    Returns
    -------
    bytes
        JPEG, white where the picture shows nothing.
    """
    from PIL import Image

    with _upright(content) as picture:
        above = straighten(rectangle, picture.width, picture.height)
        by = above.to_picture / above.to_picture[2, 2]
        drawn = picture.convert("RGB").transform(
            (above.width, above.height),
            Image.Transform.PERSPECTIVE,
            tuple(by.ravel()[:8]),
            resample=Image.Resampling.BICUBIC,
            fillcolor="white",
        )
    buffer = io.BytesIO()
    drawn.save(buffer, "JPEG", quality=88)
    return buffer.getvalue()


def _upright(content: bytes) -> Any:
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as picture:
            return ImageOps.exif_transpose(picture)
    except (OSError, SyntaxError, ValueError) as error:
        message = f"the picture is damaged: {str(error)[:200]}"
        raise FormatError(message, allowed="a picture that opens") from None
