"""From a pixel to CIELAB, and how far apart two colours look. Pure Python."""

from __future__ import annotations

import math
from typing import Final

Lab = tuple[float, float, float]
Linear = tuple[float, float, float]
"""Linear sRGB, each channel 0 to 1."""

_LINEAR: Final = [
    level / 255 / 12.92 if level <= 10 else ((level / 255 + 0.055) / 1.055) ** 2.4 for level in range(256)
]
_WHITE: Final = (0.95047, 1.0, 1.08883)  # D65, the white of sRGB


def linear_of(pixel: tuple[int, int, int]) -> Linear:
    """sRGB levels 0 to 255 -> linear light 0 to 1 (IEC 61966-2-1)."""
    return _LINEAR[pixel[0]], _LINEAR[pixel[1]], _LINEAR[pixel[2]]


def lab_of(linear: Linear) -> Lab:
    """Linear sRGB -> CIELAB under D65 (IEC 61966-2-1, CIE 15)."""
    red, green, blue = linear
    x = (0.4124564 * red + 0.3575761 * green + 0.1804375 * blue) / _WHITE[0]
    y = 0.2126729 * red + 0.7151522 * green + 0.0721750 * blue
    z = (0.0193339 * red + 0.1191920 * green + 0.9503041 * blue) / _WHITE[2]
    fx, fy, fz = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def srgb_of(linear: Linear) -> tuple[int, int, int]:
    """The inverse of `linear_of`."""
    red, green, blue = (
        round(255 * (12.92 * level if level <= 0.0031308 else 1.055 * level ** (1 / 2.4) - 0.055))
        for level in linear
    )
    return red, green, blue


def plain_difference(one: Lab, other: Lab) -> float:
    """The distance in CIELAB (CIE 1976): coarser than `difference`, and ten times as quick."""
    return math.dist(one, other)


def difference(one: Lab, other: Lab, *, lightness: float = 1.0) -> float:
    """CIEDE2000 (CIE 142-2001); `lightness` weighs the difference in lightness, 1 as published."""
    l1, a1, b1 = one
    l2, a2, b2 = other
    mean_chroma = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    grey = 1.5 - 0.5 * math.sqrt(mean_chroma**7 / (mean_chroma**7 + 25**7))
    a1, a2 = a1 * grey, a2 * grey
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1 = math.degrees(math.atan2(b1, a1)) % 360 if c1 else 0.0
    h2 = math.degrees(math.atan2(b2, a2)) % 360 if c2 else 0.0
    turn = h2 - h1
    if not c1 * c2:
        turn, mean_hue = 0.0, h1 + h2
    else:
        mean_hue = (h1 + h2) / 2
        if abs(turn) > 180:
            turn += 360 if turn < 0 else -360
            mean_hue += 180 if h1 + h2 < 360 else -180
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2))
    angle = math.radians
    weight = (
        1
        - 0.17 * math.cos(angle(mean_hue - 30))
        + 0.24 * math.cos(angle(2 * mean_hue))
        + 0.32 * math.cos(angle(3 * mean_hue + 6))
        - 0.20 * math.cos(angle(4 * mean_hue - 63))
    )
    light = lightness * (l2 - l1) / (1 + 0.015 * (mean_l - 50) ** 2 / math.sqrt(20 + (mean_l - 50) ** 2))
    chroma = (c2 - c1) / (1 + 0.045 * mean_c)
    shade = hue / (1 + 0.015 * mean_c * weight)
    blue_turn = math.sin(angle(60 * math.exp(-(((mean_hue - 275) / 25) ** 2))))
    cross = -2 * math.sqrt(mean_c**7 / (mean_c**7 + 25**7)) * blue_turn
    return math.sqrt(max(0.0, light**2 + chroma**2 + shade**2 + cross * chroma * shade))
