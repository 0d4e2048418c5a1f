"""What one mapped floor passes on to those read after it.

Method: docs/method/kriging.md, "Earlier floors".
"""

from __future__ import annotations

from moisturemap.mapping.domain_map import known_noise_sd
from moisturemap.mapping.earlier_floor import EarlierFloor, readings_key
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.surface import MoistureSurface
from moisturemap.survey import CleanReadings


def floor_told(
    floor: str, surface: MoistureSurface, clean: CleanReadings, borrowed_floors: int = 0
) -> EarlierFloor | None:
    """Return what the most read part of a floor tells; None where it shows no pattern.

    A map on a stretched scale tells nothing either: its noise is in other units.

    Parameters
    ----------
    floor : str
        Name of the floor.
    surface : MoistureSurface
    clean : CleanReadings
        The readings it was made from.
    borrowed_floors : int
        Earlier floors the map itself borrowed from.
    """
    fields = [one for one in surface.fields.values() if isinstance(one, KrigedField)]
    field = max(fields, key=lambda one: len(one.points), default=None)
    if field is None or not field.scale.is_identity:
        return None
    pattern = field.fit.pattern(known_noise_sd(clean) ** 2)
    if pattern is None:
        return None
    instrument, count = clean.instrument, len(field.points)
    return EarlierFloor(
        floor,
        readings_key(clean),
        instrument.model,
        instrument.scale,
        count,
        pattern,
        borrowed_floors,
        instrument.footprint_m,
    )
