"""Set up what is needed and run the tests; arguments go on to pytest (e.g. -m slow)."""

from __future__ import annotations

import os
import subprocess
import sys

from environment import ROOT, ready

FAST = "not slow and not thorough and not browser"


def main() -> int:
    """Run the fast tests on two workers, or what the arguments ask for."""
    interpreter = ready("requirements-dev.lock")
    # sorted by count, the long journey of few tests would come last, alone
    two = ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]
    arguments = sys.argv[1:] or ["-m", FAST, *two]
    environment = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", **os.environ}
    command = [str(interpreter), "-m", "pytest", *arguments]
    return subprocess.run(command, cwd=ROOT, check=False, env=environment).returncode


if __name__ == "__main__":
    sys.exit(main())
