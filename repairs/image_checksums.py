"""Images of memories: compared with a label or a list, and the comparison written down as a lot's trial."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.ledger import Actor
from inventory.models import Board, Lot
from repairs import trials
from repairs.models import Trial
from repairs.proving.checksum import (
    Checksums,
    KnownImage,
    checksums,
    compare,
    looked_through,
    matches,
    read_checksums,
)
from repairs.proving.verdict import FAULTY, GOOD, INCONCLUSIVE, Judgement, TrialReason


@dataclass(frozen=True)
class Compared:
    """Checksums of an image, what they come to, and the known images that agree."""

    checksums: Checksums
    judgement: Judgement
    names: tuple[str, ...]


def compare_image(
    image: bytes, *, expected: Mapping[str, int] | None = None, listed: Sequence[KnownImage] = ()
) -> Compared:
    """Against what the label says; without a label, against the list."""
    found = checksums(image)
    judged = compare(read_checksums(found.text), dict(expected or {}))
    names = matches(found, listed)
    if listed and not expected:
        judged = _by_list(names)
    seen = looked_through(image)
    empty = any(reason.code in ("blank", "all_low") for reason in seen)
    verdict = INCONCLUSIVE if empty and judged.verdict == GOOD else judged.verdict
    return Compared(found, Judgement(verdict, (*judged.reasons, *seen)), names)


def _by_list(names: tuple[str, ...]) -> Judgement:
    if names:
        return Judgement(GOOD, (TrialReason("matches", f"it is {', '.join(names)}"),))
    return Judgement(FAULTY, (TrialReason("differs", "it is not on the list"),))


def write_down(
    found: Compared,
    lot: Lot,
    *,
    by: Actor,
    fixture: Board | None = None,
    fixture_ref: str = "",
    note: str = "",
) -> Trial:
    """The comparison as a trial of the lot; a bad one in a board condemns no part while that is unsettled."""
    return trials.record(
        by=by, lot=lot, method="checksum", reading=found.checksums.text, judgement=found.judgement,
        fixture=fixture, fixture_ref=fixture_ref, note=note,
    )  # fmt: skip
