"""The notebook of the documentation runs from top to bottom in a kernel of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

PAGE = Path(__file__).resolve().parent.parent / "docs" / "own-readings.ipynb"


@pytest.mark.thorough
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::pytest.PytestWarning")
def test_the_notebook_runs(tmp_path: Path) -> None:
    """No cell fails, and the map of its floor is shown as a picture."""
    nbformat = pytest.importorskip("nbformat", reason="needs the development group")
    client = pytest.importorskip("nbclient", reason="needs the development group")
    notebook = nbformat.read(PAGE, 4)
    assert not any(cell.get("outputs") for cell in notebook.cells), "commit it without results"
    where = {"metadata": {"path": str(tmp_path)}}
    done = client.NotebookClient(notebook, timeout=120, resources=where).execute()
    kinds = {
        kind
        for cell in done.cells
        for output in cell.get("outputs", [])
        for kind in output.get("data", {})
    }
    assert {"image/png", "text/html"} <= kinds
    assert (tmp_path / "hall.html").exists()
