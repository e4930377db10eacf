"""What was found out here as the document of a file, and what others found, kept apart from it.

Nothing that comes in so is one's own: it is looked at first, taken whole, put away, brought out again and
deleted as a whole.  A design is meant by its name and revision, so that what was said of its places holds
from the day on which such a design comes. One file, since what goes out and what comes in are one document,
written and read by the same entries.
"""

import itertools
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Any, NamedTuple

from django.db import transaction
from django.db.models import Case, Count, F, Q, QuerySet, When, Window
from django.db.models.functions import RowNumber
from django.utils import timezone
from pydantic import Field

from inventory.answers import Answer, one_of
from inventory.ledger import Actor
from inventory.markings import plain_marking
from inventory.models import Lot, StoredSpec
from inventory.refusals import Code, Refused
from inventory.spec import Spec, fits, print_value
from inventory.spec.recorded import AS_DRAWN, REFUTED
from repairs.friends.evidence import (
    MAX_ENTRIES,
    MAX_LIMITS,
    Entry,
    EvidenceDocument,
    ReadingEntry,
    SubstitutionEntry,
    WindowEntry,
)
from repairs.friends.files import refuse_older, written
from repairs.friends.keys import behind_key, signer_for
from repairs.models import Trial
from repairs.proving import methods
from repairs.proving_models import Substitution, TrialRecord
from repairs.sharing_models import (
    EvidenceReading,
    EvidenceSubstitution,
    EvidenceTaken,
    EvidenceWindow,
    Friend,
)

NEW, HERE, CONTRADICTS = "new", "here", "contradicts"
STATES = (NEW, HERE, CONTRADICTS)
WHATS = ("substitution", "reading", "window")
_MODELS: Mapping[str, Any] = {
    "substitution": EvidenceSubstitution, "reading": EvidenceReading, "window": EvidenceWindow,
}  # fmt: skip
Sizes = Mapping[int, Mapping[str, int]]
"""How many of each of WHATS came with a file, by its number."""
_CREDIT = ("author", "licence", "source")
MAX_SEEN = 20
"""So many trials of others are shown for a method."""
MAX_LOOKED_AT = 500
"""So many of such parts are looked at, of each method."""


# --- out


def evidence_document(*, others: bool = False) -> EvidenceDocument:
    """What was found out here; with `others`, also what came in and is not put away, with whose it is."""
    substitutions, readings = [*_own_substitutions()], [*_own_readings()]
    windows = [*_own_windows()]
    if others:
        for taken in EvidenceTaken.objects.filter(put_away=False).order_by("id"):
            theirs = document_of(taken)
            substitutions += [_credited(each, taken) for each in theirs.substitutions]
            readings += [_credited(each, taken) for each in theirs.readings]
            windows += [_credited(each, taken) for each in theirs.windows]
    return EvidenceDocument(
        "rehome-evidence", 1, timezone.localdate().isoformat(),
        substitutions=_once(substitutions), readings=_once(readings), windows=_once(windows),
    )  # fmt: skip


def _once(entries: Iterable[Any]) -> list[Any]:
    seen = {repr(each): each for each in entries}
    return list(seen.values())[:MAX_ENTRIES]


def _credited(entry: Any, taken: EvidenceTaken) -> Any:
    """With whose word it is: it goes on to a third workshop."""
    return replace(
        entry,
        author=entry.author or taken.author,
        licence=entry.licence or taken.licence,
        source=entry.source or taken.from_where or taken.source,
    )


def _own_substitutions() -> Iterator[SubstitutionEntry]:
    rows = Substitution.objects.select_related("required", "offered", "design").order_by("id")
    for row in rows:
        name, revision = (row.design.name, row.design.revision) if row.design is not None else ("", "")
        yield SubstitutionEntry(
            written(row.required.spec), written(row.offered.spec), row.evidence, name, revision, row.ref,
            row.way, row.pin_map, row.note, timezone.localtime(row.at).date().isoformat(),
        )  # fmt: skip


def _own_readings() -> Iterator[ReadingEntry]:
    """Markings of lots whose value was measured and agrees, or which a trial out of circuit found good."""
    lots = Lot.objects.exclude(marking="").exclude(condition__in=["faulty", "suspect"])
    for lot in lots.select_related("part__spec").order_by("id"):
        spec = lot.part.spec.spec
        if lot.measured is None:
            continue
        agreed = fits(spec, spec, measured=lot.measured, measured_tolerance=lot.measured_tolerance)
        if spec.value is not None and agreed.grade != "no":
            yield ReadingEntry(lot.marking, written(spec), print_value(spec.kind, lot.measured))
    good = Trial.objects.filter(verdict="good", in_circuit=False, lot__measured=None).exclude(lot__marking="")
    for trial in good.select_related("lot__part__spec").order_by("id"):
        assert trial.lot is not None  # by the filter
        if trial.lot.condition == Lot.Condition.GOOD:
            text = f"{trial.method}: {trial.reading}" if trial.reading else trial.method
            yield ReadingEntry(trial.lot.marking, written(trial.lot.part.spec.spec), text[:200])


def _own_windows() -> Iterator[WindowEntry]:
    """Trials of single parts; a failure that something else explains says nothing of the part."""
    kept = TrialRecord.objects.filter(credible=True, acquitted={}).exclude(trial__lot=None)
    for record in kept.select_related("trial__lot__part__spec").order_by("trial_id"):
        trial = record.trial
        assert trial.lot is not None  # by the filter
        verdict: Any = trial.verdict
        yield WindowEntry(
            written(trial.lot.part.spec.spec), trial.method, verdict, trial.in_circuit, trial.reading,
            [str(each)[:400] for each in record.windows][:MAX_LIMITS],
        )  # fmt: skip


# --- looked at


@dataclass
class EvidenceLine(Answer):
    """One thing that a file says, beside what was found here."""

    what: Annotated[str, one_of(WHATS)]
    state: Annotated[str, one_of(STATES)]
    text: str
    mine: Annotated[str, Field(description="What was found here of the same; blank: nothing.")]


@dataclass(frozen=True)
class EvidenceSeen:
    """A file beside what was found here, and beside the file of the same source that it replaces."""

    source: str
    made: date
    before: date | None
    entries_before: int
    signed_by: str
    lines: tuple[EvidenceLine, ...]


def look(document: EvidenceDocument, source: str = "", friend: Friend | None = None) -> EvidenceSeen:
    """What taking the file would do.

    Refused: nobody says whose it is (`required`); by `signer_for`, where that is a friend.
    """
    named, friend = _source(document, source, friend)
    older = _older(named, friend).first()
    count = 0
    if older is not None:
        count = (
            older.evidencesubstitution_rows.count()
            + older.evidencereading_rows.count()
            + older.evidencewindow_rows.count()
        )
    return EvidenceSeen(
        named, date.fromisoformat(document.made), older.made if older else None, count,
        signer_for(friend, document.signature), tuple(_lines(document)),
    )  # fmt: skip


def _source(document: EvidenceDocument, source: str, friend: Friend | None) -> tuple[str, Friend | None]:
    """Whose it is, in words, and the friend who is meant: a name that is a friend's, or was when the file of
    that friend came, means that friend; where no name is given, the key that signed it does."""
    if friend is None and not source.strip():
        friend = behind_key(document.signature)
    if friend is None:
        named = (source.strip() or document.author.strip())[:120]
        if not named:
            raise Refused(Code.REQUIRED, "say whose it is: the file does not")
        friend = (
            Friend.objects.filter(name=named).first() or Friend.objects.filter(evidence__source=named).first()
        )
        if friend is None:
            return named, None
    return friend.name, friend


def _older(source: str, friend: Friend | None) -> QuerySet[EvidenceTaken]:
    """Of the same friend, whatever either is called; beside it what is of nobody who is known, by name."""
    asked = Q(source=source, friend=None)
    return EvidenceTaken.objects.filter(asked if friend is None else asked | Q(friend=friend)).order_by(
        "-made", "id"
    )


def follow_name(friend: Friend) -> None:
    """What a friend found is called as the friend is now, unless a file of nobody who is known is called so:
    the friend's next one takes the place of both."""
    friend.refresh_from_db(fields=["name"])
    taken = EvidenceTaken.objects.filter(friend=friend).exclude(source=friend.name).first()
    if taken is None or EvidenceTaken.objects.filter(source=friend.name, friend=None).exists():
        return
    _make_way(friend.name)
    EvidenceTaken.objects.filter(pk=taken.pk).update(source=friend.name, version=F("version") + 1)


def _make_way(name: str) -> None:
    """What is of a friend who was called so once is called as that friend is now."""
    taken = EvidenceTaken.objects.select_related("friend").filter(source=name).first()
    if taken is None or taken.friend is None:
        return
    used = {name, *EvidenceTaken.objects.values_list("source", flat=True)}
    numbered = (f"{taken.friend.name[:110]} ({number})" for number in itertools.count(2))
    other = next(each for each in itertools.chain([taken.friend.name], numbered) if each not in used)
    EvidenceTaken.objects.filter(pk=taken.pk).update(source=other, version=F("version") + 1)


def sizes() -> Sizes:
    """Of every file that came in; in three queries."""
    found: dict[int, Counter[str]] = defaultdict(Counter)
    for what, model in _MODELS.items():
        for taken, count in model.objects.order_by().values_list("taken").annotate(Count("id")):
            found[taken][what] = count
    return found


def _lines(document: EvidenceDocument) -> Iterator[EvidenceLine]:
    own = evidence_document()
    own_by_pair = {_of_pair(each): each for each in own.substitutions}
    for entry in document.substitutions:
        mine = own_by_pair.get(_of_pair(entry))
        state = NEW
        if mine is not None:
            state = HERE if (mine.evidence == REFUTED) == (entry.evidence == REFUTED) else CONTRADICTS
        yield EvidenceLine("substitution", state, _text(entry), _text(mine) if mine is not None else "")
    settled: dict[str, dict[Spec, ReadingEntry]] = {}
    for reading in own.readings:
        of_it = settled.setdefault(plain_marking(reading.marking), {})
        of_it[Spec.from_dict(reading.spec)] = reading
    for reading in document.readings:
        known = settled.get(plain_marking(reading.marking), {})
        spec = Spec.from_dict(reading.spec)
        other = next((each for at, each in known.items() if not _may_be_one(at, spec)), None)
        state = HERE if spec in known else CONTRADICTS if other is not None else NEW
        shown = known.get(spec) or other
        yield EvidenceLine("reading", state, _text(reading), _text(shown) if shown is not None else "")
    trials = {repr(_bare(each)) for each in own.windows}
    for window in document.windows:
        yield EvidenceLine("window", HERE if repr(_bare(window)) in trials else NEW, _text(window), "")


def _of_pair(entry: SubstitutionEntry) -> tuple[Any, ...]:
    return (
        Spec.from_dict(entry.required), Spec.from_dict(entry.offered), entry.design, entry.revision, entry.ref
    )  # fmt: skip


def _may_be_one(mine: Spec, theirs: Spec) -> bool:
    """Whether the two say nothing against each other: one may only say more."""
    ours, other = mine.facts, theirs.facts
    return mine.kind == theirs.kind and all(ours[name] == other[name] for name in ours.keys() & other.keys())


def _bare(entry: Any) -> Any:
    return replace(entry, author="", licence="", source="")


def _text(entry: Entry) -> str:
    match entry:
        case SubstitutionEntry():
            required, offered = Spec.from_dict(entry.required), Spec.from_dict(entry.offered)
            where = " ".join(filter(None, (entry.design, entry.revision, entry.ref)))
            place = f" at {where}" if where else ""
            way = "" if entry.way == AS_DRAWN else f"{entry.way.replace('_', ' ')} {entry.pin_map}".rstrip()
            more = [entry.evidence.replace("_", " "), way, entry.note]
            return f"{offered.text} for {required.text}{place}: {'; '.join(filter(None, more))}"
        case ReadingEntry():
            return f"{entry.marking}: {Spec.from_dict(entry.spec).text}, measured {entry.measured}"
        case _:
            limits = f" ({' or '.join(entry.limits)})" if entry.limits else ""
            what = Spec.from_dict(entry.spec).text
            return f"{entry.method} of {what}: {entry.reading or 'no reading'}{limits}: {entry.verdict}"


# --- in, away and out again


@transaction.atomic
def take(
    document: EvidenceDocument, source: str = "", friend: Friend | None = None, *, by: Actor
) -> tuple[EvidenceTaken, EvidenceSeen]:
    """Keep the file in place of the last one of the same source.

    Refused as by `look`, and where it is older than what is here (`stale`).
    """
    _named, friend = _source(document, source, friend)
    seen = look(document, source, friend)
    there = list(_older(seen.source, friend).select_for_update(of=("self",)))
    older = there[0] if there else None
    refuse_older("file", seen.made, older.made if older else None, today=timezone.localdate())
    facts: dict[str, Any] = {
        "source": seen.source, "friend": friend, "made": seen.made, "author": document.author,
        "licence": document.licence, "from_where": document.source, "signed_by": seen.signed_by, "by": by,
    }  # fmt: skip
    EvidenceTaken.objects.filter(pk__in=[each.pk for each in there[1:]]).delete()
    if older is None or older.source != seen.source:
        _make_way(seen.source)
    if older is None:
        taken = EvidenceTaken.objects.create(**facts)
    else:
        taken = older
        for model in _MODELS.values():
            model.objects.filter(taken=taken).delete()
        for name, value in facts.items():
            setattr(taken, name, value)
        taken.version += 1
        taken.save(update_fields=[*facts, "version", "at"])
    _write(taken, document)
    return taken, seen


def _write(taken: EvidenceTaken, document: EvidenceDocument) -> None:
    specs = [Spec.from_dict(each.spec) for each in document.readings]
    specs += [Spec.from_dict(each.spec) for each in document.windows]
    for each in document.substitutions:
        specs += [Spec.from_dict(each.required), Spec.from_dict(each.offered)]
    rows = StoredSpec.keep_all(specs)

    def row(spec: Any) -> StoredSpec:
        return rows[Spec.from_dict(spec)]

    EvidenceSubstitution.objects.bulk_create(
        [
            EvidenceSubstitution(
                taken=taken, required=row(each.required), offered=row(each.offered), design_name=each.design,
                design_revision=each.revision, ref=each.ref, evidence=each.evidence, way=each.way,
                pin_map=each.pin_map, note=each.note, day=each.day, **_credit_of(each),
            )
            for each in document.substitutions
        ],
        batch_size=500,
    )  # fmt: skip
    EvidenceReading.objects.bulk_create(
        [
            EvidenceReading(
                taken=taken, marking=each.marking, plain=plain_marking(each.marking), spec=row(each.spec),
                measured=each.measured, **_credit_of(each),
            )
            for each in document.readings
        ],
        batch_size=500,
    )  # fmt: skip
    EvidenceWindow.objects.bulk_create(
        [
            EvidenceWindow(
                taken=taken, spec=row(each.spec), method=each.method, in_circuit=each.in_circuit,
                reading=each.reading, limits=each.limits, verdict=each.verdict, **_credit_of(each),
            )
            for each in document.windows
        ],
        batch_size=500,
    )  # fmt: skip


def _credit_of(entry: Entry) -> dict[str, str]:
    return {name: getattr(entry, name) for name in _CREDIT}


def put_away(taken: EvidenceTaken, away: bool) -> None:
    """Away, it stays and holds for nothing; brought out, it holds again."""
    EvidenceTaken.objects.filter(pk=taken.pk).update(put_away=away, version=F("version") + 1)
    taken.refresh_from_db()


def document_of(taken: EvidenceTaken) -> EvidenceDocument:
    """What came in, as it came."""

    def credit(row: Any) -> dict[str, str]:
        return {name: getattr(row, name) for name in _CREDIT}

    verdicts: Any = [*taken.evidencewindow_rows.select_related("spec").order_by("id")]
    return EvidenceDocument(
        "rehome-evidence", 1, taken.made.isoformat(), taken.author, taken.licence, taken.from_where,
        [
            SubstitutionEntry(
                written(row.required.spec), written(row.offered.spec), row.evidence, row.design_name,
                row.design_revision, row.ref, row.way, row.pin_map, row.note, row.day, **credit(row),
            )
            for row in taken.evidencesubstitution_rows.select_related("required", "offered").order_by("id")
        ],
        [
            ReadingEntry(row.marking, written(row.spec.spec), row.measured, **credit(row))
            for row in taken.evidencereading_rows.select_related("spec").order_by("id")
        ],
        [
            WindowEntry(
                written(row.spec.spec), row.method, row.verdict, row.in_circuit, row.reading, row.limits,
                **credit(row),
            )
            for row in verdicts
        ],
    )  # fmt: skip


def lines_of(taken: EvidenceTaken) -> list[EvidenceLine]:
    """What came in, beside what was found here."""
    return [*_lines(document_of(taken))]


# --- where it is shown


class TriedElsewhere(NamedTuple):
    """A trial of such a part at another workshop."""

    reading: str
    limits: list[str]
    verdict: str
    in_circuit: bool
    source: str


def tried_elsewhere(spec: StoredSpec) -> dict[str, list[TriedElsewhere]]:
    """What others read of such parts, by method; in one query.

    Of the very same Spec first, then of those that a trial holds to the same limits (`_held_alike`), whose
    source says what was tried.
    """
    alike_by = {"spec__kind": spec.kind, "spec__value": spec.value, "spec__number": spec.number}
    same = Case(When(spec=spec, then=0), default=1)
    order = (same, "-taken__made", "id")
    turn = Window(RowNumber(), partition_by="method", order_by=(same, F("taken__made").desc(), "id"))
    rows = EvidenceWindow.objects.filter(taken__put_away=False, **alike_by).annotate(turn=turn)
    found: dict[str, list[TriedElsewhere]] = {}
    alike: dict[tuple[int, str], bool] = {}
    for row in rows.filter(turn__lte=MAX_LOOKED_AT).select_related("taken", "spec").order_by(*order):
        key = row.spec_id, row.method
        if key not in alike:
            alike[key] = row.spec_id == spec.pk or _held_alike(spec.spec, row.spec.spec, row.method)
        of_it = found.setdefault(row.method, []) if alike[key] else []
        if alike[key] and len(of_it) < MAX_SEEN:
            source = row.whose if row.spec_id == spec.pk else f"{row.whose}, of {row.spec.text}"
            of_it.append(TriedElsewhere(row.reading, row.limits, row.verdict, row.in_circuit, source))
    return found


def _held_alike(ours: Spec, theirs: Spec, method: str) -> bool:
    """Whether what was read of one says something of the other: of one kind, value and type number, neither
    ruled out as the other, and the limits that the method computes from each are the same.

    A limit that follows from a tolerance or a rating which only one of them says is another limit.
    """
    if (ours.kind, ours.value, ours.number) != (theirs.kind, theirs.value, theirs.number):
        return False
    limits = [
        [window.text for window in offered.windows] if (offered := methods.named(each, method)) else []
        for each in (ours, theirs)
    ]
    return bool(limits[0]) and limits[0] == limits[1] and fits(ours, theirs).grade != "no"
