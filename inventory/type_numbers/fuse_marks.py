"""What stands on a fuse link, and what people say of one: "T1A250V", "1 A slow", "F500mA H"."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

_LETTERS = {"FF": "very_fast", "F": "fast", "M": "medium", "T": "slow", "TT": "very_slow"}
"""Speeds as marked (IEC 60127-1)."""
_WORDS = {
    "VERY FAST": "very_fast", "SUPER FAST": "very_fast", "ULTRA FAST": "very_fast",
    "FAST": "fast", "QUICK": "fast", "MEDIUM": "medium", "NORMAL": "medium",
    "SLOW": "slow", "TIME LAG": "slow", "TIME DELAY": "slow", "ANTI SURGE": "slow", "DELAYED": "slow",
    "VERY SLOW": "very_slow", "LONG TIME LAG": "very_slow",
}  # fmt: skip
"""Speeds as they are said (common practice, no source)."""
_SPEEDS = _LETTERS | _WORDS
_BREAKING = {"E": Decimal(150), "H": Decimal(1500)}
"""Breaking capacity in amps by letter (IEC 60127-2); L, 35 A or ten times the current, is not told."""

_BODIES = {"GLASS": "glass", "CERAMIC": "ceramic"}
_IDLE = frozenset(("FUSE", "LINK", "BLOW", "BLOWING", "BODY"))

_AMPS = re.compile(r"(?<![\d.,/])(\d{1,4}(?:\.\d{1,4})?)(?:/(\d{1,2}))? ?(M?)A(?: ?([LEH]))?(?![A-Z])")
_VOLTS = re.compile(r"(?<![\d.,])(\d{1,4}) ?V(?![A-Z])")


def read_fuse(text: str) -> Mapping[str, Any]:
    """Amps, and what else is said: speed, volts, breaking capacity, body; {} where it is no fuse.

    >>> dict(read_fuse("T1A250V"))
    {'amps': Decimal('1'), 'volts': Decimal('250'), 'speed': 'slow'}
    >>> dict(read_fuse("500 mA, quick-blow"))
    {'amps': Decimal('0.5'), 'speed': 'fast'}
    """
    if len(text) > 64:
        return {}
    mark = re.sub(r"(?<=\d),(?=\d)", ".", " ".join(text.upper().split()))
    current = _AMPS.search(mark)
    if current is None or current[2] and not int(current[2]):
        return {}
    amps = Decimal(current[1]) / int(current[2] or 1)
    facts: dict[str, Any] = {"amps": amps / 1000 if current[3] else amps}
    left = mark[: current.start()] + " " + mark[current.end() :]
    if rated := _VOLTS.search(left):
        facts["volts"] = Decimal(rated[1])
        left = left[: rated.start()] + " " + left[rated.end() :]
    words = [word for word in re.split(r"[ ,;_-]+", left) if word and word not in _IDLE]
    bodies = [word for word in words if word in _BODIES]
    if speed := " ".join(word for word in words if word not in _BODIES):
        if speed not in _SPEEDS:
            return {}
        facts["speed"] = _SPEEDS[speed]
    if len(bodies) == 1:
        facts["body"] = _BODIES[bodies[0]]
    if breaking := _BREAKING.get(current[4] or ""):
        facts["breaking"] = breaking
    return facts
