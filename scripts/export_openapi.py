"""Write the OpenAPI document of the app, as JSON, to standard output; nothing is served."""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def main() -> int:
    """Describe every address of the app over an empty folder."""
    sys.path.insert(0, str(ROOT))
    from moisturemap.web import Settings, create_app

    with tempfile.TemporaryDirectory() as empty:
        document = create_app(Settings(folder=Path(empty), kept=Path(empty))).openapi()
    json.dump(document, sys.stdout, indent=1, sort_keys=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
