"""A close look at a picture: which box is shown, how turned, and what a spot of it is in pixels. Pure."""

import math
from dataclasses import dataclass
from typing import Any, Final

from inventory.pictures.enlarging import READABLE

SHOWN: Final = 720  # px; the longest side of what is shown
CLOSEST: Final = 16
LOOKS: Final[dict[str, dict[str, Any]]] = {
    "plain": {},
    "clear": {name: setting for name, setting in READABLE.items() if name not in ("scale", "channel")},
    "strong": {"contrast": 4.0, "local_contrast": 6.0, "sharpen": 2.0},
}
"""How much contrast is brought out; `clear` is what made faint print readable."""


@dataclass(frozen=True)
class View:
    """What is shown of a picture of `width` x `height`.

    `x`, `y` the middle as fractions of the picture, `zoom` 1 for all of it, `turn` degrees anticlockwise.
    """

    width: int
    height: int
    x: float = 0.5
    y: float = 0.5
    zoom: int = 1
    turn: int = 0

    @property
    def box(self) -> tuple[int, int, int, int]:
        """Left, top, width and height in pixels of the picture, all of it inside."""
        w, h = max(1, round(self.width / self.zoom)), max(1, round(self.height / self.zoom))
        left = min(max(0, round(self.x * self.width - w / 2)), self.width - w)
        top = min(max(0, round(self.y * self.height - h / 2)), self.height - h)
        return left, top, w, h

    @property
    def span(self) -> tuple[float, float]:
        """Width and height, in pixels of the picture, of the upright rectangle that is shown."""
        _left, _top, w, h = self.box
        angle = math.radians(self.turn)
        cos, sin = abs(math.cos(angle)), abs(math.sin(angle))
        return w * cos + h * sin, w * sin + h * cos

    @property
    def scale(self) -> float:
        return min(16.0, max(0.1, round(SHOWN / max(self.span), 3)))

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of what is shown."""
        across, down = self.span
        return max(1, round(across * self.scale)), max(1, round(down * self.scale))

    def at(self, across: float, down: float) -> tuple[float, float]:
        """The pixel of the picture under a spot of what is shown, given in fractions from its top left."""
        left, top, w, h = self.box
        span_across, span_down = self.span
        angle = math.radians(self.turn)
        right, below = (across - 0.5) * span_across, (down - 0.5) * span_down
        x = left + w / 2 + right * math.cos(angle) - below * math.sin(angle)
        y = top + h / 2 + right * math.sin(angle) + below * math.cos(angle)
        return min(max(0.0, x), self.width - 1.0), min(max(0.0, y), self.height - 1.0)

    def closer(self, across: float, down: float, times: int) -> "View":
        """The same, nearer by so much, about that spot."""
        x, y = self.at(across, down)
        zoom = min(CLOSEST, max(1, self.zoom * times))
        return View(self.width, self.height, x / self.width, y / self.height, zoom, self.turn)

    def moved(self, across: float, down: float) -> "View":
        """The same, moved by these fractions of what is shown."""
        x, y = self.at(0.5 + across, 0.5 + down)
        return View(self.width, self.height, x / self.width, y / self.height, self.zoom, self.turn)

    def settings(self, look: str = "plain", *, invert: bool = False, channel: str = "") -> dict[str, Any]:
        """What `enlarge` takes to show it."""
        x, y, w, h = self.box
        return {
            "x": x, "y": y, "w": w, "h": h, "scale": self.scale, "rotate": float(self.turn),
            **LOOKS[look], "invert": invert, "channel": channel,
        }  # fmt: skip
