"""What the drying model does not cover, said in words."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.base_material import CALCIUM_SULPHATE, TIMBER, material_of

COMPOSITE_WORDS = (
    "bonded screed",
    "screed on slab",
    "screed on concrete",
    "topping",
    "layered",
    "two-layer",
)
NO_MEMBRANE_WORDS = (
    "no membrane",
    "without membrane",
    "no dpm",
    "without dpm",
    "no vapour retarder",
    "no vapor retarder",
)

USUAL_DIFFUSIVITY = 29.0
"""D1 of ordinary concrete, fck 30 MPa, at 20 C [mm2/day]; see ``diffusivity_from_strength``."""


@dataclass(frozen=True, slots=True)
class SlabSpec:
    """A slab as the drying model sees it.

    Attributes
    ----------
    thickness_mm : float
        Full thickness of the layer [mm].
    drying_faces : int
        1 (top only) or 2.
    drying_days : float or None
        Days since drying began; None when not known.
    base : str
        Material in words.
    heated : bool
        True with floor heating in the layer.
    diffusivity_mm2_day : float
        Best guess of D1, diffusivity of the saturated material [mm2/day]; right to a factor of two.
    """

    thickness_mm: float
    drying_faces: int = 1
    drying_days: float | None = None
    base: str = "concrete"
    heated: bool = False
    diffusivity_mm2_day: float = USUAL_DIFFUSIVITY

    @property
    def drying_length_mm(self) -> float:
        """Depth that dries towards one face [mm]: the thickness, or half of it."""
        return self.thickness_mm / self.drying_faces


def outside_model(spec: SlabSpec) -> tuple[str, ...]:
    """Sentences on why the drying model does not hold for a slab; empty when it may be used.

    Parameters
    ----------
    spec : SlabSpec

    Returns
    -------
    tuple of str
    """
    base, material = spec.base.casefold(), material_of(spec.base)
    reasons = []
    if spec.heated:
        reasons.append(
            "the layer is heated: heat moves moisture in ways this model leaves out, so no sealed"
            " humidity is worked out"
        )
    if any(word in base for word in COMPOSITE_WORDS):
        reasons.append(
            "a screed or topping on a slab is two materials: humidity is continuous between them"
            " but water is not, which this model leaves out"
        )
    if without_membrane(spec.base):
        reasons.append(
            "without a membrane the ground feeds the slab from below: it never becomes a closed"
            " store of water, which this model assumes"
        )
    if material == CALCIUM_SULPHATE:
        reasons.append("gypsum binds and gives off water differently: the isotherm is for cement")
    if material == TIMBER:
        reasons.append("timber is not a cement-bound slab")
    return tuple(reasons)


def without_membrane(base: str) -> bool:
    """Whether the words for a material say that no membrane lies below it.

    Parameters
    ----------
    base : str
        As the survey writes it.

    Returns
    -------
    bool
    """
    return any(word in base.casefold() for word in NO_MEMBRANE_WORDS)


def assumptions(spec: SlabSpec) -> tuple[str, ...]:
    """Sentences on what the drying model takes for granted about a slab.

    Parameters
    ----------
    spec : SlabSpec

    Returns
    -------
    tuple of str
    """
    below = "the underside is tight (membrane, deck or ground sheet) and stays tight"
    if spec.drying_faces == 2:
        below = (
            "both faces dried alike; once covered, moisture may still leave below, so the sealed"
            " humidity is then on the high side"
        )
    return (
        f"one material, drying since it was placed, never wetted again; {below}",
        "the isotherm and the diffusivity are those of ordinary concrete within a wide band, not"
        " measured on this slab",
    )
