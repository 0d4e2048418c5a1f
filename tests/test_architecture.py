"""The house rules that a linter does not know: sizes, top level, no prints, no junk rooms."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "moisturemap"
MODULES = sorted(PACKAGE.rglob("*.py"))
LONGEST_MODULE = 450
LONGEST_FUNCTION = 50
MOST_PARAMETERS = 6
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "CITATION.cff",
    "CONTRIBUTING.md",
    "LICENSE",
    "mkdocs.yml",
    "pyproject.toml",
    "requirements.lock",
    "requirements-dev.lock",
    "moisturemap",
    "tests",
    "demo_plans",
    "docs",
    "scripts",
}
JUNK = {"utils", "util", "helpers", "helper", "common", "misc", "tools"}


@cache
def nodes(path: Path) -> list[ast.AST]:
    """Everything in a module, parsed once for all rules."""
    return list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


def body_length(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function's body without its docstring."""
    body = function.body
    first = body[0]
    if isinstance(first, ast.Expr) and isinstance(getattr(first, "value", None), ast.Constant):
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def too_large(path: Path) -> Iterator[str]:
    """Yield what of a module is over its budget."""
    lines = len(path.read_text(encoding="utf-8").splitlines())
    if lines > LONGEST_MODULE:
        yield f"{path}: {lines} lines"
    is_door = path.relative_to(PACKAGE).parts[0] in ("cli", "web")
    for function in nodes(path):
        if not isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        name = f"{path}:{function.lineno} {function.name}"
        if body_length(function) > LONGEST_FUNCTION:
            yield f"{name}: {body_length(function)} lines"
        arguments = function.args
        names = [a.arg for a in arguments.posonlyargs + arguments.args + arguments.kwonlyargs]
        counted = [n for n in names if n not in ("self", "cls", "progress")]
        if not is_door and not function.name.startswith("__") and len(counted) > MOST_PARAMETERS:
            yield f"{name}: {len(counted)} parameters"


def test_modules_keep_the_size_budget() -> None:
    """No module over 450 lines, no function body over 50, no more than 6 parameters."""
    assert len(MODULES) > 500
    assert [fault for path in MODULES for fault in too_large(path)] == []


def test_names_of_modules_are_nouns_of_the_job() -> None:
    """No room or file for odds and ends."""
    for path in MODULES:
        parts = {part.removesuffix(".py") for part in path.relative_to(PACKAGE).parts}
        assert not JUNK & parts, path


def test_top_level_holds_only_what_the_design_names() -> None:
    """No stray file at the top."""
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.split()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_nothing_inside_imports_the_root_package() -> None:
    """Rooms import rooms; the root is a door for users only."""
    for path in MODULES:
        if path.parent == PACKAGE and path.name in ("__init__.py", "__main__.py"):
            continue
        for node in nodes(path):
            if isinstance(node, ast.ImportFrom):
                assert node.module != "moisturemap" or path.parts[-2] in ("cli", "web"), path
            if isinstance(node, ast.Import):
                assert all(alias.name != "moisturemap" for alias in node.names), path


def test_only_the_command_line_prints() -> None:
    """The library returns results; it never writes to stdout."""
    for path in MODULES:
        if path.relative_to(PACKAGE).parts[0] == "cli":
            continue
        for node in nodes(path):
            is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            assert not (is_call and node.func.id == "print"), f"{path}:{node.lineno}"


def test_the_formatter_is_on_everywhere() -> None:
    """Sizes are counted on formatted code: nothing switches the formatter off."""
    switch = "# fmt" + ":"
    for path in [*MODULES, *(ROOT / "tests").rglob("*.py"), *(ROOT / "scripts").rglob("*.py")]:
        assert switch not in path.read_text(encoding="utf-8"), path
