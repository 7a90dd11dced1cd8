"""Colours of the pictures: a published set that colour-blind eyes can tell apart, and what each stands for."""

import numpy as np

from firstpour.values import FloatArray

BLUE, BLACK = "#0072B2", "#000000"
"""Of Okabe & Ito, "Color universal design" (2008); the values are also in Wong, Nat. Methods 8 (2011) 441."""
SLATE, CLAY, STONE, ASH = "#B4C7D6", "#CDBBA7", "#C9C7C2", "#DEDCD8"
LEAD, CHALK, PLUM = "#8E979F", "#EDEBE7", "#A98CA4"
"""Quiet colours for solids, told apart by lightness and warmth (our own choice); a legend says what they are."""

PAPER = "#FAFAF8"
INK = "#202124"
FAINT_INK = "#6B6F76"


def rgb_of(hex_colour: str) -> FloatArray:
    """The colour as three numbers 0–1 (still encoded for a screen).

    >>> rgb_of("#FF8000").round(3).tolist()
    [1.0, 0.502, 0.0]
    """
    return np.array([int(hex_colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0


def pale(hex_colour: str, *, by_ratio: float) -> FloatArray:
    """The colour mixed with white: `by_ratio` 0 leaves it, 1 is white."""
    mixed: FloatArray = rgb_of(hex_colour) * (1.0 - by_ratio) + by_ratio
    return mixed


def linear(encoded: FloatArray) -> FloatArray:
    """From screen values to amounts of light, IEC 61966-2-1 (sRGB).

    >>> linear(np.array([0.0, 0.04, 0.5, 1.0])).round(4).tolist()
    [0.0, 0.0031, 0.214, 1.0]
    """
    light: FloatArray = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return light
