"""The sentences rooms write, as the source has them: literals and the templates of f-strings."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import moisturemap
from moisturemap.language.language import read_tables

PACKAGE = Path(moisturemap.__file__).parent

ROOMS = (
    *(
        "acceptance",
        "bundles",
        "calibration",
        "drilling",
        "drying",
        "equipment",
        "figures",
        "geostat",
    ),
    *("investigation", "mapping", "report", "results", "scanning", "zones"),
    *("psychrometrics.py", "quantities.py"),
)
"""Rooms whose sentences reach a report, a figure or the terminal."""

NOT_SPOKEN = {
    "report/docx_field.py": "fields of the word processor",
    "report/docx_style.py": "names of styles",
    "report/docx_type.py": "names of styles",
    "report/docx_table.py": "markup",
    "report/docx_picture.py": "markup",
    "report/docx.py": "names of styles",
    "report/pdf.py": "names of standards",
    "report/html.py": "markup",
    "figures/typeface.py": "names of fonts",
    "figures/save.py": "what a file says of itself",
    "results/run.py": "the manifest, for machines",
    "results/study_files.py": "coordinate systems and attributes of files",
    "results/drying_files.py": "attributes of files",
    "mapping/surface.py": "attributes of files",
    "mapping/map.py": "attributes of files",
}
"""Modules whose texts nobody reads as sentences, and why."""

SLOT = re.compile(r"\{\w*(?::[^}]*)?\}")
KEYS = {"pressure-pipe drain ground surface-water", "salts ground wall"}
"""Lists of keys of causes."""

_WORD = re.compile(r"[A-Za-zÄÖÜäöüß]{3,}")


def english_only(code: str) -> frozenset[str]:
    """Return the words of the English side of the tables that a language itself never uses."""
    sides: tuple[set[str], set[str]] = (set(), set())
    for table in read_tables(code):
        for pair in table.items():
            if pair[0] != "spelling":
                for side, text in zip(sides, pair, strict=True):
                    side |= {one.lower() for one in _WORD.findall(re.sub(r"\{\w+\}", " ", text))}
    return frozenset(sides[0] - sides[1])


def english_lines(text: str, code: str, names: Iterable[str]) -> list[str]:
    """Return the lines of a text that hold an English word nobody gave as a name or a note."""
    given = {word.lower() for name in names for word in _WORD.findall(name)}
    english = english_only(code) - given
    return [line for line in text.splitlines() if english & set(_WORD.findall(line.lower()))]


_SENTENCE = re.compile(r"[A-Za-z]{2,}[,;:]? [a-z]{2,}[ ,;:.]+[a-z]{2,}")


def written() -> Iterator[tuple[str, str]]:
    """Yield every sentence of three words or more with where it stands; slots are ``{}``."""
    for file in sorted(PACKAGE.rglob("*.py")):
        where = file.relative_to(PACKAGE).as_posix()
        if where.split("/")[0] in ROOMS and where not in NOT_SPOKEN:
            yield from _of(ast.parse(file.read_text(encoding="utf-8")), where)


def _of(tree: ast.Module, where: str) -> Iterator[tuple[str, str]]:
    skip = {id(child) for node in ast.walk(tree) for child in _not_said(node)}
    for node in ast.walk(tree):
        if id(node) in skip:
            continue
        if isinstance(node, ast.JoinedStr):
            text = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if text not in KEYS and _SENTENCE.search(SLOT.sub(" ", text)):
            yield f"{where}:{node.lineno}", SLOT.sub("{}", text)


def _not_said(node: ast.AST) -> Iterator[ast.AST]:
    """Yield docstrings, parts of f-strings, and what only an error or a type holds."""
    match node:
        case ast.Expr(value=ast.Constant() as text):
            yield text
        case ast.JoinedStr(values=values):
            yield from (part for part in values if isinstance(part, ast.Constant))
            yield from (
                part.format_spec
                for part in values
                if isinstance(part, ast.FormattedValue) and part.format_spec
            )
        case ast.Raise() | ast.keyword(arg="allowed"):
            yield from ast.walk(node)
        case ast.Call(func=ast.Name(id="require")):
            yield from ast.walk(node)
        case ast.Assign(targets=[ast.Name(id="message" | "allowed" | "_ABOUT")]):
            yield from ast.walk(node)
