"""Limits of use and assumptions of a decision, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.sealed import ProfileVerdict
from moisturemap.acceptance.verdict import GUARD_SOURCE, percent
from moisturemap.slab import equilibrium_moisture, rules_of_thumb

USE_LIMITS = (
    "The results hold for the tested places at the time they were read; they promise nothing for"
    " other places or for later wetting.",
    "The scan is comparative: it guides where to test, and acceptance rests on the calibrated"
    " tests alone.",
    "The document of the covering and adhesive maker, the project specification and local code come"
    " before every rule used here.",
)


def decision_statements(
    spots: Sequence[ProfileVerdict], judged: Sequence[JudgedTest], risk: float
) -> tuple[str, ...]:
    """Return the limits of use, the decision rule with its risk, and what the models assume.

    Parameters
    ----------
    spots : sequence of ProfileVerdict
    judged : sequence of JudgedTest
    risk : float
        Consumer's risk, 0.5 for no guard band.
    """
    guard = (
        "A test meets the limit only when the chance that its place is really above it, going by"
        f" the uncertainty of the test, is at most {percent(risk)} (consumer's risk; the document"
        " of the limit may state another); it exceeds when its value itself is above; between,"
        f" nothing is proven ({GUARD_SOURCE}). What is allowed for a probe not checked before and"
        " after is added to the result first; it goes one way and is no part of that chance."
        if risk < 0.5
        else "Tests are held against the limit by the value alone, without guard band, as chosen."
    )
    model = next((s.estimate.statements for s in spots if s.estimate is not None), ())
    refused = [f"No sealed humidity at {s.spot}: {s.refusal}." for s in spots if s.refusal]
    odd = [f"{s.spot}: {r}." for s in spots if s.estimate is not None for r in s.estimate.remarks]
    thick = {
        s.estimate.spec.thickness_mm for s in spots if s.wait and not s.wait.why_none and s.estimate
    }
    return (
        *USE_LIMITS,
        guard,
        *(f"The drying model assumes: {m}." for m in model),
        *refused,
        *odd,
        *(_thumb(one) for one in sorted(thick)),
        *_timber_statements(judged),
    )


def _thumb(thickness_mm: float) -> str:
    """Rules of thumb beside the time the drying model gives."""
    said = "; ".join(
        f"{rule.rule} ({rule.source}): "
        + ("outside its range" if rule.days is None else _span(*rule.days))
        for rule in rules_of_thumb(thickness_mm)
    )
    return (
        f"Rules of thumb for the whole drying of {thickness_mm:g} mm, which disagree and are linear"
        f" in thickness where diffusion is quadratic: {said}."
    )


def _span(least: float, most: float) -> str:
    return f"{least:.0f} days" if least == most else f"{least:.0f} to {most:.0f} days"


def _timber_statements(judged: Sequence[JudgedTest]) -> list[str]:
    """Say at which moisture timber settles in the air it was tested in."""
    said: dict[str, None] = {}
    for test in judged:
        entry = test.entry
        air, humidity = entry.number("air_temperature_c"), entry.number("air_rh_pct")
        if entry.method.key != "pin" or air is None or humidity is None:
            continue
        if 0 <= air <= 60 and 0 <= humidity <= 95:
            said[
                f"In air of {air:g} °C and {humidity:g} %RH timber settles near"
                f" {equilibrium_moisture(air, humidity):.0f} %MC (Wood Handbook)."
            ] = None
    return list(said)
