"""Build the documentation site into build/site, warnings as errors; with --images its pictures."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moisturemap.bundles import Findings

ROOT = Path(__file__).resolve().parent.parent
IMAGES = ROOT / "docs" / "img"


def gallery() -> Iterator[tuple[str, str]]:
    """Yield the name of each picture of the gallery and the code that draws it."""
    page = (ROOT / "docs" / "gallery.md").read_text(encoding="utf-8")
    yield from re.findall(r"\(img/([\w-]+)\.png\)\n\n```python\n(.*?)```", page, re.DOTALL)


def images() -> None:
    """Draw the pictures of the gallery by the code that stands below them, and those of README."""
    import moisturemap as mm
    from moisturemap import figures
    from moisturemap.workflow.demo import day_after
    from moisturemap.workflow.judge import judge_or_map

    study = mm.study(mm.read_survey(ROOT / "demo_plans" / "bakery"))
    findings = judge_or_map(study.survey, as_of=day_after(study.survey))
    known = {"mm": mm, "study": study, "decision": findings.decision}
    for name, code in gallery():
        exec(code, known)
        figures.save_figure(known["figure"], IMAGES, name, ("png",), 110)
    figures.save_figure(mm.map_figure(study), IMAGES, "bakery-map", ("png",), 110)
    _first_sheets(findings, IMAGES / "bakery-report.png")


def _first_sheets(findings: Findings, target: Path) -> None:
    """Show the first three sheets of the report side by side, drawn by pdftoppm (poppler)."""
    from PIL import Image

    from moisturemap.report import write_report

    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "report.pdf"
        write_report(findings.study, pdf, decision=findings.decision)
        command = ["pdftoppm", "-png", "-r", "72", "-l", "3", str(pdf), f"{folder}/sheet"]
        subprocess.run(command, check=True)
        sheets = [Image.open(one) for one in sorted(Path(folder).glob("sheet*.png"))]
        wide, high = sheets[0].size
        joined = Image.new("RGB", (len(sheets) * (wide + 8) - 8, high), "#9aa4ac")
        for at, sheet in enumerate(sheets):
            joined.paste(sheet, (at * (wide + 8), 0))
        joined.save(target, optimize=True)


def build() -> int:
    """Build the site; the pages it names must all be there."""
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet"]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    if "--images" in sys.argv:
        images()
    sys.exit(build())
