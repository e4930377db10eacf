"""A design's links, rails, banks and hazards read from its JSON into what the checks work with.

The shape is described in `fixtures/README.md`.  Reading never fails: what cannot be read is a problem with
its JSON pointer, and a board whose drawing has problems is not called ready.
"""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from inventory.spec import Problem

PROPERTIES = ("number", "make", "suffix", "half")
_BITS = re.compile(r"D(\d{1,2})(?:-D?(\d{1,2}))?")
_ADDRESS = re.compile(r"[0-9A-Fa-f]{1,8}")


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
    """A supply rail with its window in volts; `protects` stays empty until it is proven."""

    name: str
    nominal: Decimal
    low: Decimal
    high: Decimal
    order: int = 0
    at: str = ""
    protects: tuple[str, ...] = ()


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
class Drawing:
    """Everything that a design says of itself beside its positions."""

    links: tuple[Link, ...] = ()
    rails: tuple[Rail, ...] = ()
    banks: tuple[Bank, ...] = ()
    hazards: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = field(default=())

    def bank(self, name: str) -> Bank | None:
        return next((bank for bank in self.banks if bank.name == name), None)

    def refs_of(self, link: Link) -> tuple[str, ...]:
        """Every position that decides this link."""
        named: dict[str, None] = {}
        for rule in link.rules:
            bank = self.bank(rule.bank) if rule.bank else None
            named.update(dict.fromkeys(bank.refs if bank else [rule.ref] if rule.ref else []))
        return tuple(named)


def read_drawing(data: Mapping[str, Any], refs: Collection[str]) -> Drawing:
    """Read `links`, `rails`, `banks` and `hazards` of a design that has these references."""
    reader = _Reader(frozenset(refs))
    banks = tuple(filter(None, (reader.bank(at, entry) for at, entry in reader.entries(data, "banks"))))
    reader.banks = {bank.name for bank in banks}
    links = tuple(filter(None, (reader.link(at, entry) for at, entry in reader.entries(data, "links"))))
    rails = tuple(filter(None, (reader.rail(at, entry) for at, entry in reader.entries(data, "rails"))))
    hazards = reader.texts("/hazards", data.get("hazards", []))
    for kind, found in (("links", links), ("rails", rails), ("banks", banks)):
        reader.named_once(kind, [each.name for each in found])
    return Drawing(
        links, tuple(sorted(rails, key=lambda rail: rail.order)), banks, hazards, tuple(reader.problems)
    )


def read_condition(when: Mapping[str, Any]) -> LinkRule:
    """A condition of a position, which `inventory.designs` has let through."""
    wants = {name: when[name] for name in PROPERTIES if name in when}
    return LinkRule(
        "",
        str(when.get("ref", "")),
        str(when.get("bank", "")),
        tuple((name, (told,) if isinstance(told, str) else tuple(told)) for name, told in wants.items()),
        (when["count"],) if "count" in when else (),
    )


class _Reader:
    """Takes each member by its shape and notes what cannot be taken."""

    def __init__(self, refs: frozenset[str]) -> None:
        self.refs = refs
        self.banks: set[str] = set()
        self.problems: list[Problem] = []

    def wrong(self, at: str, detail: str, code: str = "unreadable") -> None:
        self.problems.append(Problem(at, code, detail))

    def entries(self, data: Mapping[str, Any], name: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
        listed = data.get(name, [])
        if not isinstance(listed, list):
            self.wrong(f"/{name}", "want a list")
            return
        for index, entry in enumerate(listed):
            if isinstance(entry, Mapping):
                yield f"/{name}/{index}", entry
            else:
                self.wrong(f"/{name}/{index}", "want an object")

    def named_once(self, kind: str, names: Sequence[str]) -> None:
        for index, name in enumerate(names):
            if name in names[:index]:
                self.wrong(f"/{kind}/{index}/name", f"{name} is there already", "repeated")

    def text(self, at: str, entry: Mapping[str, Any], name: str, *, required: bool = False) -> str:
        given = entry.get(name, "")
        if not isinstance(given, str) or (required and not given.strip()):
            self.wrong(f"{at}/{name}", "want a text", "required" if required else "unreadable")
            return ""
        return given

    def texts(self, at: str, given: object) -> tuple[str, ...]:
        """A text, or a list of texts of which any."""
        listed = [given] if isinstance(given, str) else given
        if not isinstance(listed, list) or not all(isinstance(each, str) and each for each in listed):
            self.wrong(at, "want a text or a list of texts")
            return ()
        return tuple(listed)

    def positions(self, at: str, given: object) -> tuple[str, ...]:
        listed = self.texts(at, given)
        for ref in listed:
            if ref not in self.refs:
                self.wrong(at, f"the design has no position {ref[:32]}", "unknown")
        return listed

    def whole(self, at: str, given: object) -> tuple[int, ...]:
        listed = [given] if isinstance(given, int) else given
        if not isinstance(listed, list) or not all(
            isinstance(each, int) and not isinstance(each, bool) and 0 <= each <= 1000 for each in listed
        ):
            self.wrong(at, "want whole numbers")
            return ()
        return tuple(listed)

    # --- links

    def link(self, at: str, entry: Mapping[str, Any]) -> Link | None:
        name = self.text(at, entry, "name", required=True)
        settings = self.texts(f"{at}/settings", entry.get("settings", []))
        if not settings:
            self.wrong(f"{at}/settings", "want the settings that the link has", "required")
        rules = [self.rule(inner, said, settings) for inner, said in _within(self, at, entry, "rules")]
        return (
            Link(name, self.text(at, entry, "purpose"), settings, tuple(filter(None, rules)))
            if name
            else None
        )

    def rule(self, at: str, entry: Mapping[str, Any], settings: tuple[str, ...]) -> LinkRule | None:
        setting, when = self.text(at, entry, "setting", required=True), entry.get("when")
        if setting not in settings:
            self.wrong(f"{at}/setting", f"want one of {', '.join(settings)}", "unknown")
        if not isinstance(when, Mapping):
            self.wrong(f"{at}/when", "want an object: a ref or a bank, and what must hold of it", "required")
            return None
        ref, bank = self.text(f"{at}/when", when, "ref"), self.text(f"{at}/when", when, "bank")
        if bool(ref) == bool(bank):
            self.wrong(f"{at}/when", "want either a ref or a bank", "required")
        if ref and ref not in self.refs:
            self.wrong(f"{at}/when/ref", f"the design has no position {ref[:32]}", "unknown")
        if bank and bank not in self.banks:
            self.wrong(f"{at}/when/bank", f"the design has no bank {bank[:32]}", "unknown")
        wants = tuple(
            (name, self.texts(f"{at}/when/{name}", when[name])) for name in PROPERTIES if name in when
        )
        counts = self.whole(f"{at}/when/count", when["count"]) if "count" in when else ()
        if not wants and not counts:
            self.wrong(f"{at}/when", f"want something to hold: {', '.join(PROPERTIES)} or count", "required")
        for name in when:
            if name not in ("ref", "bank", "count", *PROPERTIES):
                self.wrong(f"{at}/when", f"{str(name)[:32]}: nobody reads that", "unknown")
        return LinkRule(setting, ref, bank, wants, counts, self.text(at, entry, "note"))

    # --- rails

    def rail(self, at: str, entry: Mapping[str, Any]) -> Rail | None:
        name = self.text(at, entry, "name", required=True)
        low, nominal, high = (
            self.volts(f"{at}/{each}", entry.get(each)) for each in ("low", "nominal", "high")
        )
        order = entry.get("order", 0)
        if not isinstance(order, int) or isinstance(order, bool):
            self.wrong(f"{at}/order", "want a whole number")
            order = 0
        protects = self.positions(f"{at}/protects", entry.get("protects", []))
        if low is None or nominal is None or high is None or not name:
            return None
        if not low <= nominal <= high:
            self.wrong(f"{at}/low", "want low, nominal and high in that order", "contradiction")
        return Rail(name, nominal, low, high, order, self.text(at, entry, "at"), protects)

    def volts(self, at: str, given: object) -> Decimal | None:
        try:
            volts = Decimal(given) if isinstance(given, str | int) and not isinstance(given, bool) else None
        except InvalidOperation:
            volts = None
        if volts is None or not volts.is_finite():
            self.wrong(at, 'want volts as text, such as "4.75"')
            return None
        return volts

    # --- banks

    def bank(self, at: str, entry: Mapping[str, Any]) -> Bank | None:
        name = self.text(at, entry, "name", required=True)
        refs = self.positions(f"{at}/refs", entry.get("refs", []))
        equal = self.texts(f"{at}/equal", entry.get("equal", []))
        for each in equal:
            if each not in PROPERTIES:
                self.wrong(
                    f"{at}/equal", f"want some of {', '.join(PROPERTIES)}, found {each[:32]}", "unknown"
                )
        counts = self.whole(f"{at}/counts", entry.get("counts", []))
        spans = tuple(
            filter(None, (self.span(inner, said, refs) for inner, said in _within(self, at, entry, "map")))
        )
        for index, span in enumerate(spans):
            if any(span.start <= other.end and other.start <= span.end for other in spans[:index]):
                self.wrong(f"{at}/map/{index}", "overlaps another span", "contradiction")
        return (
            Bank(name, refs, tuple(each for each in equal if each in PROPERTIES), counts, spans)
            if name
            else None
        )

    def span(self, at: str, entry: Mapping[str, Any], refs: tuple[str, ...]) -> Span | None:
        start, end = (self.address(f"{at}/{name}", entry.get(name)) for name in ("start", "end"))
        bits = entry.get("bits", {})
        if start is None or end is None or not isinstance(bits, Mapping):
            if not isinstance(bits, Mapping):
                self.wrong(f"{at}/bits", 'want an object such as {"D0-D3": "IC12"}')
            return None
        if start > end:
            self.wrong(f"{at}/end", "ends before it starts", "contradiction")
        held: dict[int, str] = {}
        for written, ref in bits.items():
            found = _BITS.fullmatch(str(written))
            if found is None or ref not in refs:
                self.wrong(
                    f"{at}/bits", f"{str(written)[:20]}: want bits such as D0-D3 and a reference of the bank"
                )
                continue
            first, last = int(found[1]), int(found[2] or found[1])
            for bit in range(min(first, last), max(first, last) + 1):
                if bit in held:
                    self.wrong(f"{at}/bits", f"D{bit} is held twice", "contradiction")
                held[bit] = ref
        return Span(start, end, tuple(sorted(held.items())))

    def address(self, at: str, given: object) -> int | None:
        if not isinstance(given, str) or not _ADDRESS.fullmatch(given):
            self.wrong(at, "want an address in hexadecimal, such as 03FF")
            return None
        return int(given, 16)


def _within(
    reader: _Reader, at: str, entry: Mapping[str, Any], name: str
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for inner, said in reader.entries(entry, name):
        yield f"{at}{inner}", said
