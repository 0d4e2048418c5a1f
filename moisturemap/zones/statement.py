"""What was found about wet zones, in plain words."""

from __future__ import annotations

import geopandas as gpd

from moisturemap.zones.options import ZoneOptions


def zones_statement(
    level: float,
    zones: gpd.GeoDataFrame,
    bounds: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    small: list[float],
    options: ZoneOptions,
    apart: tuple[str, ...] = (),
) -> str:
    """Return the statement about the zones of one surface.

    Parameters
    ----------
    level : float
        Wet level [reading].
    zones : GeoDataFrame
        As in ``WetZones``.
    bounds : (GeoDataFrame, GeoDataFrame)
        ``sure`` and ``possible`` of ``WetZones``.
    small : list of float
        Areas of patches too small for a zone of their own [m2].
    options : ZoneOptions
        The confidence of sure and possible, and the meter's scale.
    apart : tuple of str
        Rooms read and mapped that the level says nothing of.
    """
    sure, possible = bounds
    sure_area, possible_area = float(sure.area.sum()), float(possible.area.sum())
    parts = [_found(level, zones, options)]
    if small:
        words = "patch is" if len(small) == 1 else "patches are"
        parts.append(
            f"{len(small)} smaller {words} above the level but too small for this scan to outline "
            f"as a wet zone (largest {max(small):.1f} m2); the map draws them without a name."
        )
    unsure = max(possible_area - sure_area, 0.0)
    rest = f" outside {', '.join(apart)}, where there is no wet level," if apart else ""
    parts.append(
        f"At {options.confidence:.0%} simultaneous confidence {sure_area:.1f} m2 lie wholly above "
        f"the level; for {unsure:.1f} m2 the map cannot tell (hatched), "
        f"and the rest that was read{rest} lies below it, as far as buried objects have been "
        "flagged. Relative readings guide where to test; they prove nothing dry."
    )
    return " ".join(parts) + hardly_sure_words(zones, sure)


def hardly_sure_words(zones: gpd.GeoDataFrame, surely: gpd.GeoDataFrame) -> str:
    """Say how much of the outlined floor is sure where it is less than half; "" elsewhere.

    A zone is outlined where floor is likelier above the level than not, so one that a thin scan or
    a narrow thing makes may be wide and hardly sure.

    Parameters
    ----------
    zones, surely : GeoDataFrame
        As ``zones`` and ``sure`` of ``WetZones``. Cells of zones are counted whole, so no more is
        told of them than of the whole floor.
    """
    outlined = float(zones["area_m2"].sum())
    sure = min(float(zones["sure_m2"].sum()), float(surely.area.sum()))
    if sure >= 0.5 * outlined:
        return ""
    return (
        f" Of the {outlined:.1f} m2 outlined {sure:.1f} m2 are surely above it; on the rest that "
        "is likelier than not, and no more."
    )


def unmapped_statement(level: float) -> str:
    """Return the statement when no part of the floor could be mapped.

    Parameters
    ----------
    level : float
        Wet level [reading].
    """
    return (
        f"No part of the floor could be mapped, so floor above a reading of {level:.3g} can "
        "neither be outlined nor ruled out. Relative readings guide where to test; they prove "
        "nothing dry."
    )


def _found(level: float, zones: gpd.GeoDataFrame, options: ZoneOptions) -> str:
    full_scale = options.scale[1] if options.scale else None
    if zones.empty:
        return f"No wet zone: no part of the map large enough lies above a reading of {level:.3g}."
    words = "wet zone" if len(zones) == 1 else "wet zones"
    each = "; ".join(
        f"{row.zone} in {row.rooms}, {row.area_m2:.1f} m2 ({row.area_low_m2:.1f} to "
        f"{row.area_high_m2:.1f}), highest of the map {_peak(row.peak, full_scale)}"
        for row in zones.itertuples()
    )
    return f"{len(zones)} {words} above a reading of {level:.3g}: {each}."


def _peak(value: float, full_scale: float | None) -> str:
    return f"{value:.0f} or more: full scale" if value == full_scale else f"{value:.0f}"
