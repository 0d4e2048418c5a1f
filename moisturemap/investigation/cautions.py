"""Cautions of an investigation, to be read before anything else."""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.floorplan import Room
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.standing import Standing

LIVE_LEAK = (
    "Live leak: where one may run, stop the water first, then study it; the plumber decides what is"
    " shut (local code and licensed trades)."
)
ELECTRICITY = (
    "Electricity near water: an electrician first; no socket, cable or heating mat on wet floor is"
    " used before (local code)."
)
ASBESTOS = (
    "Asbestos: presume old tile, adhesive and backing contain it; a laboratory says no before"
    " anything is lifted, drilled or sampled (OSHA 29 CFR 1926.1101; Control of Asbestos"
    " Regulations 2012; local law)."
)
MOULD = (
    "Mould or foul water: contain the place, protect lungs and skin, keep others out; clean-up by"
    " people trained for it (local law)."
)
MEMBRANE = (
    "Membranes: never pierce a waterproof, gas or radon membrane; an opening is authorised and"
    " repaired by its designer (BR 211, BS 8485)."
)
STRUCTURE = (
    "Post-tension and structure: no opening before the engineer has ruled out tendons and agreed."
)
DUST = "Silica dust: shroud, extraction and a fitted mask at every hole (local law)."
SAMPLES = "Seal and label every sample and let the parties see the place before it is opened."


def cautions_for(stands: Sequence[Standing], room: Room, answers: Answers) -> tuple[str, ...]:
    """Return the cautions in the order they are read; they replace no law, code or licence."""
    leak = {
        one.cause
        for one in stands
        if one.cause in ("pressure-pipe", "drain") and one.standing != "against"
    }
    found = [LIVE_LEAK] if leak else []
    found += [ELECTRICITY, ASBESTOS]
    seen = answers.get("seen") or ()
    if "drain" in leak or "mould" in seen or "smell" in seen:
        found.append(MOULD)
    found += [MEMBRANE, STRUCTURE, DUST, SAMPLES]
    if room.slab.heated:
        found.append("Heating pipes or cables lie in this floor: locate them before any hole.")
    return tuple(found)
