"""Asking the decoder with all that this bench knows: what it holds, and what is wanted of it.

Who wants parts is not the inventory's to know: whoever does adds itself to WANTS.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import chain
from typing import Any, NamedTuple, Protocol

from django.db.models import Exists, OuterRef

from inventory.decoding import Answer, Question, Reading, decode
from inventory.models import Holding, Lot, Place, StoredSpec
from inventory.spec import TRAITS, UNITS, Spec, SpecError

Value = tuple[str, int]
"""A kind, and a value in its smallest units."""


class Served(NamedTuple):
    """An open need that a part would serve."""

    need: int
    job: int
    job_name: str
    priority: int
    ref: str
    spec_text: str
    lacking: int
    grade: str


class Wants(Protocol):
    """What somebody wants now; all of it in a constant number of queries."""

    @property
    def values(self) -> Collection[Value]:
        """The values wanted."""

    def served(self, offers: Sequence[Spec], most: int) -> Sequence[Sequence[Served]]:
        """For each part on offer what it would serve, best first and at most so many."""


WANTS: list[Callable[[str], Wants]] = []
"""Who wants parts: each is asked for one kind, or for all ("")."""

MOST_SERVED = 10


@dataclass(frozen=True)
class Told:
    """An answer of the decoder; in step with its readings the Spec of each and what it would serve."""

    answer: Answer
    specs: tuple[Spec | None, ...]
    wanted_by: tuple[tuple[Served, ...], ...]

    def to_dict(self) -> dict[str, Any]:
        """The JSON of `GET decode/`."""
        told = self.answer.to_dict()
        for reading, spec, served in zip(told["readings"], self.specs, self.wanted_by, strict=True):
            reading["spec"] = None if spec is None else _said(spec)
            reading["wanted_by"] = [each._asdict() for each in served]
        return told


def read_marking(question: Question) -> Told:
    """Decode with the bench's own evidence.  Raises MalformedMarking."""
    return read_markings([question])[0]


def read_markings(questions: Sequence[Question]) -> list[Told]:
    """Several markings of one part, in as many queries as one of them.  Raises MalformedMarking."""
    kind = questions[0].kind if len({question.kind for question in questions}) == 1 else ""
    everything = [wants(kind) for wants in WANTS]
    held, wanted = held_values(kind), _wanted(everything)
    answers = [decode(replace(question, held=held, wanted=wanted)) for question in questions]
    specs = [tuple(spec_of(reading) for reading in answer.readings) for answer in answers]
    known = [spec for spec in dict.fromkeys(chain.from_iterable(specs)) if spec is not None]
    serving: dict[Spec | None, tuple[Served, ...]] = {None: (), **dict.fromkeys(known, ())}
    for wants in everything if known else ():
        for spec, served in zip(known, wants.served(known, MOST_SERVED), strict=True):
            serving[spec] += tuple(served)
    return [
        Told(answer, each, tuple(serving[spec] for spec in each))
        for answer, each in zip(answers, specs, strict=True)
    ]


def knowing(question: Question) -> Question:
    """The same with what this bench holds and wants: looked up once for many that are read one by one."""
    return replace(question, held=held_values(), wanted=_wanted([wants("") for wants in WANTS]))


def _wanted(everything: Sequence[Wants]) -> frozenset[Value]:
    return frozenset(value for wants in everything for value in wants.values)


def bare(question: Question) -> Told:
    """Decode with no more evidence of a bench than the question has.  Raises MalformedMarking."""
    answer = decode(question)
    specs = tuple(spec_of(reading) for reading in answer.readings)
    return Told(answer, specs, ((),) * len(specs))


def held_values(kind: str = "") -> frozenset[Value]:
    """Values of which the bench holds a piece anywhere, boards included, that is not known to be faulty."""
    held = (
        Holding.objects.filter(lot__part__spec=OuterRef("pk"), quantity__gt=0)
        .exclude(place__type__in=[Place.Type.SCRAP, Place.Type.OUTSIDE])
        .exclude(lot__condition=Lot.Condition.FAULTY)
    )
    rows = StoredSpec.objects.filter(Exists(held), kind__in=[kind] if kind else UNITS, value__isnull=False)
    return frozenset((kind, value) for kind, value in rows.values_list("kind", "value") if value is not None)


# --- what a part with this reading would be


def spec_of(reading: Reading) -> Spec | None:
    """The Spec that the reading states, without what no Spec of its kind holds; None for nothing."""
    said: dict[str, Any] = {
        "number": reading.number,
        "make": reading.make,
        "lead_style": _lead_style(reading),
        "value": reading.value,
        "tolerance_percent": _tolerance(reading),
        "volts": reading.volts,
        "dielectric": _dielectric(reading),
        "traits": _traits(reading),
    }
    while any(said.values()) or said.get("value") == 0:
        try:
            return Spec(kind=reading.kind, **said)
        except SpecError as refused:
            refused_names = {problem.pointer.split("/")[1] for problem in refused.problems}
            if not refused_names & said.keys():
                return None
            said = {name: fact for name, fact in said.items() if name not in refused_names}
    return None


def _lead_style(reading: Reading) -> str:
    """Only where the type's suffix says the package."""
    if "dual in line" in reading.package:
        return "dip"
    return "smd" if "outline" in reading.package else ""


def _tolerance(reading: Reading) -> Decimal | None:
    """Per cent; an absolute tolerance only where it is a plain percentage."""
    if reading.tolerance_abs is None or not reading.value:
        return reading.tolerance_percent
    percent = Decimal(reading.tolerance_abs * 100) / reading.value
    return percent if percent == round(percent, 4) else None


def _dielectric(reading: Reading) -> str:
    """What the traits say, else what the temperature code means."""
    if "dielectric" in reading.traits or reading.kind != "capacitor":
        return str(reading.traits.get("dielectric", ""))
    if reading.temperature.get("class") == 2:
        return "class2"
    return "c0g" if reading.temperature.get("name") in ("C0G", "NP0") else ""


def _traits(reading: Reading) -> dict[str, Any]:
    schema = TRAITS.get(reading.kind, {})
    offered: dict[str, Any] = {
        "tolerance_low_percent": None
        if reading.tolerance_low_percent is None
        else -reading.tolerance_low_percent,
        "tolerance_high_percent": reading.tolerance_high_percent,
        "temperature_char": reading.temperature.get("code"),
        "tcr_ppm": reading.temperature.get("ppm_per_kelvin"),
        **reading.traits,
    }
    kept: dict[str, Any] = {}
    for name, fact in offered.items():
        if name in schema and fact is not None:
            try:
                kept[name] = schema[name].read(fact)
            except ValueError:
                continue
    return kept


def _said(spec: Spec) -> dict[str, Any]:
    """What the Spec says, as `lots/` and `parts/` take it; what it does not say is left out."""
    return {name: fact for name, fact in spec.to_dict().items() if fact not in (None, "", {})}
