"""The figure of every test against its limit, with the guard band."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from moisturemap.acceptance import Decision, ProfileVerdict, limit_value
from moisturemap.figures.chart_page import ChartPage, draw_key, key_height, labels_of, width_in
from moisturemap.figures.sheet import EDGE, Format, Texts
from moisturemap.figures.signs_of_tests import (
    AGAINST,
    SIGNS,
    WORDS,
    draw_sign,
    sign_handle,
    sign_of_spot,
)
from moisturemap.figures.style import INK, MUTED, WARNING, font
from moisturemap.figures.typeface import POINTS_PER_INCH, width_of, wrapped
from moisturemap.language import spelling, spoken
from moisturemap.quantities import spoken_figures, three_figures
from moisturemap.survey import TEST_METHODS
from moisturemap.units import Units

ROW, AXIS, VERDICT, BESIDE = 0.27, 0.48, 1.25, 0.11
"""Height of a test and of the axis below, least width for the verdicts at the right, and what parts
them from the chart [in]."""

NAME_PT = 7.0
"""Of the names of tests and their verdicts [pt]."""

VERDICTS = ("exceeds", "not proven", "meets")


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    value: float
    low: float
    high: float
    limit: float
    sign: str
    words: str


def limit_chart(decision: Decision, method: str | None = None, form: Format = Format()) -> Figure:
    """Draw each judged test with its uncertainty against the limit of its room.

    Parameters
    ----------
    decision : Decision
    method : str, optional
        Test method to draw; the one with most judged tests by default. Sealed humidities that count
        are drawn along with tests of humidity; tests not judged are listed below with the reason.
    form : Format
    """
    table = decision.tests
    judged = table[table["verdict"].isin(VERDICTS)]
    if method is None and not judged.empty:
        method = str(judged["method"].mode().iloc[0])
    drawn = judged["method"] == method
    rows = _rows(decision, judged[drawn], method, form.units)
    rows += _against(decision, table.drop(index=judged.index), method, form.units)
    rows.sort(key=lambda row: row.value - row.limit, reverse=True)
    others = table.drop(index=judged[drawn].index)
    notes = _notes(others[others["counts_against"] == ""], form.units)
    texts = Texts(f"Tests against the limit: {decision.verdict}", _heading(decision), notes)
    across = width_in(form)
    left = min(0.42 * across, max([0.5, *(width_of(row.name, NAME_PT) for row in rows)]) + 0.2)
    names = [wrapped(row.name, left - 0.2, NAME_PT) for row in rows]
    row_height = max([ROW, *(0.13 * len(lines) + 0.06 for lines in names)])
    marks = _handles(rows) if rows else []
    keyed = key_height(labels_of(marks), across - 2 * EDGE)
    page = ChartPage(texts, row_height * max(len(rows), 1) + AXIS + keyed, form)
    said = [width_of(_said(row), NAME_PT) for row in rows]
    width = across - left - max([VERDICT, *(one + BESIDE + EDGE for one in said)])
    ax = page.axes(left, AXIS + keyed, width, row_height * max(len(rows), 1))
    _draw(ax, rows, names, method)
    if rows:
        draw_key(page, marks, EDGE, keyed)
    return page.figure


def _rows(decision: Decision, drawn: pd.DataFrame, method: str | None, units: Units) -> list[_Row]:
    rows = [_test_row(row, units) for row in drawn.to_dict("records")]
    if method is None or TEST_METHODS[method].quantity.unit == "%RH":
        held = [s for s in decision.spots if s.governs and s.verdict in VERDICTS]
        rows += [_spot_row(spot) for spot in held if spot.sealed is not None]
    return rows


def _against(
    decision: Decision, unjudged: pd.DataFrame, method: str | None, units: Units
) -> list[_Row]:
    """Return the tests that are not judged and count against the floor, where a limit is drawn."""
    unit = None if method is None else TEST_METHODS[method].quantity.unit
    rows = []
    for row in unjudged[unjudged["counts_against"] != ""].to_dict("records"):
        limit = decision.limits.get(str(row["room"]), decision.limits.get(""))
        if limit is not None and row["unit"] == unit and not pd.isna(row["value"]):
            told = {**row, "limit": limit_value(limit)}
            rows.append(replace(_test_row(told, units), sign=AGAINST, words=_only_against(row)))
    return rows


def _only_against(row: dict[Any, Any]) -> str:
    """Say how a test stands that may not speak for the floor; an invalid one has no verdict."""
    how = str(row["counts_against"])
    if row["standing"] != "invalid":
        return how.replace("conflict", "counts against")
    words = {"exceeds": "not valid, above the limit", "not proven": "not valid, near the limit"}
    return words.get(how, "not valid, counts against")


def _heading(decision: Decision) -> str:
    sources = dict.fromkeys(
        f"{limit.value:g} {limit.unit} ({TEST_METHODS[limit.method].quantity.label}) by"
        f" {limit.source}"
        for limit in decision.limits.values()
        if limit is not None
    )
    return f"{decision.sentence} Limit: {'; '.join(sources) or 'none stated'}."


def _test_row(row: dict[Any, Any], units: Units) -> _Row:
    value = float(row["value"])
    spread = 0.0 if pd.isna(row["uncertainty"]) else float(row["uncertainty"])
    return _Row(
        _name(row, units),
        value,
        value - spread,
        value + spread,
        float(row["limit"]),
        str(row["verdict"]),
        str(row["verdict"]),
    )


def _spot_row(spot: ProfileVerdict) -> _Row:
    assert spot.sealed is not None
    assert spot.limit_pct is not None
    sealed, sign = spot.sealed, sign_of_spot(spot)
    return _Row(
        f"{spot.spot} once sealed*",
        sealed.value,
        sealed.low,
        sealed.high,
        spot.limit_pct,
        sign,
        spot.verdict if sign == spot.verdict else "no valid test",
    )


def _name(row: dict[Any, Any], units: Units) -> str:
    at = "" if pd.isna(row["depth_mm"]) else f", {units.depth(row['depth_mm'])}"
    room = f", {row['room']}" if row["room"] else ""
    return f"{row['hole'] or 'test ' + str(row['test'])}{at}{room}"


MOST_NOTES = 4
"""Tests that are not drawn and named one by one with the reason; more are counted (our choice)."""


def _notes(others: pd.DataFrame, units: Units) -> str:
    rows = others.to_dict("records")
    if len(rows) > MOST_NOTES:
        return f"{len(rows)} further records are not judged; the table of tests says why."
    return "\n".join(_note(row, units) for row in rows)


def _note(row: dict[Any, Any], units: Units) -> str:
    """Say why a test is not drawn."""
    reasons = [one for one in str(row["reasons"]).split("\n") if one]
    why = "; ".join(reasons[:2]) if row["standing"] == "invalid" and reasons else row["why"]
    value = "" if pd.isna(row["value"]) else f" {spoken_figures(row['value'])} {row['unit']},"
    return f"{_name(row, units)}:{value} {row['standing']}, {row['verdict']}: {why}."


def _draw(ax: Axes, rows: list[_Row], names: list[list[str]], method: str | None) -> None:
    for place, row in enumerate(rows):
        edge = SIGNS[row.sign].edge
        ax.plot([row.value, row.high], [place, place], color=edge, linewidth=1.6)
        ax.plot([row.low, row.value], [place, place], color=edge, linewidth=0.7)
        ax.plot([row.limit] * 2, [place - 0.5, place + 0.5], color=WARNING, linewidth=1.6)
        draw_sign(ax, row.sign, row.value, place, size=6.8, zorder=4)
        ax.annotate(
            _said(row),
            (1.0, place),
            (BESIDE * POINTS_PER_INCH, 0),
            va="center",
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            color=edge,
            fontproperties=font(NAME_PT),
            annotation_clip=False,
        )
    ax.set_yticks(range(len(rows)), ["\n".join(lines) for lines in names], parse_math=False)
    ax.set_ylim(max(len(rows), 1) - 0.5, -0.5)
    if method is not None:
        quantity = TEST_METHODS[method].quantity
        ax.set_xlabel(
            f"{spoken(quantity.label)} [{quantity.unit}]", fontproperties=font(7.5), color=MUTED
        )
    if not rows:
        _say_none(ax)
    ax.tick_params(labelsize=NAME_PT, color=MUTED, labelcolor=INK, left=False)
    ax.margins(x=0.08)
    ax.grid(axis="x", color="#e3e7ea", linewidth=0.7)
    ax.set_axisbelow(True)
    ax.spines["bottom"].set_color(MUTED)
    for side in ("top", "right", "left"):
        ax.spines[side].set_visible(False)


def _say_none(ax: Axes) -> None:
    ax.set_xticks([])
    ax.text(
        0.0,
        0.5,
        "no valid test was held against a limit",
        transform=ax.transAxes,
        va="center",
        color=INK,
        fontproperties=font(8),
    )


def _said(row: _Row) -> str:
    value = spelling().number(three_figures(row.value, row.limit))
    return f"{value}   {spoken(row.words)}"


def _handles(rows: list[_Row]) -> list[Line2D | tuple[Line2D, ...]]:
    drawn = {row.sign for row in rows}
    marks: list[Line2D | tuple[Line2D, ...]] = [
        sign_handle(sign, words)
        for sign, words in WORDS.items()
        if sign in drawn or sign in VERDICTS
    ]
    marks += [
        Line2D([], [], color=WARNING, linewidth=1.6, label="limit"),
        Line2D([], [], color=INK, linewidth=1.6, label="uncertainty (k = 2), upwards"),
    ]
    if any(row.name.endswith("*") for row in rows):
        note = "* worked out from depths, 90% interval"
        marks.append(Line2D([], [], linestyle="", label=note))
    return marks
