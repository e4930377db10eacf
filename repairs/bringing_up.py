"""What is seen and measured while a board is brought up: written once, stamped with the board as it is.

Each write locks the board, so that two people at one board stamp one after the other; then failures that
waited for what was open are looked at again (`repairs.trials.reconsider`).
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from inventory import photos
from inventory.ledger import By, Refused
from inventory.models import Board, Photo
from inventory.spec.recorded import AS_DRAWN
from repairs import hazards, readiness, trials
from repairs.proving import rails, ready
from repairs.proving.board import BoardFacts
from repairs.proving.drawing import Drawing, Link, Rail
from repairs.proving.rails import PASS
from repairs.proving_models import Confirmation, Exemption, LinkSetting, Observed, RailReading


def _locked(board: Board) -> BoardFacts:
    """The board's facts; nobody else writes one of them before this transaction ends."""
    return readiness.facts_of(
        Board.objects.select_for_update(of=("self",)).select_related("design").get(pk=board.pk)
    )


def _drawing(facts: BoardFacts) -> Drawing:
    if facts.drawing is None:
        raise Refused("no_design", "the board has no design: nobody knows its links, rails and positions")
    return facts.drawing


@transaction.atomic
def set_links(board: Board, settings: Mapping[str, str], *, by: By, note: str = "") -> list[LinkSetting]:
    """Write down how links stand.  Refused: a link or a setting that the drawing does not have."""
    facts = _locked(board)
    drawing = _drawing(facts)
    known = {link.name: link for link in drawing.links}
    for name, setting in settings.items():
        if name not in known:
            raise Refused(
                "unknown_link", f"the drawing has no link {name}: {', '.join(known) or 'none'}", link=name
            )
        _refuse_setting(known[name], setting)
    made = LinkSetting.objects.bulk_create(
        [
            LinkSetting(
                board=board, link=name, setting=setting, by=by, note=note,
                stamp=facts.touches(drawing.refs_of(known[name])),
            )
            for name, setting in settings.items()
        ]
    )  # fmt: skip
    trials.reconsider(board)
    return made


def _refuse_setting(link: Link, setting: str) -> None:
    if setting not in link.settings:
        told = f"{link.name} is set to {', '.join(link.settings)}, not {setting}"
        raise Refused("unknown_setting", told, link=link.name, settings=list(link.settings))


@transaction.atomic
def confirm_orientation(
    board: Board,
    refs: Sequence[str],
    *,
    by: By,
    right: bool,
    way: str = AS_DRAWN,
    note: str = "",
    photo: Photo | None = None,
) -> list[Confirmation]:
    """Write down which way round parts were seen to be, with the picture that shows it, if there is one.

    Refused: an empty position, or one without a way round.
    """
    facts = _locked(board)
    wanted = ready.expectations(facts)
    positions = {position.ref: position for position in facts.positions}
    unknown = [ref for ref in refs if ref not in positions]
    if unknown:
        raise Refused(
            "unknown_position", f"{board.design} has no position {', '.join(unknown)}", refs=unknown
        )
    empty = [ref for ref in refs if positions[ref].piece is None]
    if empty:
        raise Refused("empty_position", f"{board.name}: nothing is fitted at {', '.join(empty)}", refs=empty)
    no_way = [ref for ref in refs if ref not in wanted]
    if no_way:
        raise Refused("no_way_round", f"{', '.join(no_way)}: such a part has no way round", refs=no_way)
    made = []
    for ref in refs:
        piece = positions[ref].piece
        assert piece is not None  # empty positions were refused
        made.append(
            Confirmation(
                board=board, item="orientation", ref=ref, lot_id=piece.lot, right=right, way=way,
                stamp=positions[ref].touches, by=by, note=note,
            )
        )  # fmt: skip
    made = Confirmation.objects.bulk_create(made)
    if photo is not None:
        for row in made:
            photos.show_also(photo, "confirmation", row.pk, by=by)
    trials.reconsider(board)
    return made


@transaction.atomic
def confirm(board: Board, item: str, *, by: By, right: bool, note: str = "") -> Confirmation:
    """Write down one of the checks of the whole board: looked over, supply proven alone, heatsinks on."""
    facts = _locked(board)
    stamp = {"inspection": facts.all_touches, "supply": 0, "heatsink": facts.touches(ready.heatsinks(facts))}[
        item
    ]
    return Confirmation.objects.create(board=board, item=item, right=right, stamp=stamp, by=by, note=note)


@transaction.atomic
def read_rail(
    board: Board,
    rail: str,
    stage: str,
    amount: Decimal | None,
    *,
    by: By,
    refs: Sequence[str] = (),
    note: str = "",
) -> list[RailReading]:
    """Write down a reading on a rail; at the pins one for each position.  Refused: what the drawing does not
    have.
    """
    facts = _locked(board)
    drawn = _rail(_drawing(facts), rail)
    hazards.refuse_blocked(board, [])
    positions = {position.ref: position for position in facts.positions}
    unknown = [ref for ref in refs if ref not in drawn.protects]
    if unknown:
        pins = ", ".join(drawn.protects) or "nothing"
        told = f"{rail} is measured at the pins of {pins}, not {', '.join(unknown)}"
        raise Refused("unknown_position", told, refs=unknown)
    made = RailReading.objects.bulk_create(
        [
            RailReading(
                board=board, rail=rail, stage=stage, ref=ref, amount=amount, by=by, note=note,
                stamp=facts.supply_touches,
                departures=positions[ref].departures if ref else 0,
                filled=[each for each in drawn.protects if each in facts.fitted],
            )
            for ref in (refs if stage == rails.AT_PINS else ("",))
        ]
    )  # fmt: skip
    trials.reconsider(board)
    return made


def _rail(drawing: Drawing, name: str) -> Rail:
    found = next((rail for rail in drawing.rails if rail.name == name), None)
    if found is None:
        known = ", ".join(rail.name for rail in drawing.rails) or "none"
        raise Refused("unknown_rail", f"the drawing has no rail {name}: {known}", rail=name)
    return found


@transaction.atomic
def accept(
    board: Board, item: str, subjects: Sequence[str], why: str, *, by: By, note: str = ""
) -> list[Exemption]:
    """Accept open items as they are.  Refused: what passes already, and what nobody may accept."""
    facts = _locked(board)
    found = {(each.check, each.subject): each for each in ready.findings(facts)}
    for subject in subjects:
        told = found.get((item, subject))
        if told is None or told.state == PASS:
            raise Refused(
                "nothing_to_accept", f"{item} {subject}".strip() + ": nothing is open there", subject=subject
            )
        if not ready.may_be_accepted(told):
            raise Refused(
                "not_accepted",
                f"{item} {subject}: {told.reason}. That is put right, not accepted",
                subject=subject,
            )
    made = Exemption.objects.bulk_create(
        [
            Exemption(
                board=board, item=item, subject=subject, why=why, by=by, note=note,
                stamp=ready.stamp_for(facts, item, subject),
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
            raise Refused("withdrawn_already", f"{row} was withdrawn before")
