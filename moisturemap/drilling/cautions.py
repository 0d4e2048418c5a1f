"""Cautions to be cleared by a named person before any drilling.

They remind; they replace no law, code, licence or site rule, and no list makes a hole harmless.
"""

from __future__ import annotations

from moisturemap.floorplan import Room

GENERAL = (
    "Services: drawings and this scan do not show every pipe and cable. Assume they are there, "
    "find them with a locator, isolate what can be isolated, and drill under a permit (HSE HSG47; "
    "Electricity at Work Regulations 1989; local code and licensed trades decide). Sweep the meter "
    "across each place both ways first, reading every 0.1 m as far as 0.4 m on either side: where "
    "it rises sharply, even as a small bump on the slope of wet floor, do not drill.",
    "Post-tensioning: no hole until records, ground-penetrating radar and the structural engineer "
    "have ruled out tendons or marked the places; drawings alone are not enough (ACI 318 records; "
    "local code). A cut tendon can kill.",
    "Structure: the engineer's consent for decks, precast, thin or fibre slabs, fire-rated floors "
    "and any warranty.",
    "Asbestos: presume old tiles, adhesive and backing contain it until a laboratory says no; do "
    "not drill, grind or sand before (OSHA 29 CFR 1926.1101; Control of Asbestos Regulations "
    "2012; local law).",
    "Silica dust: drill dry as the test asks, with shroud and extraction and a vacuum of the class "
    "local law demands, no dry sweeping, fitted mask (OSHA 29 CFR 1926.1153 Table 1; HSE CIS36).",
    "Membrane, gas and radon barrier: know the thickness, set the depth stop, never pierce. When "
    "it is pierced, stop and report; its designer decides the repair (BR 211; BS 8485).",
    "Power and water: on wet floors an electrician first, residual-current protection, leads kept "
    "dry (OSHA 1926.404; local code).",
)
"""Cautions for every floor; standards cited from secondary sources, verify."""

LISTED = 4
"""Rooms named in a caution; of more the first, and how many more."""


def heating_caution(rooms: list[Room]) -> str:
    """Return what stands first before drilling into a heated floor; "" where none is.

    Parameters
    ----------
    rooms : list of Room
        Rooms with holes.
    """
    heated = [room.name for room in rooms if room.slab.heated]
    if not heated:
        return ""
    return (
        f"Floor heating in {', '.join(heated)}: drill only at marked test points. Pipes may lie 25 "
        "to 30 mm down, so the standard depth may reach them. Have the loop drawing and a thermal "
        "image with the heating on; heating off before the test as its standard asks (EN 1264-4)."
    )


def heating_unknown(rooms: list[Room]) -> str:
    """Return what to find out before drilling where floor heating is not stated; "" else.

    Parameters
    ----------
    rooms : list of Room
        Rooms with holes.
    """
    unknown = [room.name for room in rooms if room.slab.heated is None]
    if not unknown:
        return ""
    named = ", ".join(unknown[:LISTED])
    if len(unknown) > LISTED:
        named += f" and {len(unknown) - LISTED} more rooms"
    return (
        f"Floor heating is neither stated nor ruled out in {named}: find out before drilling, and "
        "enter it. Heating pipes may lie 25 to 30 mm down (EN 1264-4)."
    )


def heating_cautions(rooms: list[Room]) -> tuple[str, ...]:
    """Return what is said first of floor heating, there and not ruled out."""
    return tuple(one for one in (heating_caution(rooms), heating_unknown(rooms)) if one)


def cautions(rooms: list[Room], flagged: list[str], timber: bool) -> tuple[str, ...]:
    """Return the cautions that apply to a plan.

    Parameters
    ----------
    rooms : list of Room
        Rooms with holes.
    flagged : list of str
        Names of the flagged anomalies.
    timber : bool
        Whether pin tests in timber are among them.
    """
    found = [*heating_cautions(rooms), *GENERAL]
    if flagged:
        found.append(
            f"Flagged by the scan: {', '.join(flagged)}. Each may be a pipe, cable, bar, metal, an "
            "active leak or a wrong reading; locate it before drilling near it. What is not "
            "flagged is not shown to be clear."
        )
    if timber:
        found.append(
            "Timber: pins can meet cables and pipes in the joist space; know what lies below "
            "before driving them."
        )
    return tuple(found)
