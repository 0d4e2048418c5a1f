"""Lets the tests of this room share their invented floor."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
