"""From `01C0: wrote 00, read 04` to the position on the board, by the bank's map of bits to references."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.design_facts import Bank, Span
from repairs.proving.verdict import COMMON, TrialReason

MAX_FAULTS = 500
LONGEST = 20_000
_FAULT = re.compile(
    r"\s*(?:at\s+)?(?:0x|\$|&)?(?P<address>[0-9A-F]{1,8})H?(?![0-9A-Z])\s*[:,;]?\s*"
    r"(?:wrote|w)?\s*[:=]?\s*(?:0x|\$|&)?(?P<wrote>[0-9A-F]{1,8})H?(?![0-9A-Z])\s*[,;/]?\s*"
    r"(?:(?:and\s+)?read(?:\s+back)?|r)?\s*[:=]?\s*(?:0x|\$|&)?(?P<read>[0-9A-F]{1,8})H?\s*",
    re.IGNORECASE,
)
EXAMPLE = "01C0: wrote 00, read 04"
ALL_BITS = "all_bits"
"""The reason of a report that speaks of a rail or a select line, and so of no chip."""


class UnreadableFault(ValueError):
    """A line is no memory fault; the message says which and what would be."""


@dataclass(frozen=True)
class FaultyAddress:
    """One address that did not keep what was written."""

    address: int
    wrote: int
    read: int

    @property
    def wrong_bits(self) -> tuple[int, ...]:
        differing = self.wrote ^ self.read
        return tuple(bit for bit in range(differing.bit_length()) if differing >> bit & 1)


def read_faults(text: str) -> tuple[FaultyAddress, ...]:
    """Faults as a tester prints them, one a line: `01C0: wrote 00, read 04` or `01C0 00 04`, hexadecimal.

    >>> read_faults("01C0: wrote 00, read 04")[0].wrong_bits
    (2,)
    """
    if len(text) > LONGEST:
        raise UnreadableFault(f"at most {LONGEST} characters")
    lines = [line for line in text.splitlines() if line.strip()]
    if not 1 <= len(lines) <= MAX_FAULTS:
        raise UnreadableFault(f"expected 1 to {MAX_FAULTS} lines such as {EXAMPLE}")
    return tuple(_fault(number, line) for number, line in enumerate(lines, 1))


def _fault(number: int, line: str) -> FaultyAddress:
    found = _FAULT.fullmatch(line)
    if found is None:
        raise UnreadableFault(f"line {number}, {line.strip()[:40]!r}: expected {EXAMPLE}")
    address, wrote, read = (int(found[name], 16) for name in ("address", "wrote", "read"))
    if wrote == read:
        raise UnreadableFault(f"line {number}: {found['wrote']} was written and read back: no fault")
    return FaultyAddress(address, wrote, read)


@dataclass(frozen=True)
class Pointed:
    """A position that faults point to: which bits, at how many addresses, and the first of them."""

    ref: str
    bits: tuple[int, ...]
    faults: int
    first: int

    @property
    def text(self) -> str:
        bits = ", ".join(f"D{bit}" for bit in self.bits)
        places = f"{self.faults} address{'es' if self.faults > 1 else ''}"
        return f"{self.ref}: {bits} wrong at {places}, first {self.first:04X}"


@dataclass(frozen=True)
class Located:
    """Where the faults are: positions with the most faults first, what no map covers, what that suggests."""

    pointed: tuple[Pointed, ...]
    unmapped: tuple[FaultyAddress, ...]
    reasons: tuple[TrialReason, ...]
    suspect_a_rail: bool


def locate(faults: Sequence[FaultyAddress], banks: Iterable[Bank]) -> Located:
    """Each wrong bit's position; and where everything fails at once, the rail before the chips."""
    spans = [span for bank in banks for span in bank.map]
    seen: dict[str, list[tuple[FaultyAddress, int]]] = {}
    unmapped = []
    for fault in faults:
        span = next((span for span in spans if span.start <= fault.address <= span.end), None)
        known = dict(span.bits) if span else {}
        if not fault.wrong_bits or any(bit not in known for bit in fault.wrong_bits):
            unmapped.append(fault)
        for bit in fault.wrong_bits:
            if bit in known:
                seen.setdefault(known[bit], []).append((fault, bit))
    pointed = tuple(
        sorted(
            (
                Pointed(
                    ref,
                    tuple(sorted({bit for _fault, bit in found})),
                    len({fault.address for fault, _bit in found}),
                    min(fault.address for fault, _bit in found),
                )
                for ref, found in seen.items()
            ),
            key=lambda each: (-each.faults, each.ref),
        )
    )
    everywhere = [span for span in spans if _all_wrong(span, faults)]
    return Located(
        pointed, tuple(unmapped), tuple(_reasons(pointed, unmapped, everywhere, spans)), bool(everywhere)
    )


def _all_wrong(span: Span, faults: Sequence[FaultyAddress]) -> bool:
    """Whether every bit that the span maps was wrong somewhere in it, in more than one chip."""
    wrong = {bit for fault in faults if span.start <= fault.address <= span.end for bit in fault.wrong_bits}
    return len({ref for _bit, ref in span.bits}) > 1 and {bit for bit, _ref in span.bits} <= wrong


def _reasons(
    pointed: Sequence[Pointed],
    unmapped: Sequence[FaultyAddress],
    everywhere: Sequence[Span],
    spans: Sequence[Span],
) -> Iterable[TrialReason]:
    if everywhere and len(everywhere) == len(spans):
        yield TrialReason(
            ALL_BITS, "all bits of the bank are wrong at once: suspect a rail, not the chips", COMMON
        )
    elif everywhere:
        ranges = ", ".join(f"{span.start:04X} to {span.end:04X}" for span in everywhere)
        detail = f"all bits are wrong in {ranges}: suspect a rail, or the select line that these chips share"
        yield TrialReason(ALL_BITS, detail, COMMON)
    for each in pointed:
        yield TrialReason("points_to", each.text)
    if unmapped:
        detail = (
            f"{len(unmapped)} of the faults are in no map of this design, first {unmapped[0].address:04X}"
        )
        yield TrialReason("unmapped", detail)
