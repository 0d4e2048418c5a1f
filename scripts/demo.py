"""Set up what is needed, run the main job on a demo floor, say where the results are."""

from __future__ import annotations

import subprocess
import sys

from environment import ROOT, ready


def main() -> int:
    """Run the demo; exit with its code."""
    interpreter = ready("requirements.lock")
    out = ROOT / "demo_output"
    command = [str(interpreter), "-m", "moisturemap", "demo", "--out", str(out), *sys.argv[1:]]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
