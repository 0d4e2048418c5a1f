"""Where a subfloor is wet, how sure that is, and where to drill."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from moisturemap.workflow.study import Study as Study

__version__ = "0.1.0"

_PUBLIC = {
    "Study": "moisturemap.workflow",
}
"""Public names and where they live; loaded on first use so that importing stays fast."""

__all__ = ["__version__", *_PUBLIC]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    message = f"module 'moisturemap' has no attribute {name!r}"
    raise AttributeError(message)


def __dir__() -> list[str]:
    return sorted(__all__)
