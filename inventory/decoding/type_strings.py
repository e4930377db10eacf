"""What every reader of type strings gives back, and the one place where it is put together."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, NamedTuple

from inventory.decoding.reading import Reading


class Found(NamedTuple):
    """A type as read from one word, before its neighbours are looked at. `bare`: printed as figures alone."""

    reading: Reading
    bare: bool = False


def type_reading(
    system: tuple[str, str],
    kind: str,
    number: str,
    used: list[tuple[str, str]],
    *reasons: str,
    score: float = 1.0,
    traits: dict[str, Any] | None = None,
    cautions: tuple[str, ...] = (),
    tolerance: str = "",
) -> Reading:
    return Reading(
        kind=kind,
        number=number,
        tolerance_percent=Decimal(tolerance) if tolerance else None,
        traits={name: member for name, member in (traits or {}).items() if member not in ("", None, False)},
        notation=system[0],
        standard=system[1],
        score=score,
        reasons=reasons,
        cautions=cautions,
        used=tuple(each for each in used if each[0]),
    )
