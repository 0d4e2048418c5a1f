"""Hook of the documentation site: fences named ``math`` become MathML."""

from __future__ import annotations

from typing import Any

from latex2mathml.converter import convert


def equation(source: str, *_: Any, **__: Any) -> str:
    """Return the display of one equation as MathML.

    Raises
    ------
    ValueError
        If a command is unknown; the converter itself would print its name.
    """
    made = convert(source.strip(), display="block")
    if "\\" in made:
        message = f"an equation holds a command that is not known: {source.strip()}"
        raise ValueError(message)
    return f'<div class="equation">{made}</div>'


def on_config(config: Any) -> Any:
    """Let the fences of Markdown know the formatter."""
    fences = config["mdx_configs"].setdefault("pymdownx.superfences", {})
    fences["custom_fences"] = [{"name": "math", "class": "math", "format": equation}]
    return config
