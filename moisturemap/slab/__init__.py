"""Moisture inside the slab: isotherm, diffusion, depth profile, what a covering will face.

In this room ``h`` is humidity as a fraction, as in the papers; names ending in ``_pct`` are in
percent.
"""

from moisturemap.slab.covering import after_covering, sealed_humidity
from moisturemap.slab.diffusion import SEALED, Cells, Face, Layers, StepRule, diffuse
from moisturemap.slab.diffusivity import (
    DiffusivityCurve,
    diffusivity_from_strength,
    humidity_per_degree,
    temperature_factor,
)
from moisturemap.slab.fed import FedSlab, follow
from moisturemap.slab.isotherm import Isotherm
from moisturemap.slab.library import library
from moisturemap.slab.material import Material
from moisturemap.slab.near_surface import FED_SLABS, SLABS, NearSurface, near_surface, read_curves
from moisturemap.slab.outlook import (
    EQUIVALENT_DEPTH,
    DryingRule,
    EquivalentDepth,
    SurfaceCurve,
    equivalent_depth,
    rules_of_thumb,
    surface_after_covering,
)
from moisturemap.slab.plausibility import driest_at_age
from moisturemap.slab.profile import (
    Interval,
    ProfileEstimate,
    ProfileOptions,
    estimate_profile,
)
from moisturemap.slab.reading import DepthReading
from moisturemap.slab.scope import (
    USUAL_DIFFUSIVITY,
    SlabSpec,
    assumptions,
    outside_model,
    without_membrane,
)
from moisturemap.slab.timber import equilibrium_moisture
from moisturemap.slab.wait import Fall, RoomAir, Wait, no_wait, rounded_days, wait_for_limit

__all__ = [
    "driest_at_age",
    "rounded_days",
    "EQUIVALENT_DEPTH",
    "SEALED",
    "USUAL_DIFFUSIVITY",
    "Cells",
    "DepthReading",
    "DiffusivityCurve",
    "DryingRule",
    "EquivalentDepth",
    "Face",
    "Fall",
    "FedSlab",
    "Interval",
    "Isotherm",
    "Layers",
    "Material",
    "NearSurface",
    "SlabSpec",
    "ProfileEstimate",
    "ProfileOptions",
    "RoomAir",
    "StepRule",
    "SurfaceCurve",
    "Wait",
    "after_covering",
    "assumptions",
    "diffuse",
    "diffusivity_from_strength",
    "equilibrium_moisture",
    "equivalent_depth",
    "estimate_profile",
    "follow",
    "humidity_per_degree",
    "library",
    "FED_SLABS",
    "SLABS",
    "near_surface",
    "no_wait",
    "outside_model",
    "read_curves",
    "rules_of_thumb",
    "without_membrane",
    "sealed_humidity",
    "surface_after_covering",
    "temperature_factor",
    "wait_for_limit",
]
