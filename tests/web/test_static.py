"""The built page: small, self-contained, and the page of its source."""

from __future__ import annotations

import gzip
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

WEB = Path(__file__).resolve().parents[2] / "moisturemap" / "web"
STATIC, FRONTEND = WEB / "static", WEB / "frontend"


def test_the_page_is_small_enough_for_a_slow_network() -> None:
    """At most 250 kB over the wire."""
    files = [path for path in STATIC.iterdir() if path.name != "LICENCES.txt"]
    assert sum(len(gzip.compress(path.read_bytes(), 6)) for path in files) <= 250_000


def test_the_page_loads_nothing_from_elsewhere() -> None:
    """No address of the internet is fetched, linked or imported."""
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    style = (STATIC / "style.css").read_text(encoding="utf-8")
    assert not re.search(r"https?://", page)
    assert not re.search(r"url\(\s*['\"]?https?:", style)


def test_the_words_of_the_page_never_promise_safety() -> None:
    """Nor call a place of the floor passed."""
    tables = sorted((FRONTEND / "src").glob("en*.ts"))
    words = " ".join(path.read_text(encoding="utf-8") for path in tables).lower()
    assert not re.search(r"\bsafe(ly|ty)?\b", words)
    assert "passed" not in words


@pytest.mark.thorough
def test_the_committed_page_is_built_from_its_source(tmp_path: Path) -> None:
    """A fresh build gives the same bytes."""
    node = shutil.which("node")
    if node is None or not (FRONTEND / "node_modules").is_dir():
        pytest.skip("needs node and `npm ci` in moisturemap/web/frontend")
    subprocess.run(
        [node, "build.mjs", str(tmp_path / "static")], cwd=FRONTEND, check=True, capture_output=True
    )
    built = {path.name: path.read_bytes() for path in (tmp_path / "static").iterdir()}
    assert built == {path.name: path.read_bytes() for path in STATIC.iterdir()}


@pytest.mark.thorough
def test_the_types_of_the_page_are_those_of_the_program(tmp_path: Path) -> None:
    """`npm run types` again gives the same types: the page relies on what is answered now."""
    generator = FRONTEND / "node_modules" / ".bin" / "openapi-typescript"
    if not generator.exists():
        pytest.skip("needs node and `npm ci` in moisturemap/web/frontend")
    script = WEB.parents[1] / "scripts" / "export_openapi.py"
    document = subprocess.run([sys.executable, script], check=True, capture_output=True).stdout
    made = tmp_path / "api_types.ts"
    subprocess.run([generator, "-o", made], input=document, check=True, capture_output=True)
    kept = (FRONTEND / "src" / "api_types.ts").read_text(encoding="utf-8")
    stale = "stale types: run `npm run types` in moisturemap/web/frontend"
    assert made.read_text(encoding="utf-8") == kept, stale
