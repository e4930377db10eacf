"""A case for each constraint on what came from other workshops, in which the database refuses."""

from collections.abc import Callable
from typing import Any

from inventory.models import Movement, StoredSpec
from repairs.models import PieceAsk
from repairs.sharing_models import (
    DesignCredit,
    DesignRecord,
    DesignTaken,
    EvidenceSubstitution,
    EvidenceTaken,
    Friend,
    FriendAsk,
    FriendGift,
    FriendLine,
    LackMark,
    SpareMark,
)
from tests.factories import DesignFactory, NeedFactory, PersonFactory, spec, stock


def credit_twice() -> None:
    design = DesignFactory()
    for _time in range(2):
        DesignCredit.objects.create(design=design, of="design", author="Harbour club")


def record_twice() -> None:
    design = DesignFactory()
    for _time in range(2):
        DesignRecord.objects.create(design=design, what="seen", facts={}, digest="1")


def twice(make: Callable[[Any], object], of: Any) -> None:
    for _time in range(2):
        make(of)


def friend() -> Friend:
    return Friend.objects.create(name="Fenland")


def _one() -> Friend:
    return Friend.objects.first() or friend()


def line(**given: Any) -> FriendLine:
    whole = {"line": "L1", "quantity": 1, "condition": "good", "spec": StoredSpec.keep(spec()), **given}
    return FriendLine.objects.create(**{"friend": whole.pop("friend", None) or friend(), **whole})


def asked(**given: Any) -> FriendAsk:
    whole = {"line": "L1", "quantity": 1, "condition": "good", "spec": StoredSpec.keep(spec()), **given}
    return FriendAsk.objects.create(friend=_one(), **whole)


def evidence(**given: Any) -> EvidenceTaken:
    return EvidenceTaken.objects.create(**{"source": "Fenland", "made": "2026-11-20", **given})


def evidence_of_a_place() -> None:
    row = StoredSpec.keep(spec())
    EvidenceSubstitution.objects.create(
        taken=evidence(), required=row, offered=row, evidence="listed", ref="R1"
    )


def piece_ask(**given: Any) -> PieceAsk:
    whole = {"need": NeedFactory(), "lot": stock().lot, "owner": PersonFactory(), "quantity": 1, **given}
    return PieceAsk.objects.create(**whole)


def asked_twice() -> None:
    first = piece_ask()
    piece_ask(need=first.need, lot=first.lot)


BROKEN: dict[str, Callable[[], object]] = {
    "design_credit_is_given_once": credit_twice,
    "design_credit_says_something": lambda: DesignCredit.objects.create(design=DesignFactory(), of="design"),
    "design_record_is_kept_once": record_twice,
    "spare_mark_gives_or_keeps": lambda: SpareMark.objects.create(lot=stock().lot),
    "sparemark.lot": lambda: twice(lambda lot: SpareMark.objects.create(lot=lot, keep=True), stock().lot),
    "lackmark.spec": lambda: twice(lambda row: LackMark.objects.create(spec=row), StoredSpec.keep(spec())),
    "friend.name": lambda: twice(lambda name: Friend.objects.create(name=name), "Fenland"),
    "friend_has_a_name": lambda: Friend.objects.create(name=""),
    "friend_postage_is_not_negative": lambda: Friend.objects.create(name="Fenland", postage=-1),
    "friend_line_is_of_something": lambda: line(quantity=0),
    "friend_line_is_named_once": lambda: twice(lambda friend: line(friend=friend), friend()),
    "friend_line_spares_or_lacks": lambda: line(condition="faulty"),
    "friend_ask_is_of_something": lambda: asked(quantity=0),
    "friend_ask_arrived_is_a_lot": lambda: asked(state="arrived"),
    "friendask.lot": lambda: twice(lambda lot: asked(state="arrived", lot=lot), stock().lot),
    "friendgift.movement": lambda: twice(
        lambda line: FriendGift.objects.create(friend=_one(), movement=line),
        Movement.objects.get(lot=stock().lot),
    ),
    "piece_ask_is_of_something": lambda: piece_ask(quantity=0),
    "piece_ask_is_open_once": asked_twice,
    "piece_ask_is_answered_at_a_time": lambda: piece_ask(state="agreed"),
    "evidence_has_a_source": lambda: evidence(source=""),
    "evidencetaken.source": lambda: twice(lambda name: evidence(source=name), "Fenland"),
    "evidencetaken.friend": lambda: [evidence(source=name, friend=_one()) for name in ("Fenland", "Fen")],
    "evidence_of_a_place_names_the_design": evidence_of_a_place,
    "design_taken_is_of_a_design": lambda: DesignTaken.objects.create(title="Plover", new=True, left_at=1),
}
