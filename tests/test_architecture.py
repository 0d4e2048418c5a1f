"""The house rules that a linter does not know: sizes, top level, no prints, no junk rooms."""

from __future__ import annotations

import ast
import subprocess
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


def functions(path: Path) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    """All functions of a module, nested ones too."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    return [node for node in ast.walk(tree) if isinstance(node, kinds)]


def body_length(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function's body without its docstring."""
    body = function.body
    first = body[0]
    if isinstance(first, ast.Expr) and isinstance(getattr(first, "value", None), ast.Constant):
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_module_keeps_the_size_budget(path: Path) -> None:
    """No module over 450 lines, no function body over 50, no more than 6 parameters."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE
    for function in functions(path):
        name = f"{path.name}:{function.lineno} {function.name}"
        assert body_length(function) <= LONGEST_FUNCTION, name
        arguments = function.args
        names = [a.arg for a in arguments.posonlyargs + arguments.args + arguments.kwonlyargs]
        counted = [n for n in names if n not in ("self", "cls", "progress")]
        is_door = any(part in ("cli", "web") for part in path.relative_to(PACKAGE).parts[:1])
        if not is_door and not function.name.startswith("__"):
            assert len(counted) <= MOST_PARAMETERS, name


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_module_name_is_a_noun_of_the_job(path: Path) -> None:
    """No room or file for odds and ends."""
    assert not JUNK & {part.removesuffix(".py") for part in path.relative_to(PACKAGE).parts}


def test_top_level_holds_only_what_the_design_names() -> None:
    """No stray file at the top."""
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.split()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


@pytest.mark.thorough
def test_nothing_inside_imports_the_root_package() -> None:
    """Rooms import rooms; the root is a door for users only."""
    for path in MODULES:
        if path.parent == PACKAGE and path.name in ("__init__.py", "__main__.py"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert node.module != "moisturemap" or path.parts[-2] in ("cli", "web"), path
            if isinstance(node, ast.Import):
                assert all(alias.name != "moisturemap" for alias in node.names), path


def test_only_the_command_line_prints() -> None:
    """The library returns results; it never writes to stdout."""
    for path in MODULES:
        if path.relative_to(PACKAGE).parts[0] == "cli":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            assert not (is_call and node.func.id == "print"), f"{path}:{node.lineno}"


def test_the_formatter_is_on_everywhere() -> None:
    """Sizes are counted on formatted code: nothing switches the formatter off."""
    switch = "# fmt" + ":"
    for path in [*MODULES, *(ROOT / "tests").rglob("*.py"), *(ROOT / "scripts").rglob("*.py")]:
        assert switch not in path.read_text(encoding="utf-8"), path
