"""Invented floors with known truth, made from physics by hands that never saw the detector.

``make(family, seed)`` gives one :class:`Floor`; ``FAMILIES`` names the families. See README.md.
"""

from .families import FAMILIES, make
from .floor import Floor
from .folder import pack, unpack
from .things import Thing
from .truth import WetPatch, off_readings, peak_of, quiet_readings, readings_near, wet_patches

__all__ = [
    "FAMILIES",
    "Floor",
    "Thing",
    "WetPatch",
    "make",
    "off_readings",
    "pack",
    "peak_of",
    "quiet_readings",
    "readings_near",
    "unpack",
    "wet_patches",
]
