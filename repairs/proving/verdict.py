"""What a judgement is made of: reasons as data, and the verdict that they come to."""

from collections.abc import Iterable
from dataclasses import dataclass

GOOD, SUSPECT, FAULTY, INCONCLUSIVE = "good", "suspect", "faulty", "inconclusive"
VERDICTS = (GOOD, SUSPECT, FAULTY, INCONCLUSIVE)
_WEIGHT = (GOOD, INCONCLUSIVE, SUSPECT, FAULTY)

COMMON = "common practice, no source"
IN_CIRCUIT_GOOD = (
    "in circuit what lies beside it can only lower a reading: it is not shorted or low; that it is not high "
    "is not proven until a leg is lifted"
)
MEMORY = "from memory: confirm in the data sheet"


@dataclass(frozen=True)
class TrialReason:
    """Why: a stable word for programs, a sentence for people, and where the figure comes from."""

    code: str
    detail: str
    source: str = ""


@dataclass(frozen=True)
class Judgement:
    """A verdict with its reasons.

    `measured` is the value that was read of the part by itself, in its kind's smallest units: it goes by its
    reading from now on.  `pin_order` is what its legs were found to carry, in order.
    """

    verdict: str
    reasons: tuple[TrialReason, ...]
    measured: int | None = None
    pin_order: str = ""


def together(parts: Iterable[Judgement]) -> Judgement:
    """Several judgements of one part: the gravest verdict, all reasons, the one measured value.

    A fault found outweighs what could not be told; what could not be told outweighs a pass.
    """
    judged = list(parts)
    verdict = max((part.verdict for part in judged), key=_WEIGHT.index)
    measured = next((part.measured for part in judged if part.measured is not None), None)
    return Judgement(verdict, tuple(reason for part in judged for reason in part.reasons), measured)
