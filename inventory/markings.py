"""Asking the decoder with all that this bench knows: what it holds, and what is wanted of it.

Who wants parts is not the inventory's to know, nor what other workshops found: whoever does adds itself to
DEMAND_SOURCES, or to FOUND_ELSEWHERE.
"""

import unicodedata
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, NamedTuple, Protocol

from django.db.models import Exists, OuterRef

from inventory.decoding import Question, Readings, decode, spec_of
from inventory.models import Holding, Lot, Place, StoredSpec
from inventory.pictures.weighing import ASKED, Cells, weighed
from inventory.spec import UNITS, Spec

Value = tuple[str, int]
"""A kind, and a value in its smallest units."""


class ServedNeed(NamedTuple):
    """An open need that a part would serve."""

    need: int
    job: int
    job_name: str
    priority: int
    ref: str
    spec_text: str
    lacking: int
    grade: str


class DemandSource(Protocol):
    """What somebody wants now; all of it in a constant number of queries."""

    @property
    def values(self) -> Collection[Value]:
        """The values wanted."""

    def served(self, offers: Sequence[Spec], most: int) -> Sequence[Sequence[ServedNeed]]:
        """For each part on offer what it would serve, best first and at most so many."""


DEMAND_SOURCES: list[Callable[[str], DemandSource]] = []
"""Who wants parts: each is asked for one kind, or for all ("")."""

MAX_SERVED = 10


class ReadElsewhere(NamedTuple):
    """What a marking turned out to mean at another workshop, where such a part was measured or tried."""

    marking: str
    spec: Spec
    measured: str
    source: str

    def to_dict(self) -> dict[str, Any]:
        return {**self._asdict(), "spec": _facts_of(self.spec), "spec_text": self.spec.text}


FOUND_ELSEWHERE: list[Callable[[Sequence[str]], Mapping[str, Sequence[ReadElsewhere]]]] = []
"""Who knows what others found: each is asked for markings as `plain_marking` writes them."""


def plain_marking(text: str) -> str:
    """A marking as it is compared with another: one form of each letter, in capitals, without spaces."""
    return "".join(unicodedata.normalize("NFKC", text).upper().split())


@dataclass(frozen=True)
class DecodedMarking:
    """An answer of the decoder; in step with its readings the Spec of each and what it would serve.

    `elsewhere` stands beside them: it changes no score.
    """

    answer: Readings
    specs: tuple[Spec | None, ...]
    wanted_by: tuple[tuple[ServedNeed, ...], ...]
    elsewhere: tuple[ReadElsewhere, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The JSON of `GET decode/`."""
        body = self.answer.to_dict()
        for reading, spec, served in zip(body["readings"], self.specs, self.wanted_by, strict=True):
            reading["spec"] = None if spec is None else _facts_of(spec)
            reading["wanted_by"] = [each._asdict() for each in served]
        body["elsewhere"] = [each.to_dict() for each in self.elsewhere]
        return body


def read_marking(question: Question) -> DecodedMarking:
    """Decode with the bench's own evidence.  Raises MalformedMarking."""
    return read_markings([question])[0]


def read_markings(questions: Sequence[Question], seen: Sequence[Cells] = ()) -> list[DecodedMarking]:
    """Several markings of one part, in as many queries as one of them.  Raises MalformedMarking.

    `seen`: for each, how surely a picture shows its characters or bands, by which its readings are weighed.
    """
    kind = questions[0].kind if len({question.kind for question in questions}) == 1 else ""
    everything = [source(kind) for source in DEMAND_SOURCES]
    held, wanted = held_values(kind), _wanted(everything)
    informed = [replace(question, held=held, wanted=wanted) for question in questions]
    answers = [
        weighed(decode(replace(question, limit=max(ASKED, question.limit))), cells, question.limit)
        if cells
        else decode(question)
        for question, cells in zip(informed, seen or [()] * len(informed), strict=True)
    ]
    specs = [tuple(spec_of(reading) for reading in answer.readings) for answer in answers]
    known = [spec for spec in dict.fromkeys(chain.from_iterable(specs)) if spec is not None]
    serving: dict[Spec | None, tuple[ServedNeed, ...]] = {None: (), **dict.fromkeys(known, ())}
    for source in everything if known else ():
        for spec, served in zip(known, source.served(known, MAX_SERVED), strict=True):
            serving[spec] += tuple(served)
    asked = [plain_marking(question.marking or " ".join(question.bands)) for question in questions]
    found = [source(asked) for source in FOUND_ELSEWHERE]
    return [
        DecodedMarking(
            answer, each, tuple(serving[spec] for spec in each),
            tuple(chain.from_iterable(known.get(text, ()) for known in found)),
        )
        for answer, each, text in zip(answers, specs, asked, strict=True)
    ]  # fmt: skip


def knowing(question: Question) -> Question:
    """The same with what this bench holds and wants: looked up once for many that are read one by one."""
    return replace(question, held=held_values(), wanted=_wanted([source("") for source in DEMAND_SOURCES]))


def _wanted(everything: Sequence[DemandSource]) -> frozenset[Value]:
    return frozenset(value for source in everything for value in source.values)


def bare(question: Question) -> DecodedMarking:
    """Decode with no more evidence of a bench than the question has.  Raises MalformedMarking."""
    answer = decode(question)
    specs = tuple(spec_of(reading) for reading in answer.readings)
    return DecodedMarking(answer, specs, ((),) * len(specs))


def held_values(kind: str = "") -> frozenset[Value]:
    """Values of which the bench holds a piece anywhere, boards included, that is not known to be faulty."""
    held = (
        Holding.objects.filter(lot__part__spec=OuterRef("pk"), quantity__gt=0)
        .exclude(place__type__in=[Place.Type.SCRAP, Place.Type.OUTSIDE])
        .exclude(lot__condition=Lot.Condition.FAULTY)
    )
    rows = StoredSpec.objects.filter(Exists(held), kind__in=[kind] if kind else UNITS, value__isnull=False)
    return frozenset((kind, value) for kind, value in rows.values_list("kind", "value") if value is not None)


def _facts_of(spec: Spec) -> dict[str, Any]:
    """What the Spec says, as `lots/` and `parts/` take it; what it does not say is left out."""
    return {name: fact for name, fact in spec.to_dict().items() if fact not in (None, "", {})}
