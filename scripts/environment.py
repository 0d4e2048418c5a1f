"""The project's own Python environment in .venv, made from a lock file (standard library only)."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv"
OLDEST = (3, 11)


def python() -> Path:
    """Return the interpreter inside .venv."""
    return FOLDER / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _wanted(lock: Path) -> str:
    digest = hashlib.sha256(lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes())
    return digest.hexdigest()


def ready(lock_name: str) -> Path:
    """Make .venv if needed, install what the lock names and this package; return its Python.

    A second run finds the stamp of the first and installs nothing.
    """
    if sys.version_info < OLDEST:
        wanted = ".".join(map(str, OLDEST))
        sys.exit(f"Python {wanted} or newer is needed; this is {sys.version.split()[0]}.")
    lock = ROOT / lock_name
    stamp = FOLDER / f"installed-{lock.stem}"
    if python().exists() and stamp.exists() and stamp.read_text() == _wanted(lock):
        return python()
    if not python().exists():
        print(f"Making {FOLDER} ...", file=sys.stderr, flush=True)
        venv.create(FOLDER, with_pip=True)
    words = f"Installing what {lock_name} names (once; a minute or two) ..."
    print(words, file=sys.stderr, flush=True)
    pip = [str(python()), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "--require-hashes", "-r", str(lock)], check=True, cwd=ROOT)
    subprocess.run([*pip, "--no-deps", "-e", "."], check=True, cwd=ROOT)
    stamp.write_text(_wanted(lock))
    return python()
