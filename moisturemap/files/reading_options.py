"""How a table of readings is to be understood."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, tzinfo

from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.quantities import METRES_PER_UNIT

LAYOUTS = ("auto", "long", "grid")


@dataclass(frozen=True, kw_only=True)
@checked
class ReadingOptions:
    """How a table of readings is to be understood.

    Attributes
    ----------
    coordinates : str
        Unit of ``x`` and ``y`` where the headings state none (keys of ``METRES_PER_UNIT``).
    sheet : str or None
        Sheet of a workbook.
    layout : str
        ``long`` (one row a reading), ``grid`` (x along the first row, y down the first column) or
        ``auto``.
    decimal : str or None
        ``"."`` or ``","``; found from the file when None.
    zone : tzinfo or None
        Zone of times that state none; UTC, with a note, when None.
    day : datetime.date or None
        Day of times of day without a date.
    name : str or None
        How messages call the file; its name when None.
    """

    coordinates: str = "m"
    sheet: str | None = None
    layout: str = "auto"
    decimal: str | None = None
    zone: tzinfo | None = None
    day: date | None = None
    name: str | None = None

    def __post_init__(self) -> None:
        """Refuse settings outside what is allowed."""
        for setting, value, allowed in (
            ("coordinates", self.coordinates, tuple(METRES_PER_UNIT)),
            ("layout", self.layout, LAYOUTS),
            ("decimal", self.decimal, (None, ".", ",")),
        ):
            if value not in allowed:
                raise OptionError(
                    "no such setting",
                    source=self.name,
                    place=setting,
                    value=value,
                    allowed=", ".join(str(one) for one in allowed if one),
                )
