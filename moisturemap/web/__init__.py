"""The local app: request, use case, answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from moisturemap.web.settings import Settings

if TYPE_CHECKING:
    from moisturemap.web.app import create_app as create_app

__all__ = ["Settings", "create_app"]


def __getattr__(name: str) -> Any:
    """Load the app when it is asked for: a process that computes needs none of it."""
    if name == "create_app":
        from moisturemap.web.app import create_app

        return create_app
    message = f"module 'moisturemap.web' has no attribute {name!r}"
    raise AttributeError(message)
