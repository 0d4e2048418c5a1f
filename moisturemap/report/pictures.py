"""Pictures of a report: the figures of a study, a logo, photographs."""

from __future__ import annotations

import io
import tempfile
from datetime import datetime
from pathlib import Path
from typing import Any

from moisturemap.acceptance import Decision
from moisturemap.bundles import DryingPlan, EquipmentPlan, Study
from moisturemap.errors import FormatError
from moisturemap.investigation import Investigation
from moisturemap.report.content import Picture
from moisturemap.report.wording import Wording
from moisturemap.store import Project

DPI = 200
LARGEST_SIDE = 4000
"""Longest side of a photograph in a report [pixels]; larger ones are made smaller."""


def map_picture(study: Study, width_mm: float) -> Picture:
    """Draw the map of a study for a page of such a width [mm]."""
    from moisturemap.figures import Format, MapOptions, alternative_text, map_figure

    figure = map_figure(study, MapOptions(form=Format(width_mm=width_mm)))
    caption = f"Relative readings of visit {study.visit.id}"
    return drawn(figure, caption, alternative_text(study), wide=True)


def tests_picture(decision: Decision) -> Picture | None:
    """Draw the judged tests against the limit; None when none was judged."""
    from moisturemap.figures import limit_chart

    judged = [test for test in decision.judged if test.judged]
    if not judged:
        return None
    alt = "; ".join(f"{test.entry.hole}: {test.verdict.why}" for test in judged)
    return drawn(limit_chart(decision), "Results of the judged tests against the limit", alt)


def checks_picture(decision: Decision) -> Picture | None:
    """Draw the checks of probes; None when there is none."""
    from moisturemap.figures import salt_check

    if decision.checks.empty:
        return None
    alt = "; ".join(str(sentence) for sentence in decision.checks["sentence"])
    return drawn(salt_check(decision), "Checks of the probes", alt)


def profile_pictures(decision: Decision) -> tuple[Picture, ...]:
    """Draw the depth profile of each spot read at several depths."""
    from moisturemap.figures import depth_profile

    deep = [spot for spot in decision.spots if len(spot.readings) > 1]
    return tuple(
        drawn(depth_profile(spot), f"Humidity with depth at {spot.spot}, {spot.room}", spot.why)
        for spot in deep
    )


_DRYING = {
    "drying-visits": "The visits on one scale of relative readings",
    "drying-change": "Change of the relative reading from the first visit to the latest",
    "drying-step": "Change of the relative reading since the visit before",
    "drying-rate": "Change of the relative reading a week",
    "drying-outlook": "Wet floor over time",
    "drying-air": "Air of the room over the visits",
}


def drying_pictures(plan: DryingPlan) -> tuple[Picture, ...]:
    """Draw the change over the visits."""
    from moisturemap.figures import drying_figures

    told = " ".join(plan.comparison.drying.statements)
    return tuple(
        drawn(figure, _DRYING[name], f"{_DRYING[name]}. {told}", wide=name != "drying-air")
        for name, figure in drying_figures(plan).items()
        if name in _DRYING
    )


_INVESTIGATION = {
    "cause-profiles": "What each open cause would show at depth, and what was read",
    "cause-reach": "The wet zone and what diffusion could have reached",
    "cause-dew-point": "Surface of the floor and dew point of the air",
    "cause-timeline": "What happened when",
}


def investigation_pictures(found: Investigation, survey_name: str) -> tuple[Picture, ...]:
    """Draw where the water may come from."""
    from moisturemap.figures import investigation_figures

    return tuple(
        drawn(figure, _INVESTIGATION[name], f"{_INVESTIGATION[name]}. {found.sentence}")
        for name, figure in investigation_figures(found, survey_name).items()
    )


def placement_picture(equipment: EquipmentPlan) -> Picture:
    """Draw where the machines should stand."""
    from moisturemap.figures import placement_figure

    caption = "Where the machines stand and where they should"
    told = "; ".join(str(sentence) for sentence in equipment.placement.moves["sentence"])
    return drawn(placement_figure(equipment), caption, told, wide=True)


def photographs_of(project: Project, wording: Wording | None = None) -> tuple[Picture, ...]:
    """Return the photographs kept in a project, each with what it shows and when it was taken."""
    say = wording or Wording()
    found = []
    for row in project.rows("attachments"):
        if str(row["media_type"]) not in ("image/jpeg", "image/png"):
            continue
        taken = "" if not row["taken"] else say.moment(datetime.fromisoformat(row["taken"]))
        of = f"{row['of_layer']} {row['of_row']}".strip()
        parts = (row["name"], of, row["note"], taken and f"taken {taken}")
        caption = ", ".join(part for part in parts if part)
        found.append(photograph(project.content(row["sha256"]), caption))
    return tuple(found)


def drawn(figure: Any, caption: str, alt: str, *, wide: bool = False) -> Picture:
    """Return a figure of the package as vectors and pixels."""
    from moisturemap.figures import save_figure

    with tempfile.TemporaryDirectory() as folder:
        save_figure(figure, Path(folder), "figure", ("svg", "png"), DPI)
        svg, png = (Path(folder, f"figure.{kind}").read_bytes() for kind in ("svg", "png"))
    return Picture(png, svg, caption, alt, _size(png), wide)


def _size(content: bytes) -> tuple[int, int]:
    from PIL import Image

    with Image.open(io.BytesIO(content)) as picture:
        return picture.size


def photograph(content: bytes, caption: str, alt: str = "") -> Picture:
    """Return a photograph for a report, turned upright and made no larger than print needs.

    Raises
    ------
    FormatError
        If the bytes are neither JPEG nor PNG.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(content), formats=["JPEG", "PNG"]) as picture:
            upright = ImageOps.exif_transpose(picture)
            upright.thumbnail((LARGEST_SIDE, LARGEST_SIDE))
            kind = "PNG" if picture.format == "PNG" else "JPEG"
            buffer = io.BytesIO()
            # Written anew: what a camera or program hid beside the picture stays out.
            upright.convert("RGBA" if kind == "PNG" else "RGB").save(buffer, kind)
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        message = "the picture cannot be read"
        raise FormatError(message, source=caption, allowed="JPEG or PNG") from error
    clean = buffer.getvalue()
    return Picture(clean, b"", caption, alt or caption, _size(clean))


def logo(path: Path) -> Picture:
    """Return the user's logo."""
    if not path.is_file():
        message = "there is no such logo"
        raise FormatError(message, source=str(path), allowed="a PNG or JPEG file")
    return photograph(path.read_bytes(), path.name, "Logo")
