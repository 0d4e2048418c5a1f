"""Build the documentation site into build/site, warnings as errors; with --images its pictures."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
IMAGES = ROOT / "docs" / "img"


def images() -> None:
    """Draw the pictures of the gallery."""
    import moisturemap as mm
    from moisturemap import figures
    from moisturemap.units import Units

    study = mm.study(mm.read_survey(ROOT / "demo_plans" / "bakery"))
    decision = mm.decide(study.survey, study)
    narrow = figures.Format(width_mm=80, units=Units("us"))
    drawn = {
        "gallery-map": mm.map_figure(study),
        "gallery-narrow": mm.map_figure(study, mm.MapOptions(form=narrow)),
        "gallery-check": mm.check_figure(study),
        "gallery-tests": figures.map_of_tests(decision, study),
        "gallery-set-out": figures.set_out_sheet(study, figures.rooms_to_set_out(study)[0]),
    }
    for name, figure in drawn.items():
        figures.save_figure(figure, IMAGES, name, ("png",), 110)


def build() -> int:
    """Build the site; the pages it names must all be there."""
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet"]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    if "--images" in sys.argv:
        images()
    sys.exit(build())
