"""One map for somebody else's report: figure, caption to paste, alternative text."""

from __future__ import annotations

from pathlib import Path

from moisturemap.bundles import Study
from moisturemap.figures.floor_map import MapOptions, caption, map_figure, subtitle
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.sheet import Format
from moisturemap.outputs import replaced_file


def save_captioned_map(
    study: Study, folder: Path, *, form: Format = Format(), dpi: float = 200
) -> list[Path]:
    """Write the map in a format as PNG, SVG and PDF, and its texts as ``map-text.txt``."""
    figure = map_figure(study, MapOptions(form=form))
    written = save_figure(figure, folder, "map", FORMATS, dpi)
    texts = folder / "map-text.txt"
    lines = [
        "Caption",
        f"{study.survey.name}. {subtitle(study, form.units)}. {caption(study)}",
        "",
        "Alternative text",
        alternative_text(study),
        "",
    ]
    with replaced_file(texts) as unfinished:
        unfinished.write_text("\n".join(lines), encoding="utf-8")
    return [*written, texts]


def alternative_text(study: Study) -> str:
    """Say in words what the map shows, for those who cannot see it."""
    anomalies, holes = len(study.anomalies), len(study.drill_plan)
    return (
        f"Map of {study.survey.name} in bands from light (low relative reading) to dark (high). "
        f"{study.wet.statement} {anomalies} anomalies and {holes} proposed drill points are marked."
    )
