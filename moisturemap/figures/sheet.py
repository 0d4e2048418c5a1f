"""A page of a drawing: texts, drawings of the floor and key, laid out to the width they print at.

A figure is made at the size it is printed, so that a point of type is a point on paper. The page
grows downwards as far as title, key and caption need; nothing of them is ever cut.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrow, Rectangle
from matplotlib.ticker import MaxNLocator

from moisturemap.checked import checked, within
from moisturemap.figures.key import Key
from moisturemap.figures.labels import Floor
from moisturemap.figures.style import INK, MUTED, PAPER, font
from moisturemap.figures.typeface import properties_for, width_of, wrapped
from moisturemap.units import Units

Bounds = tuple[float, float, float, float]

MM = 25.4
UPRIGHT_MM, LYING_MM = 174.0, 261.0
"""Width of the text on an upright and a lying A4 sheet with 18 mm margins [mm]."""

LYING_RATIO = 1.6
"""A floor this much wider than high is drawn for a sheet lying on its side (our choice)."""

TICK_ROOM = 0.32
"""Along a side, for each number of its scale [in]: four digits and a unit."""

EDGE, GAP = 0.12, 0.16
"""Free at the edges of a page, and between its parts [in]."""

TITLE_PT, SUBTITLE_PT, CAPTION_PT, TICK_PT = 11.0, 8.0, 7.0, 7.0
TITLE_LINE, SMALL_LINE = 0.19, 0.135
AXIS, STRIP, PANEL_HEAD = 0.34, 0.3, 0.29
"""Left of a map for its scale, below it for bar and arrow, above a panel for its name [in]."""

KEY_BESIDE = 2.05
"""Width of a key beside the drawing [in]."""

NARROWEST_PANEL = 1.95
"""Width for each of several drawings side by side, so that their names find room [in]."""

LONGEST_LINE = 7.9
"""Of text [in]: on a larger sheet an eye loses the way back to the next line (our choice)."""

MARGIN = 0.03
"""Free floor drawn round the plan, by its longer side."""

TALLEST = 1.35
"""Greatest height of a drawing by its width, so that it stays on one page."""


@dataclass(frozen=True, slots=True)
@checked
class Format:
    """How large a figure prints and in which units it speaks.

    Attributes
    ----------
    width_mm : float or None
        Width of the page [mm]; by default that of a text column on A4, upright or lying.
    height_mm : float or None
        The most it may be high [mm], where the drawing can give way.
    units : Units
    """

    width_mm: Annotated[float | None, within(60, 1200, "mm")] = None
    height_mm: Annotated[float | None, within(60, 1200, "mm")] = None
    units: Units = Units()


@dataclass(frozen=True, slots=True)
class Texts:
    """What stands above and below a drawing."""

    title: str
    subtitle: str
    caption: str


@dataclass(frozen=True, slots=True)
class Wrapped:
    """Texts in lines for a width, with the height they take."""

    title: list[str]
    subtitle: list[str]
    caption: list[str]

    @classmethod
    def of(cls, texts: Texts, width: float) -> Wrapped:
        """Wrap texts to the width of a page [in]."""
        room = min(width - 2 * EDGE, LONGEST_LINE)
        return cls(
            wrapped(texts.title, room, TITLE_PT, "bold") if texts.title else [],
            wrapped(texts.subtitle, room, SUBTITLE_PT) if texts.subtitle else [],
            wrapped(texts.caption, room, CAPTION_PT) if texts.caption else [],
        )

    @property
    def head(self) -> float:
        """Height above the drawing [in]."""
        return EDGE + TITLE_LINE * len(self.title) + SMALL_LINE * len(self.subtitle) + 0.1

    @property
    def foot(self) -> float:
        """Height below it [in]."""
        return EDGE + SMALL_LINE * len(self.caption) + (0.05 if self.caption else 0.0)

    def draw(self, figure: Figure) -> None:
        """Write the texts into a figure."""
        height = figure.get_figheight()
        y = height - EDGE
        for line in self.title:
            y -= TITLE_LINE
            _write(figure, EDGE, y + 0.05, line, (TITLE_PT, "bold"), INK)
        for line in self.subtitle:
            y -= SMALL_LINE
            _write(figure, EDGE, y, line, (SUBTITLE_PT, "normal"), MUTED)
        y = self.foot - 0.05
        for line in self.caption:
            y -= SMALL_LINE
            _write(figure, EDGE, y + 0.03, line, (CAPTION_PT, "normal"), INK)


def _write(
    figure: Figure, x: float, y: float, text: str, look: tuple[float, str], colour: str
) -> None:
    figure.text(
        x / figure.get_figwidth(),
        y / figure.get_figheight(),
        text,
        color=colour,
        fontproperties=properties_for(text, *look),
        parse_math=False,
    )


@dataclass(frozen=True)
class Sizes:
    """The sizes of a sheet [in] and the scale of its drawings [in for each metre]."""

    width: float
    scale: float
    across: int
    beside: bool


class Sheet:
    """The layout of drawings of one floor on a page.

    Parameters
    ----------
    bounds : (float, float, float, float)
        Of the plan [m].
    form : Format
    panels : int
        Drawings side by side and below each other.
    ruled : bool
        Whether the drawing has a scale in metres or feet along its sides.
    keyed : bool
        Whether room is left for a key.
    head : float
        Above each of several drawings, for its name [in].
    """

    def __init__(
        self,
        bounds: Bounds,
        form: Format,
        *,
        panels: int = 1,
        ruled: bool = True,
        keyed: bool = True,
        head: float = PANEL_HEAD,
    ) -> None:
        west, south, east, north = bounds
        margin = MARGIN * max(east - west, north - south)
        self.bounds = bounds
        self.limits = (west - margin, south - margin, east + margin, north + margin)
        self.form, self.panels, self.keyed = form, panels, keyed
        self.axis = AXIS if ruled else 0.0
        self.head = head
        self.sizes = self._choose()

    @property
    def scale(self) -> float:
        """Inches on the page for each metre of floor."""
        return self.sizes.scale

    @property
    def name_width(self) -> float:
        """Width for the name of each of several drawings: to the next one, or to the key [in]."""
        if self.sizes.across > 1:
            return self._panel_size()[0] + GAP / 2
        key = self._key_width() + GAP if self.keyed and self.sizes.beside else 0.0
        return self.sizes.width - 2 * EDGE - self.axis - key

    def floor(self) -> Floor:
        """Return the empty floor to place labels on."""
        return Floor(self.limits, self.scale)

    def draw(self, texts: Texts, key: Key) -> tuple[Figure, tuple[Axes, ...]]:
        """Make the figure with its texts, key, scale bar and empty axes framed to the floor."""
        words = Wrapped.of(texts, self.sizes.width)
        size = self._panel_size()
        down = -(-self.panels // self.sizes.across)
        drawings = down * (size[1] + self._above_panel()) + (down - 1) * GAP + STRIP
        drawings += 0.14 if self.axis else 0.0
        key_width, body = self._key_width(), drawings
        key_height = key.height(key_width) if key.entries else 0.0
        if self.sizes.beside:
            body = max(drawings, key_height)
        elif key_height:
            body = drawings + GAP + key_height
        height = words.head + body + words.foot
        figure = Figure(figsize=(self.sizes.width, height), dpi=150, facecolor=PAPER)
        words.draw(figure)
        top = height - words.head
        axes = tuple(self._panel(figure, index, top, size) for index in range(self.panels))
        self._strip(figure, top - drawings)
        if key.entries:
            left = self.sizes.width - EDGE - key_width
            bottom = top - key_height if self.sizes.beside else words.foot
            _axes(figure, (left, bottom, key_width, key_height), key.draw)
        return figure, axes

    def _choose(self) -> Sizes:
        """Try the key beside and below, and any number across; the largest drawing wins."""
        width_mm = self.form.width_mm
        if width_mm is None:
            ratio = (self.limits[2] - self.limits[0]) / (self.limits[3] - self.limits[1])
            width_mm = LYING_MM if ratio > LYING_RATIO else UPRIGHT_MM
        width = width_mm / MM
        tallest = None if self.form.height_mm is None else self.form.height_mm / MM - 1.1
        found = [
            self._sized(width, across, beside=beside, tallest=tallest)
            for beside in ((False, True) if self.keyed else (False,))
            for across in range(1, self.panels + 1)
            if (not beside or width > 2.2 * KEY_BESIDE)
            and (across == 1 or width / across >= NARROWEST_PANEL)
        ]
        return max(found, key=lambda one: round(one.scale, 6))

    def _sized(self, width: float, across: int, *, beside: bool, tallest: float | None) -> Sizes:
        key = KEY_BESIDE + GAP if beside else 0.0
        room = width - 2 * EDGE - self.axis - key - (across - 1) * GAP
        down = -(-self.panels // across)
        high = (
            TALLEST * width
            if tallest is None
            else tallest - (1.0 if self.keyed and not beside else 0.0)
        )
        up = (max(high, 1.0) - STRIP - (down - 1) * GAP) / down - self._above_panel()
        scale = min(
            room / across / (self.limits[2] - self.limits[0]),
            up / (self.limits[3] - self.limits[1]),
        )
        return Sizes(width, max(scale, 1e-6), across, beside)

    def _above_panel(self) -> float:
        return self.head if self.panels > 1 else 0.0

    def _panel_size(self) -> tuple[float, float]:
        west, south, east, north = self.limits
        return (east - west) * self.scale, (north - south) * self.scale

    def _key_width(self) -> float:
        if not self.sizes.beside:
            return self.sizes.width - 2 * EDGE
        taken = self.sizes.across * (self._panel_size()[0] + GAP) + self.axis + 2 * EDGE
        return max(KEY_BESIDE, min(self.sizes.width - taken, 1.4 * KEY_BESIDE))

    def _panel(self, figure: Figure, index: int, top: float, size: tuple[float, float]) -> Axes:
        across = self.sizes.across
        left = EDGE + self.axis + (index % across) * (size[0] + GAP)
        head = self._above_panel()
        above = head + (index // across) * (size[1] + head + GAP)
        page = (figure.get_figwidth(), figure.get_figheight())
        box = (
            left / page[0],
            (top - above - size[1]) / page[1],
            size[0] / page[0],
            size[1] / page[1],
        )
        ax = figure.add_axes(box)
        ax.set_xlim(self.limits[0], self.limits[2])
        ax.set_ylim(self.limits[1], self.limits[3])
        if self.axis:
            _rule(ax, self.form.units, size)
        else:
            ax.axis("off")
        return ax

    def _strip(self, figure: Figure, bottom: float) -> None:
        """Draw a bar of a round length, and the arrow that says which way plan north is."""
        unit, metres = self.form.units.axis
        wanted = min((self.bounds[2] - self.bounds[0]) / 4, 1.6 / self.scale) / metres
        power = 10.0 ** _floor_log10(wanted)
        length = max(step * power for step in (1, 2, 5) if step * power <= wanted)
        long = length * metres * self.scale
        left, y = EDGE + self.axis, bottom + 0.07
        label = f"{length:g} {unit}"

        def draw(ax: Axes, width: float, height: float) -> None:
            ax.set_xlim(0, width)
            ax.set_ylim(0, height)
            ax.axis("off")
            for part, colour in ((0, INK), (1, MUTED)):
                corner = (part * long / 2, 0.03)
                ax.add_patch(Rectangle(corner, long / 2, 0.045, facecolor=colour, linewidth=0))
            ax.text(long + 0.06, 0.02, label, color=INK, fontproperties=font(TICK_PT))
            at = long + 0.06 + width_of(label, TICK_PT) + 0.25
            if at + 0.8 < width:
                ax.add_patch(
                    FancyArrow(
                        at,
                        0.0,
                        0,
                        0.15,
                        width=0.012,
                        head_width=0.07,
                        head_length=0.07,
                        length_includes_head=True,
                        color=INK,
                        linewidth=0,
                    )
                )
                ax.text(at + 0.08, 0.02, "plan north", color=INK, fontproperties=font(TICK_PT))

        room = max(self._panel_size()[0], min(2.4, self.sizes.width - left - EDGE))
        _axes(figure, (left, y, room, 0.17), draw)


def _floor_log10(value: float) -> int:
    from math import floor, log10

    return floor(log10(value))


def _axes(
    figure: Figure,
    box: tuple[float, float, float, float],
    draw: Callable[[Axes, float, float], None],
) -> None:
    """Draw into axes that lie in a box [in] and are measured in inches."""
    width, height = figure.get_figwidth(), figure.get_figheight()
    ax = figure.add_axes((box[0] / width, box[1] / height, box[2] / width, box[3] / height))
    draw(ax, box[2], box[3])


def _rule(ax: Axes, units: Units, size: tuple[float, float]) -> None:
    """Write round numbers of metres or feet along two sides of a drawing of a size [in]."""
    unit, metres = units.axis
    width, height = size
    for axis, (low, high), most in (
        (ax.xaxis, ax.get_xlim(), min(7, max(1, int(width / TICK_ROOM)))),
        (ax.yaxis, ax.get_ylim(), min(6, max(1, int(height / TICK_ROOM)))),
    ):
        locator = MaxNLocator(most, steps=[1, 2, 5, 10])
        ticks = locator.tick_values(low / metres, high / metres)
        shown = [t for t in ticks if low <= t * metres <= high]
        labels = [f"{t:g}" for t in shown]
        if labels and axis is ax.xaxis:
            labels[-1] += f" {unit}"
        axis.set_ticks([t * metres for t in shown], labels=labels)
    for side in ax.spines.values():
        side.set_visible(False)
    ax.tick_params(length=2.5, pad=2, color=MUTED, labelcolor=MUTED, labelsize=TICK_PT)


__all__ = ["Format", "Sheet", "Texts", "Wrapped"]
