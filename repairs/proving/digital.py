"""Trials of logic and memories: words from a tester, faults of a memory test, checksums."""

import re

from inventory.spec import Spec
from repairs.proving.checksum import UnreadableChecksum, compare, read_checksums
from repairs.proving.memory import UnreadableFault, read_faults
from repairs.proving.meter import UnreadableReading
from repairs.proving.verdict import COMMON, FAULTY, GOOD, INCONCLUSIVE, Judgement, Reason

_PASSED = re.compile(
    r"\b(no faults?|no errors?|pass(?:ed|es)?|match(?:ed|es)?|ok|as listed|works)\b", re.IGNORECASE
)
_FAILED = re.compile(
    r"\b(fail(?:ed|s)?|faults?|errors?|mismatch|dead|stuck|no(?:t)? match|does not)\b", re.IGNORECASE
)
UNSAID = ""
"""The verdict of words that say neither; the caller asks the person."""


def swapped(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """Words of a person or a tester.  In circuit a pass or a fail is the board's, not yet the part's."""
    said = _said(text)
    if said == FAULTY and in_circuit:
        told = "the board failed with it in place: swap it before it is blamed"
        return Judgement(INCONCLUSIVE, (Reason("board_failed", told, COMMON),))
    return Judgement(said, (Reason("said", f"{' '.join(text.split())[:120]}", COMMON),))


def soak(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """`no fault in 2 h`, or the faults that the test printed."""
    try:
        faults = read_faults(text)
    except UnreadableFault:
        return swapped(spec, text, in_circuit=in_circuit)
    bits = sorted({bit for fault in faults for bit in fault.wrong_bits})
    told = f"{', '.join(f'D{bit}' for bit in bits)} wrong, first at {faults[0].address:04X}"
    if in_circuit:
        return Judgement(
            INCONCLUSIVE,
            (Reason("faults", told), Reason("board_failed", "swap it before it is blamed", COMMON)),
        )
    return Judgement(FAULTY, (Reason("faults", told),))


def listed_checksum(spec: Spec, text: str, *, in_circuit: bool, expected: str = "") -> Judgement:
    """A checksum against the label's or a list's."""
    try:
        found = read_checksums(text)
        listed = read_checksums(expected) if expected.strip() else {}
    except UnreadableChecksum as wrong:
        raise UnreadableReading(str(wrong)) from None
    judged = compare(found, listed)
    if judged.verdict == FAULTY and in_circuit:
        told = "read in circuit: select, supply and address lines may be at fault; read it in another socket"
        return Judgement(INCONCLUSIVE, (*judged.reasons, Reason("board_failed", told, COMMON)))
    return judged


def _said(text: str) -> str:
    passed, failed = _PASSED.search(text), _FAILED.search(text)
    if passed and failed and passed.start() <= failed.start() < passed.end():  # "no fault" holds "fault"
        failed = _FAILED.search(text, passed.end())
    if bool(passed) == bool(failed):
        return UNSAID
    return GOOD if passed else FAULTY
