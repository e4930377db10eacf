"""What is asked of the decoder on a page, typed or picked, and its answer as labels with who wants each."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.http import HttpRequest

from inventory.bench_settings import settings_of_bench
from inventory.decoding import MalformedMarking, Question, Reading, Readings
from inventory.decoding.appearance_svg import LETTERS
from inventory.decoding.band_reader import BAND_SCHEMES, MAX_BANDS
from inventory.markings import DecodedMarking, ServedNeed, read_marking
from inventory.pages.frame import words
from inventory.questions import BadQuestion, question_of
from inventory.refs import write_refs
from inventory.spec import Recorded, Spec, fits
from inventory.whole_numbers import whole_number
from repairs.explanations import objections
from repairs.models import Need
from repairs.substitutions import recorded

SHOWN = 8
MAX_WANTING = 3
HINTS = {"kind": 20, "body": 200, "measured": 40, "expected": 40, "era": 10, "scheme": 60}
"""What may be said beside the marking, and how long it may be."""
GRADES = {"same": "same", "drop_in": "drop-in", "with_note": "with a note", "ask": "ask", "no": "no"}
SWATCHES = (*((letters, name) for name, letters in LETTERS.items()), ("?", "?"))
SCHEMES = tuple(
    dict.fromkeys((scheme.keywords[0], scheme.notation.name) for scheme in BAND_SCHEMES if scheme.keywords)
)


@dataclass(frozen=True)
class WantingNeed:
    """An open need that a part with this reading would serve; `reasons` what to mind."""

    served: ServedNeed
    grade: str
    reasons: tuple[str, ...]
    board: str


@dataclass(frozen=True)
class WaitingJob:
    """Places of one job that the same is to be said of; the first is the one that is served first."""

    first: WantingNeed
    others: tuple[WantingNeed, ...]

    @property
    def refs(self) -> str:
        return write_refs(each.served.ref for each in (self.first, *self.others) if each.served.ref)


@dataclass(frozen=True)
class Meaning:
    """A reading as a label tells it; `spec` goes with the form to the drawer, `made` says when."""

    reading: Reading
    value: str
    text: str
    percent: int
    spec: str
    wanting: tuple[WantingNeed, ...]
    more_want: int
    made: tuple[str, ...] = ()

    @property
    def waiting(self) -> list[WaitingJob]:
        """Who wants it, job by job: nothing is said of each place that can be said of all."""
        alike: dict[tuple[int, str, tuple[str, ...]], list[WantingNeed]] = {}
        for each in self.wanting:
            alike.setdefault((each.served.job, each.grade, each.reasons), []).append(each)
        return [WaitingJob(first, tuple(others)) for first, *others in alike.values()]


@dataclass
class Asked:
    """What was typed and picked, all of it as it goes back into the form; and what came of it."""

    marking: str = ""
    bands: list[str] = field(default_factory=list)
    hints: dict[str, str] = field(default_factory=dict)
    doubtful: bool = False
    wrong: dict[str, str] = field(default_factory=dict)
    decoded: DecodedMarking | None = None

    @property
    def anything(self) -> bool:
        return bool(self.marking or self.bands)

    @property
    def hinted(self) -> bool:
        """Whether the folded part has anything in it to be seen; beside an answer only what is wrong."""
        if set(self.wrong) - {"marking", "bands"}:
            return True
        return self.answer is None and bool(self.told)

    @property
    def told(self) -> list[str]:
        """What the folded part says, for its one line."""
        said = [text for text in self.hints.values() if text]
        return [*said, "maybe misread"] if self.doubtful else said

    @property
    def answer(self) -> Readings | None:
        return self.decoded.answer if self.decoded else None

    @property
    def row(self) -> list[tuple[int, str, list[tuple[str, str]]]]:
        """The bands picked: number, as it was said, and each colour it may be with its letters."""
        return [
            (number, band, [(LETTERS.get(each, "?"), each) for each in band.split("|")])
            for number, band in enumerate(self.bands, 1)
        ]

    def question(self, **found: str) -> Question:
        """As the decoder takes it; `found` is the marking or the bands.  BadQuestion says what is wrong."""
        stated = {name: text for name, text in self.hints.items() if text}
        if self.doubtful:
            stated["doubtful"] = "true"
        return question_of({**stated, "limit": str(SHOWN), **found})

    def read(self) -> None:
        """Ask, where there is anything to ask; what cannot be read is noted beside its field."""
        if not self.anything:
            return
        found = {"bands": ",".join(self.bands)} if self.bands else {"marking": self.marking}
        try:
            self.decoded = read_marking(self.question(**found))
        except BadQuestion as bad:
            self.wrong = {problem.name: problem.detail for problem in reversed(bad.problems)}
        except MalformedMarking as malformed:
            where = f" (at character {malformed.position + 1})" if not self.bands else ""
            self.wrong = {next(iter(found)): f"{malformed}{where}"}


def asked(request: HttpRequest) -> Asked:
    """What the form says, after the swatch that was pressed: one band more, or one fewer."""
    given = request.GET
    bands = [band[:120] for band in given.getlist("band") if band][:MAX_BANDS]
    added, dropped = given.get("add", "")[:20], given.get("drop", "")
    if added and len(bands) < MAX_BANDS:
        bands.append(added)
    if dropped == "all":
        bands = []
    elif 1 <= (band := whole_number(dropped) or 0) <= len(bands):
        del bands[band - 1]
    if "turn-round" in given:
        bands.reverse()
    hints = {name: words(request, name, longest) for name, longest in HINTS.items()}
    if "era" not in given:  # emptied by hand it stays empty
        hints["era"] = settings_of_bench().era
    return Asked(
        marking=words(request, "take", 80) or words(request, "marking", 80),
        bands=bands,
        hints=hints,
        doubtful=bool(given.get("doubtful")),
    )


def meanings(decoded: DecodedMarking) -> list[Meaning]:
    """The readings with the needs each would serve and why, in two queries more.

    A date that may be of several decades is one thing to be told, with each of them.
    """
    found: dict[object, Meaning] = {}
    for at, each in enumerate(_meanings(decoded)):
        key = at if each.spec or not each.made else each.reading.notation
        same = found.get(key)
        found[key] = (
            each
            if same is None
            else replace(same, percent=min(100, same.percent + each.percent), made=same.made + each.made)
        )
    return list(found.values())


def _meanings(decoded: DecodedMarking) -> Iterator[Meaning]:
    needs = _needs(served.need for each in decoded.wanted_by for served in each[:MAX_WANTING])
    known = recorded()
    for reading, spec, wanted in zip(decoded.answer.readings, decoded.specs, decoded.wanted_by, strict=True):
        yield Meaning(
            reading=reading,
            value=spec.value_text if spec else "",
            text=spec.text if spec else reading.notation,
            percent=round(100 * reading.score),
            spec=_written(spec) if spec else "",
            wanting=tuple(_wanting(each, spec, needs, known) for each in wanted[:MAX_WANTING])
            if spec
            else (),
            more_want=max(0, len(wanted) - MAX_WANTING),
            made=(_when(reading.date),) if reading.date else (),
        )


def _when(date: str) -> str:
    """A date as people say it: `1981-W04` is week 4 of 1981, `1981-05` is 5/1981."""
    year, _dash, part = date.partition("-")
    if part.startswith("W"):
        return f"week {part[1:].lstrip('0')} of {year}"
    return f"{part.lstrip('0')}/{year}" if part else year


def _needs(pks: Iterable[int]) -> Mapping[int, Need]:
    return Need.objects.select_related("spec", "job__board").in_bulk(set(pks))


def _wanting(served: ServedNeed, spec: Spec, needs: Mapping[int, Need], known: Recorded) -> WantingNeed:
    need = needs[served.need]
    required = need.spec.spec
    fit = fits(required, spec, recorded=known.find(required, spec))
    reasons = dict.fromkeys(objections(fit))
    board = need.job.board.name if need.job.board and need.ref else ""
    return WantingNeed(served, GRADES[served.grade], tuple(reasons), board)


def _written(spec: Spec) -> str:
    fields: dict[str, Any] = spec.to_dict()
    # As the trade writes it: a bare `0.1` of henries could be taken for µH.
    fields["value"] = fields.pop("value_text") or None
    del fields["spec_text"]
    return json.dumps(fields)


def for_template(this: Asked) -> dict[str, object]:
    """What the form and the readings are drawn from."""
    return {
        "asked": this,
        "answer": this.answer,
        "readings": meanings(this.decoded) if this.decoded else [],
        "swatches": SWATCHES,
        "schemes": SCHEMES,
    }
