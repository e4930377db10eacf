"""Trials of logic and memories: words from a tester, faults of a memory test, checksums."""

import re

from inventory.spec import Spec
from repairs.proving.checksum import UnreadableChecksum, compare, read_checksums
from repairs.proving.memory import UnreadableFault, read_faults
from repairs.proving.meter import UnreadableReading
from repairs.proving.verdict import COMMON, FAULTY, GOOD, INCONCLUSIVE, Judgement, TrialReason

_PASSED = re.compile(
    r"(?:no|0|zero) (?:faults?|errors?)|pass(?:ed|es)?|match(?:es|ed)?|ok|good|works|as listed", re.IGNORECASE
)
_FAILED = re.compile(
    r"fail(?:ed|s)?|faulty|dead|mismatch|no match|not ok|(?:did|does) not (?:pass|match|work)", re.IGNORECASE
)
_HOW_LONG = re.compile(
    r"[,;]?\s*(?:in|after|for|over)\s+\d{1,4}(?:[.,]\d)?\s*(?:s|min|h|hours?|minutes?|days?|passes)",
    re.IGNORECASE,
)
UNSAID = ""
"""The verdict of any other words: the caller asks the person, and the words are kept as a note."""


def swapped(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """Words of a person or a tester.  In circuit a pass or a fail is the board's, not yet the part's."""
    result = _result_of(text)
    if result == FAULTY and in_circuit:
        detail = "the board failed with it in place: swap it before it is blamed"
        return Judgement(INCONCLUSIVE, (TrialReason("board_failed", detail, COMMON),))
    return Judgement(result, (TrialReason("said", f"{' '.join(text.split())[:120]}", COMMON),))


def soak(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """`no fault in 2 h`, or the faults that the test printed."""
    try:
        faults = read_faults(text)
    except UnreadableFault:
        return swapped(spec, text, in_circuit=in_circuit)
    bits = sorted({bit for fault in faults for bit in fault.wrong_bits})
    detail = f"{', '.join(f'D{bit}' for bit in bits)} wrong, first at {faults[0].address:04X}"
    if in_circuit:
        return Judgement(
            INCONCLUSIVE,
            (
                TrialReason("faults", detail),
                TrialReason("board_failed", "swap it before it is blamed", COMMON),
            ),
        )
    return Judgement(FAULTY, (TrialReason("faults", detail),))


def listed_checksum(spec: Spec, text: str, *, in_circuit: bool, expected: str = "") -> Judgement:
    """A checksum against the label's or a list's."""
    try:
        found = read_checksums(text)
        listed = read_checksums(expected) if expected.strip() else {}
    except UnreadableChecksum as wrong:
        raise UnreadableReading(str(wrong)) from None
    judged = compare(found, listed)
    if judged.verdict == FAULTY and in_circuit:
        detail = (
            "read in circuit: select, supply and address lines may be at fault; read it in another socket"
        )
        return Judgement(INCONCLUSIVE, (*judged.reasons, TrialReason("board_failed", detail, COMMON)))
    return judged


def _result_of(text: str) -> str:
    """The verdict of the few words that say nothing else; anything more is a person's to judge."""
    words = " ".join(_HOW_LONG.sub("", text).split()).strip(" .!")
    if _PASSED.fullmatch(words):
        return GOOD
    return FAULTY if _FAILED.fullmatch(words) else UNSAID
