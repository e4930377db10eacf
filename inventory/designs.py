"""Designs: what may be drawn, redrawing a board's positions, and what differs between two drawings.

A drawing's `hazards`, `links`, `rails` and `banks` are data that the checks before power read:

- hazards: words of HAZARDS;
- links: `{"name", "purpose", "settings": ["1-2", …], "rules": [{"setting", "when", "note"}], "note"}`, where
  `when` names a `ref` or a `bank` and what must hold of what is fitted there: `number`, `make`, `suffix`,
  `half` (a text, or several of which any) or `count` (how many of the bank are fitted);
- rails: `{"name", "nominal", "low", "high", "order", "at", "protects": [refs], "note"}`, in volts;
- `empty_when` of a position is such a `when`: while it holds, the position is left empty;
- banks: `{"name", "refs", "equal": ["number", "make", …], "counts": [2, …], "map": [{"start", "end", "bits":
  {"D0-D3": ref}}], "note"}`, addresses in hexadecimal.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import transaction

from inventory.models import REF_LENGTH, Design, Position, StoredSpec
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.spec import Fit, Problem, Spec, fits

HAZARDS = (
    "mains", "high_voltage", "sealed_high_voltage", "stored_charge", "crt", "microwave", "lithium", "nicd",
    "lead_acid", "pcb_oil", "mercury", "asbestos", "selenium", "beryllia", "laser", "hot",
)  # fmt: skip
SIDES = ("", "top", "bottom")
MOST_POSITIONS = 5000
MOST_ENTRIES = 200
LONGEST_TEXT = 400
PROPERTIES = ("number", "make", "suffix", "half")
"""What a link rule may ask of a fitted part, and a bank hold equal."""


@dataclass(frozen=True)
class Drawn:
    """One position as it is to be drawn."""

    ref: str
    spec: Spec
    socketed: bool = False
    note: str = ""
    x: Decimal | None = None
    y: Decimal | None = None
    side: str = ""
    empty_when: Mapping[str, Any] = field(default_factory=dict)


@transaction.atomic
def draw(design: Design, positions: Sequence[Drawn]) -> None:
    """Make these the design's positions: what stays keeps its row, what is not drawn any more goes."""
    specs = StoredSpec.keep_all([drawn.spec for drawn in positions])
    known = {position.ref: position for position in design.positions.all()}
    design.positions.exclude(ref__in=[drawn.ref for drawn in positions]).delete()
    rows = [
        Position(
            pk=known[drawn.ref].pk if drawn.ref in known else None,
            design=design,
            ref=drawn.ref,
            spec=specs[drawn.spec],
            **{name: getattr(drawn, name) for name in PLACED},
        )
        for drawn in positions
    ]
    Position.objects.bulk_create([row for row in rows if row.pk is None], batch_size=500)
    Position.objects.bulk_update(
        [row for row in rows if row.pk is not None], ["spec", *PLACED], batch_size=200
    )


PLACED = ("socketed", "note", "x", "y", "side", "empty_when")


# --- what may be drawn


def is_ref(text: str) -> bool:
    """Whether this is one reference designator, as it would be written on a board."""
    try:
        return parse_refs(text) == [text]
    except UnreadableRefs:
        return False


def problems_with_refs(refs: Sequence[str]) -> list[Problem]:
    """References that cannot be read or are given twice, by their place in the list."""
    found = []
    first: dict[str, int] = {}
    for index, ref in enumerate(refs):
        if not is_ref(ref):
            detail = f"{ref[:REF_LENGTH]!r}: want one reference such as R7, at most {REF_LENGTH} characters"
            found.append(Problem(f"/{index}/ref", "unreadable", detail))
        elif ref in first:
            found.append(Problem(f"/{index}/ref", "repeated", f"{ref} is drawn already, at {first[ref]}"))
        first.setdefault(ref, index)
    return found


def problems_with_drawing(drawing: Mapping[str, Any], refs: Collection[str]) -> list[Problem]:
    """Everything wrong with the hazards, links, rails and banks of a design that has these references."""
    reader = _Reader(frozenset(refs), _names(drawing.get("banks")))
    reader.each("/hazards", drawing.get("hazards", []), lambda at, word: reader.one_of(at, word, HAZARDS))
    reader.each("/links", drawing.get("links", []), reader.link)
    reader.each("/rails", drawing.get("rails", []), reader.rail)
    reader.each("/banks", drawing.get("banks", []), reader.bank)
    for part in ("links", "rails", "banks"):
        reader.named_once(f"/{part}", drawing.get(part))
    return reader.problems


def problems_with_conditions(
    conditions: Sequence[tuple[str, Any]], banks: object, refs: Collection[str]
) -> list[Problem]:
    """What is wrong with (reference, when it is left empty), by their place in the list."""
    reader = _Reader(frozenset(refs), _names(banks))
    for index, (ref, when) in enumerate(conditions):
        at = f"/{index}/empty_when"
        if when:
            reader.when(at, when)
            if isinstance(when, Mapping) and when.get("ref") == ref:
                reader.wrong(f"{at}/ref", "contradiction", "it cannot depend on itself")
    return reader.problems


def _names(entries: object) -> frozenset[str]:
    listed = entries if isinstance(entries, list) else []
    return frozenset(
        entry["name"] for entry in listed if isinstance(entry, Mapping) and isinstance(entry.get("name"), str)
    )


@dataclass
class _Reader:
    """Reads each member by its shape and notes what is wrong, where."""

    refs: frozenset[str]
    banks: frozenset[str]
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, at: str, code: str, detail: str) -> None:
        self.problems.append(Problem(at, code, detail))

    def each(self, at: str, entries: object, read: Callable[[str, Any], None], *, least: int = 0) -> None:
        if not isinstance(entries, list) or not least <= len(entries) <= MOST_ENTRIES:
            self.wrong(at, "unreadable", f"want a list of {least} to {MOST_ENTRIES}")
            return
        for index, entry in enumerate(entries):
            read(f"{at}/{index}", entry)

    def members(self, at: str, entry: object, required: Collection[str], optional: Collection[str]) -> bool:
        """Whether the entry is an object; what it lacks and what nobody knows is noted."""
        if not isinstance(entry, Mapping):
            self.wrong(at, "unreadable", f"want an object with {', '.join([*required, *optional])}")
            return False
        for name in required:
            if name not in entry:
                self.wrong(f"{at}/{name}", "required", "is missing")
        for name in entry:
            if name not in required and name not in optional:
                known = ", ".join([*required, *optional])
                self.wrong(f"{at}/{_escaped(name)}", "unknown", f"unknown; want {known}")
        return True

    def texts(self, at: str, entry: Mapping[str, Any], *names: str) -> None:
        for name in names:
            if name in entry:
                self.text(f"{at}/{name}", entry[name], blank=name in ("purpose", "note", "at"))

    def text(self, at: str, given: object, *, blank: bool = False) -> None:
        if not isinstance(given, str) or len(given) > LONGEST_TEXT or not (blank or given.strip()):
            self.wrong(at, "unreadable", f"want a text of at most {LONGEST_TEXT} characters")

    def one_of(self, at: str, given: object, words: Collection[str]) -> None:
        if not isinstance(given, str) or given not in words:
            self.wrong(
                at, "unknown", f"want one of {', '.join(sorted(words)) or '(there are none)'}"[:LONGEST_TEXT]
            )

    def ref(self, at: str, given: object) -> None:
        if not isinstance(given, str) or given not in self.refs:
            self.wrong(at, "unknown", "the design has no such position")

    def whole(self, at: str, given: object, least: int, most: int) -> None:
        if not isinstance(given, int) or isinstance(given, bool) or not least <= given <= most:
            self.wrong(at, "unreadable", f"want a whole number from {least} to {most}")

    def named_once(self, at: str, entries: object) -> None:
        seen: set[str] = set()
        for index, entry in enumerate(entries if isinstance(entries, list) else []):
            name = entry.get("name") if isinstance(entry, Mapping) else None
            if isinstance(name, str) and name in seen:
                self.wrong(f"{at}/{index}/name", "repeated", f"{name} is there already")
            elif isinstance(name, str):
                seen.add(name)

    # --- links

    def link(self, at: str, entry: Any) -> None:
        if not self.members(at, entry, ("name", "settings"), ("purpose", "rules", "note")):
            return
        self.texts(at, entry, "name", "purpose", "note")
        self.each(f"{at}/settings", entry.get("settings", [""]), self.text, least=1)
        settings = [each for each in _listed(entry.get("settings")) if isinstance(each, str)]

        def rule(inner: str, said: Any) -> None:
            if self.members(inner, said, ("setting", "when"), ("note",)):
                self.texts(inner, said, "note")
                if "setting" in said:
                    self.one_of(f"{inner}/setting", said["setting"], settings)
                if "when" in said:
                    self.when(f"{inner}/when", said["when"])

        self.each(f"{at}/rules", entry.get("rules", []), rule)

    def when(self, at: str, entry: Any) -> None:
        if not self.members(at, entry, (), ("ref", "bank", "count", *PROPERTIES)):
            return
        if ("ref" in entry) == ("bank" in entry):
            self.wrong(at, "required", "want either a ref or a bank")
        if not set(entry) & {"count", *PROPERTIES}:
            self.wrong(at, "required", f"want something to hold: {', '.join(PROPERTIES)} or count")
        if "ref" in entry:
            self.ref(f"{at}/ref", entry["ref"])
        if "bank" in entry:
            self.one_of(f"{at}/bank", entry["bank"], self.banks)
        if "count" in entry:
            self.whole(f"{at}/count", entry["count"], 0, MOST_ENTRIES)
        for name in PROPERTIES:
            if isinstance(entry.get(name), list):
                self.each(f"{at}/{name}", entry[name], self.text, least=1)
            elif name in entry:
                self.text(f"{at}/{name}", entry[name])

    # --- rails and banks

    def rail(self, at: str, entry: Any) -> None:
        if not self.members(
            at, entry, ("name", "nominal", "low", "high"), ("order", "at", "protects", "note")
        ):
            return
        self.texts(at, entry, "name", "at", "note")
        volts = [self.volts(f"{at}/{name}", entry.get(name)) for name in ("low", "nominal", "high")]
        if None not in volts and volts != sorted(volts, key=lambda each: each or 0):
            self.wrong(f"{at}/low", "contradiction", "want low, nominal and high in that order")
        if "order" in entry:
            self.whole(f"{at}/order", entry["order"], 0, MOST_ENTRIES)
        self.each(f"{at}/protects", entry.get("protects", []), self.ref)

    def volts(self, at: str, given: object) -> Decimal | None:
        try:
            volts = Decimal(given) if isinstance(given, str | int) and len(str(given)) <= 12 else None
        except InvalidOperation:
            volts = None
        if volts is None or isinstance(given, bool) or not volts.is_finite() or abs(volts) > 100_000:
            self.wrong(at, "unreadable", 'want volts as text, such as "4.75"')
            return None
        return volts

    def bank(self, at: str, entry: Any) -> None:
        if not self.members(at, entry, ("name", "refs"), ("equal", "counts", "map", "note")):
            return
        self.texts(at, entry, "name", "note")
        self.each(f"{at}/refs", entry.get("refs", [""]), self.ref, least=1)
        self.each(
            f"{at}/equal", entry.get("equal", []), lambda inner, word: self.one_of(inner, word, PROPERTIES)
        )
        self.each(
            f"{at}/counts",
            entry.get("counts", []),
            lambda inner, most: self.whole(inner, most, 0, MOST_ENTRIES),
        )
        members = [each for each in _listed(entry.get("refs")) if isinstance(each, str)]

        def span(inner: str, said: Any) -> None:
            if not self.members(inner, said, ("start", "end", "bits"), ("note",)):
                return
            for name in ("start", "end"):
                if not _is_address(said.get(name, "0")):
                    self.wrong(
                        f"{inner}/{name}", "unreadable", "want an address in hexadecimal, such as 03FF"
                    )
            bits = said.get("bits", {})
            if not isinstance(bits, Mapping) or len(bits) > MOST_ENTRIES:
                self.wrong(f"{inner}/bits", "unreadable", 'want an object such as {"D0-D3": "IC12"}')
                return
            for bit, ref in bits.items():
                self.one_of(f"{inner}/bits/{_escaped(bit)}", ref, members)

        self.each(f"{at}/map", entry.get("map", []), span)


def _listed(given: object) -> list[Any]:
    return given if isinstance(given, list) else []


def _is_address(given: object) -> bool:
    return (
        isinstance(given, str)
        and 0 < len(given) <= 8
        and all(sign in "0123456789abcdefABCDEF" for sign in given)
    )


def _escaped(name: object) -> str:
    return str(name)[:80].replace("~", "~0").replace("/", "~1")


def named(text: str) -> Design | None:
    """The design of this number, or of this name and revision: `Tern TR6 main board C`."""
    if text.isascii() and text.isdigit() and len(text) < 19:
        return Design.objects.filter(pk=int(text)).first()
    return next((each for each in Design.objects.order_by("id") if str(each) == text), None)


# --- what differs


@dataclass(frozen=True)
class Change:
    """A reference with another part in each: what differs, and whether the old part serves the new."""

    ref: str
    was: Position
    now: Position
    properties: tuple[str, ...]
    fit: Fit


@dataclass(frozen=True)
class Comparison:
    same: tuple[Position, ...]
    changed: tuple[Change, ...]
    added: tuple[Position, ...]
    removed: tuple[Position, ...]


def compare(old: Design, new: Design) -> Comparison:
    """By reference, in natural order: from the old design to the new one."""
    was = {position.ref: position for position in old.positions.prefetch_related("spec")}
    now = {position.ref: position for position in new.positions.prefetch_related("spec")}
    both = [ref for ref in _in_order(was) if ref in now]
    changes = {ref: change for ref in both if (change := _change(was[ref], now[ref])) is not None}
    return Comparison(
        same=tuple(was[ref] for ref in both if ref not in changes),
        changed=tuple(changes.values()),
        added=tuple(now[ref] for ref in _in_order(now) if ref not in was),
        removed=tuple(was[ref] for ref in _in_order(was) if ref not in now),
    )


def _in_order(refs: Collection[str]) -> Iterator[str]:
    return iter(sorted(refs, key=split_ref))


def _change(was: Position, now: Position) -> Change | None:
    before, after = was.spec.spec.to_dict(), now.spec.spec.to_dict()
    differing = [name for name in before if before[name] != after[name] and not name.endswith("_text")]
    if was.socketed != now.socketed:
        differing.append("socketed")
    if not differing:
        return None
    return Change(was.ref, was, now, tuple(differing), fits(now.spec.spec, was.spec.spec))
