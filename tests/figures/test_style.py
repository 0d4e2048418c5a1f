"""The ramp keeps its order in greyscale and for colour-blind readers, and holds no green."""

from __future__ import annotations

import colorsys

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from moisturemap.figures.style import RAMP, band_colours

# Machado, Oliveira & Fernandes, IEEE TVCG 15 (2009) 1291, severity 1.0, on linear RGB.
DEFICIENCIES = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour: str) -> np.ndarray:
    """Linear RGB of an sRGB colour (IEC 61966-2-1)."""
    rgb = np.array(to_rgb(colour))
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def lightness(rgb: np.ndarray) -> float:
    """CIE L* of linear RGB."""
    y = float(np.clip(rgb, 0, 1) @ [0.2126, 0.7152, 0.0722])
    return 116 * np.cbrt(y) - 16 if y > (6 / 29) ** 3 else y * 24389 / 27


def test_lightness_falls_in_even_steps() -> None:
    """Darker is wetter, by steps alike to the eye."""
    steps = np.diff([lightness(linear(colour)) for colour in RAMP])
    assert (steps < -8).all()
    assert steps.std() < 2


@pytest.mark.parametrize("kind", DEFICIENCIES)
def test_order_survives_colour_vision_deficiency(kind: str) -> None:
    """Lightness still falls, by clear steps, for each common deficiency."""
    matrix = np.array(DEFICIENCIES[kind])
    steps = np.diff([lightness(matrix @ linear(colour)) for colour in RAMP])
    assert (steps < -5).all()


def test_no_step_looks_like_passed() -> None:
    """No step has a green hue that a reader could take for a pass mark."""
    for colour in RAMP:
        hue, _, saturation = colorsys.rgb_to_hls(*to_rgb(colour))
        assert saturation < 0.1 or not 0.2 < hue < 0.47


def test_any_number_of_bands_gets_colours_of_its_own() -> None:
    """One band to ten bands."""
    for count in range(1, 11):
        assert len({tuple(colour) for colour in band_colours(count).colors}) == count
