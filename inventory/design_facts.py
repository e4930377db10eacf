"""What a design says beside its positions: links, rails, banks and hazards, read once for door and checks.

Pure.  `read_design` is the only reader: what it names as a problem is refused when a design is written, and
a board whose design has problems (written before a rule was there) is not called ready.  The members:

- hazards: words of HAZARDS;
- links: `{"name", "purpose", "settings": ["1-2", …], "rules": [{"setting", "when", "note"}], "note"}`, where
  `when` names a `ref` or a `bank` and what must hold of what is fitted there: `number`, `make`, `suffix`,
  `half` (a text, or several of which any) or `count` (how many of the bank are fitted);
- rails: `{"name", "nominal", "low", "high", "order", "at", "protects": [refs], "ohms_low", "ohms_high",
  "note"}`: volts as text; `ohms_low` and `ohms_high` are the ohms to ground that a sound board shows, where
  that is not simply 10 Ω or more;
- `empty_when` of a position is such a `when`: while it holds, the position is left empty;
- banks: `{"name", "refs", "equal": ["number", "make", …], "counts": [2, …], "map": [{"start", "end", "bits":
  {"D0-D3": ref}}], "note"}`, addresses in hexadecimal, each bit of an address in one position.

One file, since links, rails and banks name each other and are read by one reader.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any, TypeVar

from inventory.refusals import Code
from inventory.spec import FieldProblem

HAZARD_NAMES = {
    "mains": "mains",
    "high_voltage": "high voltage",
    "sealed_high_voltage": "sealed high-voltage part",
    "stored_charge": "stored charge",
    "crt": "picture tube",
    "microwave": "microwave oven",
    "lithium": "lithium cell",
    "nicd": "NiCd cell",
    "lead_acid": "lead-acid cell",
    "pcb_oil": "old oil capacitor",
    "mercury": "mercury",
    "asbestos": "asbestos",
    "selenium": "selenium rectifier",
    "beryllia": "beryllia ceramic",
    "laser": "laser",
    "hot": "hot parts",
}
HAZARDS = tuple(HAZARD_NAMES)
PROPERTIES = ("number", "make", "suffix", "half")
"""What a link rule may ask of a fitted part, and a bank hold equal."""
MAX_ENTRIES = 200
MAX_TEXT = 400
MAX_FIGURE = 100_000
"""The most volts or ohms that a rail may be given."""

_BITS = re.compile(r"D([0-9]{1,2})(?:-D?([0-9]{1,2}))?")
_ADDRESS = re.compile(r"[0-9A-Fa-f]{1,8}")
_MAY_BE_BLANK = ("purpose", "note", "at")


@dataclass(frozen=True)
class LinkRule:
    """Asks for `setting` when all of `wants` holds of what is fitted at `ref` or all over `bank`."""

    setting: str
    ref: str = ""
    bank: str = ""
    wants: tuple[tuple[str, tuple[str, ...]], ...] = ()
    counts: tuple[int, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Link:
    """A wire link or jumper; without rules it is a choice of the user's."""

    name: str
    purpose: str
    settings: tuple[str, ...]
    rules: tuple[LinkRule, ...] = ()


@dataclass(frozen=True)
class Rail:
    """A supply rail with its window in volts; `protects` stays empty until it is proven.

    `ohms_low` and `ohms_high` bound the ohms to ground of a sound board, where the design says so.
    """

    name: str
    nominal: Decimal
    low: Decimal
    high: Decimal
    order: int = 0
    at: str = ""
    protects: tuple[str, ...] = ()
    ohms_low: Decimal | None = None
    ohms_high: Decimal | None = None


@dataclass(frozen=True)
class Span:
    """Addresses from `start` to `end`, and which reference holds which bit."""

    start: int
    end: int
    bits: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class Bank:
    """Positions that work together: what must be equal over them, how many may be fitted, the memory map."""

    name: str
    refs: tuple[str, ...]
    equal: tuple[str, ...] = ()
    counts: tuple[int, ...] = ()
    map: tuple[Span, ...] = ()


@dataclass(frozen=True)
class DesignFacts:
    """Everything that a design says of itself beside its positions; rails in the order of proving."""

    links: tuple[Link, ...] = ()
    rails: tuple[Rail, ...] = ()
    banks: tuple[Bank, ...] = ()
    hazards: tuple[str, ...] = ()
    problems: tuple[FieldProblem, ...] = field(default=())

    def bank(self, name: str) -> Bank | None:
        return next((bank for bank in self.banks if bank.name == name), None)

    def refs_of(self, link: Link) -> tuple[str, ...]:
        """Every position that decides this link."""
        named: dict[str, None] = {}
        for rule in link.rules:
            bank = self.bank(rule.bank) if rule.bank else None
            named.update(dict.fromkeys(bank.refs if bank else [rule.ref] if rule.ref else []))
        return tuple(named)


def read_design(data: Mapping[str, Any], refs: Collection[str]) -> DesignFacts:
    """Read `links`, `rails`, `banks` and `hazards` of a design that has these references.

    Never fails: what cannot be read is left out, and named in `problems` with its JSON pointer.
    """
    reader = _MemberReader(frozenset(refs), _names(data.get("banks")))
    hazards = reader.list_of("/hazards", data.get("hazards", []), reader.hazard)
    links = reader.list_of("/links", data.get("links", []), reader.link)
    rails = reader.list_of("/rails", data.get("rails", []), reader.rail)
    banks = reader.list_of("/banks", data.get("banks", []), reader.bank)
    for member in ("links", "rails", "banks"):
        reader.named_once(f"/{member}", data.get(member))
    in_order = tuple(sorted(rails, key=lambda rail: rail.order))
    return DesignFacts(links, in_order, banks, hazards, tuple(reader.problems))


def read_conditions(
    conditions: Sequence[tuple[str, Any]], banks: object, refs: Collection[str]
) -> tuple[list[LinkRule | None], list[FieldProblem]]:
    """Each (reference, when it is left empty) as a rule, None where it never is; and what is wrong with them.

    Pointers begin with the index in the list.
    """
    reader = _MemberReader(frozenset(refs), _names(banks))
    rules = []
    for index, (ref, when) in enumerate(conditions):
        at = f"/{index}/empty_when"
        rules.append(reader.when(at, when) if when else None)
        if isinstance(when, Mapping) and when.get("ref") == ref:
            reader.wrong(f"{at}/ref", Code.CONTRADICTION, "it cannot depend on itself")
    return rules, reader.problems


def _names(entries: object) -> frozenset[str]:
    return frozenset(
        entry["name"]
        for entry in _listed(entries)
        if isinstance(entry, Mapping) and isinstance(entry.get("name"), str)
    )


_Entry = TypeVar("_Entry")


@dataclass
class _MemberReader:
    """Takes each member by its shape and notes what is wrong, where."""

    refs: frozenset[str]
    banks: frozenset[str]
    problems: list[FieldProblem] = field(default_factory=list)

    def wrong(self, at: str, code: Code, detail: str) -> None:
        self.problems.append(FieldProblem(at, code, detail))

    def list_of(
        self, at: str, entries: object, read: Callable[[str, Any], _Entry | None], *, least: int = 0
    ) -> tuple[_Entry, ...]:
        if not isinstance(entries, list) or not least <= len(entries) <= MAX_ENTRIES:
            self.wrong(at, Code.UNREADABLE, f"must be a list of {least} to {MAX_ENTRIES}")
            return ()
        taken = (read(f"{at}/{index}", entry) for index, entry in enumerate(entries))
        return tuple(entry for entry in taken if entry is not None)

    def members(self, at: str, entry: object, required: Collection[str], optional: Collection[str]) -> bool:
        """Whether the entry is an object; what it lacks and what nobody knows is noted."""
        known = ", ".join([*required, *optional])
        if not isinstance(entry, Mapping):
            self.wrong(at, Code.UNREADABLE, f"must be an object with {known}")
            return False
        for name in required:
            if name not in entry:
                self.wrong(f"{at}/{name}", Code.REQUIRED, "is missing")
        for name in entry:
            if name not in required and name not in optional:
                self.wrong(f"{at}/{_escaped(name)}", Code.UNKNOWN, f"unknown; known are {known}")
        return True

    def text_of(self, at: str, entry: Mapping[str, Any], name: str) -> str:
        if name not in entry:
            return ""
        return self.text(f"{at}/{name}", entry[name], blank=name in _MAY_BE_BLANK) or ""

    def text(self, at: str, given: object, *, blank: bool = False) -> str | None:
        if isinstance(given, str) and len(given) <= MAX_TEXT and (blank or given.strip()):
            return given
        self.wrong(at, Code.UNREADABLE, f"must be a text of at most {MAX_TEXT} characters")
        return None

    def one_of(self, at: str, given: object, words: Collection[str]) -> str | None:
        if isinstance(given, str) and given in words:
            return given
        listed = ", ".join(sorted(words)) or "(there are none)"
        self.wrong(at, Code.UNKNOWN, f"must be one of {listed}"[:MAX_TEXT])
        return None

    def hazard(self, at: str, given: object) -> str | None:
        return self.one_of(at, given, HAZARDS)

    def property(self, at: str, given: object) -> str | None:
        return self.one_of(at, given, PROPERTIES)

    def ref(self, at: str, given: object) -> str | None:
        if isinstance(given, str) and given in self.refs:
            return given
        self.wrong(at, Code.UNKNOWN, "the design has no such position")
        return None

    def whole(self, at: str, given: object) -> int | None:
        if isinstance(given, int) and not isinstance(given, bool) and 0 <= given <= MAX_ENTRIES:
            return given
        self.wrong(at, Code.UNREADABLE, f"must be a whole number from 0 to {MAX_ENTRIES}")
        return None

    def figure(self, at: str, given: object, example: str) -> Decimal | None:
        try:
            amount = Decimal(given) if isinstance(given, str | int) and len(str(given)) <= 12 else None
        except InvalidOperation:
            amount = None
        if amount is None or isinstance(given, bool) or not amount.is_finite() or abs(amount) > MAX_FIGURE:
            self.wrong(at, Code.UNREADABLE, f'must be {example} as text, such as "4.75"')
            return None
        return amount

    def named_once(self, at: str, entries: object) -> None:
        seen: set[str] = set()
        for index, entry in enumerate(_listed(entries)):
            name = entry.get("name") if isinstance(entry, Mapping) else None
            if isinstance(name, str) and name in seen:
                self.wrong(f"{at}/{index}/name", Code.REPEATED, f"{name} exists already")
            elif isinstance(name, str):
                seen.add(name)

    # --- links

    def link(self, at: str, entry: Any) -> Link | None:
        if not self.members(at, entry, ("name", "settings"), ("purpose", "rules", "note")):
            return None
        name, purpose = self.text_of(at, entry, "name"), self.text_of(at, entry, "purpose")
        self.text_of(at, entry, "note")
        settings = self.list_of(f"{at}/settings", entry.get("settings", [""]), self.text, least=1)
        rules = self.list_of(
            f"{at}/rules", entry.get("rules", []), lambda inner, rule: self.rule(inner, rule, settings)
        )
        return Link(name, purpose, settings, rules) if name else None

    def rule(self, at: str, entry: Any, settings: tuple[str, ...]) -> LinkRule | None:
        if not self.members(at, entry, ("setting", "when"), ("note",)):
            return None
        note = self.text_of(at, entry, "note")
        setting = self.one_of(f"{at}/setting", entry["setting"], settings) if "setting" in entry else None
        when = self.when(f"{at}/when", entry["when"]) if "when" in entry else None
        if setting is None or when is None:
            return None
        return LinkRule(setting, when.ref, when.bank, when.wants, when.counts, note)

    def when(self, at: str, entry: Any) -> LinkRule | None:
        """A condition on what is fitted, as a rule that asks for no setting."""
        if not self.members(at, entry, (), ("ref", "bank", "count", *PROPERTIES)):
            return None
        if ("ref" in entry) == ("bank" in entry):
            self.wrong(at, Code.REQUIRED, "must name either a ref or a bank")
        if not set(entry) & {"count", *PROPERTIES}:
            self.wrong(at, Code.REQUIRED, f"must say what is to hold: {', '.join(PROPERTIES)} or count")
        ref = self.ref(f"{at}/ref", entry["ref"]) if "ref" in entry else ""
        bank = self.one_of(f"{at}/bank", entry["bank"], self.banks) if "bank" in entry else ""
        count = self.whole(f"{at}/count", entry["count"]) if "count" in entry else None
        wants = tuple(
            (name, self.any_of(f"{at}/{name}", entry[name])) for name in PROPERTIES if name in entry
        )
        counts = (count,) if count is not None else ()
        return (
            LinkRule("", ref or "", bank or "", wants, counts)
            if (ref or bank) and (wants or counts)
            else None
        )

    def any_of(self, at: str, given: object) -> tuple[str, ...]:
        """A text, or a list of texts of which any."""
        if isinstance(given, list):
            return self.list_of(at, given, self.text, least=1)
        text = self.text(at, given)
        return (text,) if text is not None else ()

    # --- rails

    def rail(self, at: str, entry: Any) -> Rail | None:
        optional = ("order", "at", "protects", "ohms_low", "ohms_high", "note")
        if not self.members(at, entry, ("name", "nominal", "low", "high"), optional):
            return None
        name, where = self.text_of(at, entry, "name"), self.text_of(at, entry, "at")
        self.text_of(at, entry, "note")
        low, nominal, high = (
            self.figure(f"{at}/{member}", entry.get(member), "volts") for member in ("low", "nominal", "high")
        )
        ohms_low, ohms_high = (
            self.figure(f"{at}/{member}", entry[member], "ohms") if member in entry else None
            for member in ("ohms_low", "ohms_high")
        )
        for member, ohms in (("ohms_low", ohms_low), ("ohms_high", ohms_high)):
            if ohms is not None and ohms <= 0:
                self.wrong(f"{at}/{member}", Code.UNREADABLE, "must be more than no ohms")
        if ohms_low is not None and ohms_high is not None and ohms_low > ohms_high:
            self.wrong(f"{at}/ohms_low", Code.CONTRADICTION, "must not be above ohms_high")
        order = self.whole(f"{at}/order", entry["order"]) if "order" in entry else 0
        protects = self.list_of(f"{at}/protects", entry.get("protects", []), self.ref)
        if low is None or nominal is None or high is None or not name:
            return None
        if not low <= nominal <= high:
            self.wrong(f"{at}/low", Code.CONTRADICTION, "low, nominal and high must rise in that order")
        return Rail(name, nominal, low, high, order or 0, where, protects, ohms_low, ohms_high)

    # --- banks

    def bank(self, at: str, entry: Any) -> Bank | None:
        if not self.members(at, entry, ("name", "refs"), ("equal", "counts", "map", "note")):
            return None
        name = self.text_of(at, entry, "name")
        self.text_of(at, entry, "note")
        refs = self.list_of(f"{at}/refs", entry.get("refs", [""]), self.ref, least=1)
        equal = self.list_of(f"{at}/equal", entry.get("equal", []), self.property)
        counts = self.list_of(f"{at}/counts", entry.get("counts", []), self.whole)
        spans = self.list_of(
            f"{at}/map", entry.get("map", []), lambda inner, span: self.span(inner, span, refs)
        )
        self.apart(f"{at}/map", spans, entry.get("map"))
        return Bank(name, refs, equal, counts, spans) if name else None

    def span(self, at: str, entry: Any, refs: tuple[str, ...]) -> Span | None:
        if not self.members(at, entry, ("start", "end", "bits"), ("note",)):
            return None
        self.text_of(at, entry, "note")
        start, end = (self.address(f"{at}/{name}", entry.get(name, "0")) for name in ("start", "end"))
        bits = entry.get("bits", {})
        if not isinstance(bits, Mapping) or len(bits) > MAX_ENTRIES:
            self.wrong(f"{at}/bits", Code.UNREADABLE, 'must be an object such as {"D0-D3": "IC12"}')
            return None
        held = self.bits(f"{at}/bits", bits, refs)
        if start is None or end is None:
            return None
        if start > end:
            self.wrong(f"{at}/end", Code.CONTRADICTION, "ends before it starts")
            return None
        return Span(start, end, tuple(sorted(held.items())))

    def bits(self, at: str, bits: Mapping[Any, Any], refs: tuple[str, ...]) -> dict[int, str]:
        held: dict[int, str] = {}
        for name, given in bits.items():
            here = f"{at}/{_escaped(name)}"
            span = _BITS.fullmatch(str(name))
            if span is None:
                self.wrong(here, Code.UNREADABLE, "must be named as bits, such as D0 or D0-D3")
            ref = self.one_of(here, given, refs)
            if span is None or ref is None:
                continue
            first, last = int(span[1]), int(span[2] or span[1])
            for bit in range(min(first, last), max(first, last) + 1):
                if bit in held:
                    self.wrong(here, Code.CONTRADICTION, f"D{bit} is held twice")
                held[bit] = ref
        return held

    def apart(self, at: str, spans: Sequence[Span], entries: object) -> None:
        """Spans whose addresses meet; read off only where every one could be read, so that indexes hold."""
        if not isinstance(entries, list) or len(spans) != len(entries):
            return
        for index, span in enumerate(spans):
            if any(span.start <= other.end and other.start <= span.end for other in spans[:index]):
                self.wrong(f"{at}/{index}", Code.CONTRADICTION, "overlaps another stretch of addresses")

    def address(self, at: str, given: object) -> int | None:
        if isinstance(given, str) and _ADDRESS.fullmatch(given):
            return int(given, 16)
        self.wrong(at, Code.UNREADABLE, "must be an address in hexadecimal, such as 03FF")
        return None


def _listed(given: object) -> Iterable[Any]:
    return given if isinstance(given, list) else []


def _escaped(name: object) -> str:
    return str(name)[:80].replace("~", "~0").replace("/", "~1")
