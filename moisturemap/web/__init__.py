"""The local app: request, use case, answer."""

from moisturemap.web.app import create_app
from moisturemap.web.settings import Settings

__all__ = ["Settings", "create_app"]
