"""Run the linters: format, lint, types, import contracts; and build the documentation."""

from __future__ import annotations

import subprocess
import sys

from environment import FOLDER, ROOT, ready

CHECKS = (
    ("ruff", "format", "--check", "."),
    ("ruff", "check", "."),
    ("mypy",),
    ("lint-imports",),
    ("mkdocs", "build", "--strict", "--quiet"),
)


def main() -> int:
    """Run every check, also after one has failed; exit 1 if any did."""
    interpreter = ready("requirements-dev.lock")
    tools = interpreter.parent
    failed = [c[0] for c in CHECKS if subprocess.run([tools / c[0], *c[1:]], cwd=ROOT).returncode]
    print(f"failed in {FOLDER.name}: {', '.join(failed)}" if failed else "all checks passed")
    return bool(failed)


if __name__ == "__main__":
    sys.exit(main())
