"""The gallery of the documentation: the code of each picture draws a legible figure."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from matplotlib.figure import Figure

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))

from legibility import faults
from make_docs import IMAGES, gallery

import moisturemap as mm
from moisturemap.bundles import Study


@pytest.fixture(scope="module")
def known(bakery: Study) -> dict[str, object]:
    """What the page says it has."""
    return {"mm": mm, "study": bakery, "decision": mm.decide(bakery.survey, bakery)}


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "code"), list(gallery()), ids=lambda one: one.split("\n")[0])
def test_the_code_of_a_picture_draws_it(name: str, code: str, known: dict[str, object]) -> None:
    """Each block by itself, after what the page says it has; the picture is there."""
    session = dict(known)
    exec(code, session)
    figure = session["figure"]
    assert isinstance(figure, Figure)
    assert faults(figure) == []
    assert (IMAGES / f"{name}.png").exists()


def test_every_block_of_the_gallery_has_its_picture() -> None:
    """None is passed over for its layout."""
    page = (Path(__file__).resolve().parents[2] / "docs" / "gallery.md").read_text()
    assert page.count("```python") == len(list(gallery())) >= 6
