"""Do the wire links suit the chips that are fitted?  And are the chips of one bank alike?

A rule asks for a setting when all of its conditions hold.  What is not known of a fitted piece makes the rule
undecided, never false: a link is only called right where every rule that could ask otherwise is known not to.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.design_facts import Bank, DesignFacts, Link, LinkRule
from repairs.proving.fitted import FittedPiece, is_number, plainly

YES, NO, UNKNOWN, MIXED = "yes", "no", "unknown", "mixed"

AGREES, CONFLICT, UNDECIDED, FREE, UNSAID, CONTRADICTION = (
    "agrees", "conflict", "undecided", "free", "unsaid", "contradiction",
)  # fmt: skip
"""Of a link: as required; set otherwise; cannot be told; nothing is required; its setting is not known;
what is fitted asks for two settings at once."""
MIXED_BANK, TOO_FEW, ALIKE, UNKNOWN_PIECES = "mixed", "too_few", "alike", "unknown"


@dataclass(frozen=True)
class LinkFinding:
    """What one link must be, what it is, and the evidence."""

    link: str
    state: str
    required: str
    present: str
    refs: tuple[str, ...]
    reason: str
    evidence: tuple[str, ...]


@dataclass(frozen=True)
class BankFinding:
    """Whether one bank is alike and complete, and which pieces differ."""

    bank: str
    state: str
    refs: tuple[str, ...]
    reason: str
    evidence: tuple[str, ...]


@dataclass(frozen=True)
class _Outcome:
    rule: LinkRule
    holds: str
    why: str
    evidence: tuple[str, ...]


def check_links(
    design: DesignFacts, fitted: Mapping[str, FittedPiece], settings: Mapping[str, str]
) -> tuple[LinkFinding, ...]:
    """Every link of the design, against what is fitted (by reference) and how the links stand (by name)."""
    return tuple(_check_link(design, link, fitted, settings.get(link.name, "")) for link in design.links)


def _check_link(
    design: DesignFacts, link: Link, fitted: Mapping[str, FittedPiece], present: str
) -> LinkFinding:
    refs = design.refs_of(link)

    def found(state: str, required: str, reason: str, evidence: Iterable[str] = ()) -> LinkFinding:
        return LinkFinding(link.name, state, required, present, refs, reason, tuple(dict.fromkeys(evidence)))

    if not link.rules:
        return found(FREE, "", f"{link.purpose or link.name}: a choice of the user's")
    there = [fitted[ref] for ref in refs if ref in fitted]
    outcomes = [_outcome(design, rule, fitted) for rule in link.rules]
    holding = [outcome for outcome in outcomes if outcome.holds == YES]
    evidence = [line for outcome in holding for line in outcome.evidence]
    wanted = list(dict.fromkeys(outcome.rule.setting for outcome in holding))
    if len(wanted) > 1:
        each = "; ".join(
            f"{_because(outcome)} wants {outcome.rule.setting}" for outcome in _one_for_each(holding)
        )
        return found(CONTRADICTION, "", f"one setting cannot serve both: {each}", evidence)
    mixed = [outcome for outcome in outcomes if outcome.holds == MIXED and [outcome.rule.setting] != wanted]
    if mixed:
        return found(
            CONTRADICTION, "", mixed[0].why, [line for outcome in mixed for line in outcome.evidence]
        )
    doubtful = [
        outcome for outcome in outcomes if outcome.holds == UNKNOWN and [outcome.rule.setting] != wanted
    ]
    if doubtful:
        choices = " or ".join(dict.fromkeys([*wanted, *(outcome.rule.setting for outcome in doubtful)]))
        lines = [line for outcome in doubtful for line in outcome.evidence]
        return found(UNDECIDED, "", f"{choices}: {doubtful[0].why}", [*evidence, *lines])
    concerned = [piece for piece in there if _is_concerned(design, link, piece)]
    if not wanted:
        if not there:
            return found(FREE, "", f"nothing that it concerns is fitted ({', '.join(refs)})")
        named = [piece.text for piece in there]
        if not concerned:
            return found(FREE, "", "no rule asks anything of the types that are fitted", named)
        return found(
            UNDECIDED, "", "no rule of the design says what this asks: look it up in the data sheet", named
        )
    required = wanted[0]
    why = f"{required} is required: {_because(holding[0])}" + _noted(holding[0])
    uncovered = [piece for piece in concerned if not _covered(design, piece, outcomes)]
    if uncovered:
        missing = f"no rule of the design covers {uncovered[0].text}: look it up in the data sheet"
        return found(UNDECIDED, required, missing, [*evidence, *(piece.text for piece in uncovered)])
    if not present:
        return found(UNSAID, required, f"{why}; its setting is not recorded", evidence)
    if present != required:
        return found(CONFLICT, required, f"{why}; it stands at {present}", evidence)
    return found(AGREES, required, why, evidence)


def _because(outcome: _Outcome) -> str:
    return "; ".join(outcome.evidence) or outcome.why


def _noted(outcome: _Outcome) -> str:
    return f" ({outcome.rule.note})" if outcome.rule.note else ""


def _one_for_each(outcomes: Sequence[_Outcome]) -> Iterable[_Outcome]:
    seen: dict[str, _Outcome] = {}
    for outcome in outcomes:
        seen.setdefault(outcome.rule.setting, outcome)
    return seen.values()


def _is_concerned(design: DesignFacts, link: Link, piece: FittedPiece) -> bool:
    """Whether some rule is about such a type; one of another number is a matter of what fits there."""
    for rule in link.rules:
        bank = design.bank(rule.bank) if rule.bank else None
        if rule.ref != piece.ref and (bank is None or piece.ref not in bank.refs):
            continue
        numbers = dict(rule.wants).get("number", ())
        known = piece.properties["number"]
        if not numbers or not known or any(is_number(known, each) for each in numbers):
            return True
    return False


def _covered(design: DesignFacts, piece: FittedPiece, outcomes: Sequence[_Outcome]) -> bool:
    """Whether some rule that holds speaks of this piece."""
    for outcome in outcomes:
        bank = design.bank(outcome.rule.bank) if outcome.rule.bank else None
        of_piece = outcome.rule.ref == piece.ref or (bank is not None and piece.ref in bank.refs)
        if outcome.holds == YES and of_piece:
            return True
    return False


def _outcome(design: DesignFacts, rule: LinkRule, fitted: Mapping[str, FittedPiece]) -> _Outcome:
    """Whether a rule's conditions hold of what is fitted."""
    if rule.ref:
        there = [fitted[rule.ref]] if rule.ref in fitted else []
        where = rule.ref
    else:
        bank = design.bank(rule.bank)
        there = [fitted[ref] for ref in bank.refs if ref in fitted] if bank else []
        where = f"bank {rule.bank}"
    if rule.counts and len(there) not in rule.counts:
        return _Outcome(rule, NO, f"{where}: {len(there)} fitted", ())
    counted = (f"{where}: {len(there)} fitted",) if rule.counts else ()
    if not there:
        return _Outcome(rule, YES if rule.counts and not rule.wants else NO, f"{where} is empty", counted)
    held = [_holds(rule, piece) for piece in there]
    evidence = (*counted, *(piece.text for piece in there if rule.wants))
    if all(holds == YES for holds, _why in held):
        return _Outcome(rule, YES, where, evidence)
    if any(holds == NO for holds, _why in held):
        if rule.bank and any(holds == YES for holds, _why in held):
            others = ", ".join(
                piece.text for piece, (holds, _why) in zip(there, held, strict=True) if holds == NO
            )
            return _Outcome(
                rule, MIXED, f"{where} is mixed: {others}, the others need {rule.setting}", evidence
            )
        return _Outcome(rule, NO, where, ())
    return _Outcome(rule, UNKNOWN, next(why for holds, why in held if holds == UNKNOWN), evidence)


def _holds(rule: LinkRule, piece: FittedPiece) -> tuple[str, str]:
    """Whether all that the rule wants holds of one piece; what is not known leaves it undecided."""
    unknown = ""
    for name, wanted in rule.wants:
        found = piece.properties[name]
        if not found:
            unknown = unknown or f"the {name} of {piece.ref} is not known"
        elif name == "number":
            if not any(is_number(found, each) for each in wanted):
                return NO, ""
        elif plainly(found) not in map(plainly, wanted):
            return NO, ""
    return (UNKNOWN, unknown) if unknown else (YES, "")


def is_met(design: DesignFacts, when: LinkRule, fitted: Mapping[str, FittedPiece]) -> tuple[str, str]:
    """Whether a condition holds of what is fitted (yes, no, unknown or mixed), and why."""
    found = _outcome(design, when, fitted)
    return found.holds, _because(found)


# --- banks


def check_banks(design: DesignFacts, fitted: Mapping[str, FittedPiece]) -> tuple[BankFinding, ...]:
    """Every bank of the drawing: are its pieces alike in what must be equal, and are there enough of them?"""
    return tuple(_check_bank(bank, fitted) for bank in design.banks)


def _check_bank(bank: Bank, fitted: Mapping[str, FittedPiece]) -> BankFinding:
    there = [fitted[ref] for ref in bank.refs if ref in fitted]

    def found(state: str, reason: str, pieces: Iterable[FittedPiece] = ()) -> BankFinding:
        return BankFinding(bank.name, state, bank.refs, reason, tuple(piece.text for piece in pieces))

    unknown = ""
    for name in bank.equal:
        by_property: dict[str, list[FittedPiece]] = {}
        for piece in there:
            by_property.setdefault(_comparable(name, piece), []).append(piece)
        unsaid = [piece.ref for piece in by_property.pop("", [])]
        if len(by_property) > 1:
            groups = "; ".join(
                f"{pieces[0].properties[name]} in {', '.join(piece.ref for piece in pieces)}"
                for pieces in by_property.values()
            )
            return found(MIXED_BANK, f"bank {bank.name} needs one {name}: {groups}", there)
        if unsaid and len(there) > 1 and not unknown and (by_property or name in ("number", "make")):
            unknown = f"bank {bank.name} needs one {name}: it is not known of {', '.join(unsaid)}"
    if unknown:
        return found(UNKNOWN_PIECES, unknown, there)
    if bank.counts and len(there) not in bank.counts:
        listed = " or ".join(map(str, bank.counts))
        return found(TOO_FEW, f"bank {bank.name} works with {listed} pieces, {len(there)} are fitted", there)
    return found(
        ALIKE,
        f"bank {bank.name}: {len(there)} fitted, alike in {', '.join(bank.equal) or 'nothing asked'}",
        there,
    )


def _comparable(name: str, piece: FittedPiece) -> str:
    """A property as it is compared; of a suffix only the letters, as speed grades follow a dash."""
    found = piece.properties[name]
    return plainly(found.partition("-")[0] if name == "suffix" else found)
