"""Write the OpenAPI document of the app, as JSON, to standard output; nothing is served."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

from environment import ready

ROOT = Path(__file__).resolve().parents[1]


def main() -> int:
    """Describe every address of the app over an empty folder."""
    if find_spec("fastapi") is None:
        return subprocess.run([ready("requirements.lock"), __file__]).returncode
    sys.path.insert(0, str(ROOT))
    from moisturemap.web import Settings, create_app

    with tempfile.TemporaryDirectory() as empty:
        document = create_app(Settings(folder=Path(empty), kept=Path(empty))).openapi()
    json.dump(document, sys.stdout, indent=1, sort_keys=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
