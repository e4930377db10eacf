"""What is seen and measured while a board is brought up: written once, stamped with the board as it is.

Each write locks the board, and may name the version of it that the person looked at, so that two people at
one board stamp one after the other; then failures that waited for what was open are looked at again
(`repairs.trials.reconsider`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from inventory.design_facts import DesignFacts, Link, Rail
from inventory.ledger import Actor, Refused
from inventory.models import Board, Photo
from inventory.pictures import photos
from inventory.refusals import Code
from inventory.spec.recorded import AS_DRAWN
from repairs import hazards, readiness, trials
from repairs.proving import confirmations, items, rails, ready
from repairs.proving.board import BoardFacts
from repairs.proving.rails import PASS
from repairs.proving_models import AcceptedException, Confirmation, LinkSetting, Observed, RailReading


class BoardChanged(Refused):
    """The board is not the one that the person looked at: something was moved on it, or it was edited."""


def _locked(board: Board, seen: int | None) -> BoardFacts:
    """The board's facts; nobody else writes one, or moves a piece of it, before this transaction ends.

    `seen` is the version of the board that the person looked at; BoardChanged where it has another now.
    """
    now = Board.objects.select_for_update(of=("self",)).select_related("design").get(pk=board.pk)
    if seen is not None and seen != now.version:
        raise BoardChanged(
            Code.STALE,
            f"{now.name} was changed since you looked: look again, then confirm",
            version=now.version,
        )
    return readiness.facts_of(now)


def _design(facts: BoardFacts) -> DesignFacts:
    if facts.design is None:
        raise Refused(Code.NO_DESIGN, "the board has no design: its links, rails and positions are unknown")
    return facts.design


@transaction.atomic
def set_links(
    board: Board, settings: Mapping[str, str], *, by: Actor, note: str = "", seen: int | None = None
) -> list[LinkSetting]:
    """Write down how links stand.  Refused: a link or a setting that the drawing does not have."""
    facts = _locked(board, seen)
    design = _design(facts)
    known = {link.name: link for link in design.links}
    for name, setting in settings.items():
        if name not in known:
            raise Refused(
                Code.UNKNOWN_LINK, f"the drawing has no link {name}: {', '.join(known) or 'none'}", link=name
            )
        _refuse_setting(known[name], setting)
    made = LinkSetting.objects.bulk_create(
        [
            LinkSetting(
                board=board, link=name, setting=setting, by=by, note=note,
                stamp=facts.stamp, basis=confirmations.basis_of_link(design, name),
            )
            for name, setting in settings.items()
        ]
    )  # fmt: skip
    trials.reconsider(board)
    return made


def _refuse_setting(link: Link, setting: str) -> None:
    if setting not in link.settings:
        detail = f"{link.name} is set to {', '.join(link.settings)}, not {setting}"
        raise Refused(Code.UNKNOWN_SETTING, detail, link=link.name, settings=list(link.settings))


@transaction.atomic
def confirm_orientation(
    board: Board,
    refs: Sequence[str],
    *,
    by: Actor,
    right: bool,
    way: str = AS_DRAWN,
    note: str = "",
    photo: Photo | None = None,
    seen: int | None = None,
) -> list[Confirmation]:
    """Write down which way round parts were seen to be, with the picture that shows it, if there is one.

    Refused: an empty position, or one without a way round.
    """
    facts = _locked(board, seen)
    wanted = confirmations.expectations(facts)
    positions = {position.ref: position for position in facts.positions}
    unknown = [ref for ref in refs if ref not in positions]
    if unknown:
        raise Refused(
            Code.UNKNOWN_POSITION, f"{board.design} has no position {', '.join(unknown)}", refs=unknown
        )
    empty = [ref for ref in refs if positions[ref].piece is None]
    if empty:
        raise Refused(
            Code.EMPTY_POSITION, f"{board.name}: nothing is fitted at {', '.join(empty)}", refs=empty
        )
    no_way = [ref for ref in refs if ref not in wanted]
    if no_way:
        raise Refused(Code.NO_WAY_ROUND, f"{', '.join(no_way)}: such a part has no way round", refs=no_way)
    made = []
    for ref in refs:
        piece = positions[ref].piece
        assert piece is not None  # empty positions were refused
        made.append(
            Confirmation(
                board=board, item="orientation", ref=ref, lot_id=piece.lot, right=right, way=way,
                stamp=facts.stamp, basis=confirmations.basis_of_orientation(positions[ref], wanted[ref]),
                by=by, note=note,
            )
        )  # fmt: skip
    made = Confirmation.objects.bulk_create(made)
    if photo is not None:
        for row in made:
            photos.show_also(photo, "confirmation", row.pk, by=by)
    trials.reconsider(board)
    return made


@transaction.atomic
def confirm(
    board: Board, item: str, *, by: Actor, right: bool, note: str = "", seen: int | None = None
) -> Confirmation:
    """Write down one of the checks of the whole board: looked over, supply proven alone, heatsinks on."""
    facts = _locked(board, seen)
    basis = confirmations.basis_of(facts, item)
    return Confirmation.objects.create(
        board=board, item=item, right=right, stamp=facts.stamp, basis=basis, by=by, note=note
    )


@transaction.atomic
def read_rail(
    board: Board,
    rail: str,
    stage: str,
    amount: Decimal | None,
    *,
    by: Actor,
    refs: Sequence[str] = (),
    note: str = "",
    seen: int | None = None,
) -> list[RailReading]:
    """Write down a reading on a rail; at the pins one for each position.  Refused: what the drawing does not
    have.
    """
    facts = _locked(board, seen)
    drawn = _rail(_design(facts), rail)
    hazards.refuse_blocked(board, [])
    concerned = {*drawn.protects, *(facts.protected & facts.soldered)}
    filled = [ref for ref in facts.fitted if ref in concerned]
    unknown = [ref for ref in refs if ref not in drawn.protects]
    if unknown:
        pins = ", ".join(drawn.protects) or "nothing"
        detail = f"{rail} is measured at the pins of {pins}, not {', '.join(unknown)}"
        raise Refused(Code.UNKNOWN_POSITION, detail, refs=unknown)
    made = RailReading.objects.bulk_create(
        [
            RailReading(
                board=board, rail=rail, stage=stage, ref=ref, amount=amount, by=by, note=note,
                stamp=facts.stamp, measured_at=drawn.at, protects=sorted(facts.protected), filled=filled,
            )
            for ref in (refs if stage == rails.AT_PINS else ("",))
        ]
    )  # fmt: skip
    trials.reconsider(board)
    return made


def _rail(design: DesignFacts, name: str) -> Rail:
    found = next((rail for rail in design.rails if rail.name == name), None)
    if found is None:
        known = ", ".join(rail.name for rail in design.rails) or "none"
        raise Refused(Code.UNKNOWN_RAIL, f"the drawing has no rail {name}: {known}", rail=name)
    return found


@transaction.atomic
def accept(
    board: Board,
    item: str,
    subjects: Sequence[str],
    why: str,
    *,
    by: Actor,
    note: str = "",
    seen: int | None = None,
) -> list[AcceptedException]:
    """Accept open items as they are.  Refused: what passes already, and what nobody may accept."""
    facts = _locked(board, seen)
    now = {each.subject: each for each in ready.findings(facts) if each.check == item}
    alone = ready.findings(replace(facts, exceptions=()))
    accepting = {each.subject: each for each in alone if each.check == item}
    for subject in subjects:
        open_item = now.get(subject)
        if open_item is None or open_item.state == PASS:
            raise Refused(
                Code.NOTHING_TO_ACCEPT,
                f"{item} {subject}".strip() + ": nothing is open there",
                subject=subject,
            )
        if not items.may_be_accepted(open_item):
            instead = "measured" if item in items.MEASURED else "put right"
            raise Refused(
                Code.NOT_ACCEPTED,
                f"{item} {subject}: {open_item.reason}. That is {instead}, not accepted",
                subject=subject,
            )
    made = AcceptedException.objects.bulk_create(
        [
            AcceptedException(
                board=board, item=item, subject=subject, why=why, by=by, note=note,
                stamp=facts.stamp, finding=accepting[subject].reason[:1000],
                basis=items.basis_of_exception(accepting[subject]),
            )
            for subject in subjects
        ]
    )  # fmt: skip
    trials.reconsider(board)
    return made


@transaction.atomic
def take_back(written: Sequence[Observed]) -> None:
    """What was written down counts no more; it stays on record.  Refused: what was withdrawn before."""
    now = timezone.now()
    for row in written:
        if not type(row)._default_manager.filter(pk=row.pk, withdrawn=None).update(withdrawn=now):
            raise Refused(Code.WITHDRAWN_ALREADY, f"{row} was withdrawn before")
