"""The sheets of a DOCX as a word processor breaks them: none but the last is left half empty."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from moisturemap.bundles import Findings
from moisturemap.report import Supplement, pictures, write_report

from .sheets import MOST_EMPTY, gaps

WRITER = shutil.which("soffice")


@pytest.mark.thorough
@pytest.mark.skipif(WRITER is None, reason="needs LibreOffice to break the pages")
def test_no_sheet_is_left_half_empty(
    known: Callable[[str], tuple[Findings, Supplement]],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two dozen figures, seven of them in a row, in a report of thirty sheets."""
    pytest.importorskip("docx", reason="needs the extra report")
    monkeypatch.setattr(pictures, "DPI", 30)
    findings, supplement = known("clinic")
    write_report(
        findings.study,
        tmp_path / "report.docx",
        decision=findings.decision,
        drying=findings.drying,
        supplement=supplement,
    )
    assert WRITER is not None
    home = f"-env:UserInstallation={(tmp_path / 'home').as_uri()}"
    asked = ["--headless", "--convert-to", "pdf", "--outdir", str(tmp_path)]
    told = [WRITER, home, *asked, str(tmp_path / "report.docx")]
    subprocess.run(told, check=True, capture_output=True, timeout=300)
    shares = gaps(tmp_path / "report.pdf")
    assert len(shares) > 20
    empty = {k: share for k, share in enumerate(shares[:-1], 1) if share > MOST_EMPTY}
    assert not empty
