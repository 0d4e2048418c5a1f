"""Ask for known holes in the locked dependencies; where nobody can be asked, say so and go on."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

from environment import ROOT, ready

LOCKS = ("requirements.lock", "requirements-dev.lock")


def main() -> int:
    """Audit each lock file; exit 1 when a hole is known."""
    tool = ready("requirements-dev.lock").parent / "pip-audit"
    if not tool.exists():
        print("not audited: pip-audit is not installed")
        return 0
    holes = [hole for lock in LOCKS for hole in _holes(tool, lock)]
    for hole in sorted(set(holes)):
        print(hole)
    return bool(holes)


def _holes(tool: Any, lock: str) -> list[str]:
    call = [tool, "--requirement", lock, "--require-hashes", "--disable-pip"]
    done = subprocess.run(
        [*call, "--format", "json", "--progress-spinner", "off"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    try:
        found = json.loads(done.stdout)["dependencies"]
    except (ValueError, KeyError):
        # without a network the tool ends before it writes anything
        told = done.stderr.strip().splitlines()
        print(f"not audited: {lock}: {told[-1][:200] if told else 'no answer'}")
        return []
    asked = [one for one in found if "skip_reason" not in one]
    print(f"{lock}: {len(asked)} of {len(found)} packages are known to the advisory service")
    return [
        f"{one['name']} {one['version']}: {hole['id']}, mended in "
        f"{', '.join(hole['fix_versions']) or 'no version yet'}"
        for one in asked
        for hole in one["vulns"]
    ]


if __name__ == "__main__":
    sys.exit(main())
