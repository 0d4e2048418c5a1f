"""The only room that draws.

What draws is loaded when it is first needed: a map on a screen needs the colours alone.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from moisturemap.figures.captioned import alternative_text as alternative_text
    from moisturemap.figures.captioned import save_captioned_map as save_captioned_map
    from moisturemap.figures.floor_map import MapOptions as MapOptions
    from moisturemap.figures.floor_map import map_figure as map_figure
    from moisturemap.figures.map_check import check_figure as check_figure
    from moisturemap.figures.save import FORMATS as FORMATS
    from moisturemap.figures.save import save_figure as save_figure
    from moisturemap.figures.sheet import Format as Format
    from moisturemap.figures.study_figures import save_map as save_map
    from moisturemap.figures.study_figures import save_study_figures as save_study_figures

_FILES = {
    "FORMATS": "save",
    "Format": "sheet",
    "MapOptions": "floor_map",
    "alternative_text": "captioned",
    "check_figure": "map_check",
    "map_figure": "floor_map",
    "save_captioned_map": "captioned",
    "save_figure": "save",
    "save_map": "study_figures",
    "save_study_figures": "study_figures",
}
"""Names and the files they live in."""

__all__ = [*_FILES]


def __getattr__(name: str) -> Any:
    if name in _FILES:
        return getattr(import_module(f"{__name__}.{_FILES[name]}"), name)
    message = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(message)
