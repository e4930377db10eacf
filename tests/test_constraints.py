"""The database itself is the last guard: every constraint is made to fire, on both databases."""

import os
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction

from inventory.models import (
    AccessKey,
    ApiCall,
    Attachment,
    Board,
    Design,
    HandOver,
    Holding,
    LedgerIsAppendOnly,
    Lot,
    Movement,
    Part,
    Photo,
    Place,
    Position,
    RecoveryCode,
    SecondFactor,
    SheetShape,
    StoredSpec,
)  # fmt: skip
from repairs.models import Loan, Purchase, Reservation, Trial
from repairs.webhook_models import Webhook, WebhookDelivery
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PersonFactory,
    PlaceFactory,
    SubstitutionFactory,
    attachment,
    photo,
    spec,
    stock,
)  # fmt: skip
from tests.proving.broken import BROKEN as OF_WHAT_IS_PROVEN
from tests.sharing.broken import BROKEN as OF_WHAT_IS_SHARED

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db]


def line(**columns: object) -> Movement:
    here = stock(2)
    given = {
        "kind": "move", "lot": here.lot, "quantity": 1, "from_place": here.place, "to_place": PlaceFactory(),
        **columns,
    }  # fmt: skip
    return Movement.objects.create(**given)


def twice(make: Callable[[], object]) -> Callable[[], object]:
    def both() -> None:
        make()
        make()

    return both


def same_file_twice(of: Callable[[], Part | Design]) -> Callable[[], object]:
    def again() -> None:
        row = attachment(to=of())
        row.pk = None
        row.save()

    return again


def position_with_two_lots() -> None:
    board = BoardFactory()
    for _lot in range(2):
        Holding.objects.create(lot=stock().lot, place=board.place, ref="R1", quantity=1)


def key_twice() -> None:
    person = PersonFactory()
    for digest in "12":
        AccessKey.objects.create(person=person, name="scales", digest=digest)


def loan_twice() -> None:
    lift = line(kind="lift", borrow=True)
    for _time in range(2):
        Loan.objects.create(movement=lift)


def reversed_twice() -> None:
    first = line()
    for _time in range(2):
        line(kind="reverse", reverses=first)


def one_lot_for_two_purchases() -> None:
    here = stock()
    for _time in range(2):
        Purchase.objects.create(part=here.lot.part, quantity=1, state="received", lot=here.lot)


def original_twice() -> None:
    board = BoardFactory()
    for _time in range(2):
        Lot.objects.create(part=PartFactory(), origin_source="board", origin_board=board, origin_ref="R1")


def position_twice() -> None:
    design = DesignFactory(positions={"R1": spec()})
    Position.objects.create(design=design, ref="R1", spec=StoredSpec.keep(spec()))


def place_within(name: str) -> Callable[[], object]:
    def make() -> None:
        above = PlaceFactory()
        for _time in range(2):
            Place.objects.create(name=name, within=above)

    return make


def place_within_itself() -> None:
    place = PlaceFactory()
    Place.objects.filter(pk=place.pk).update(within=place)


BROKEN: dict[str, Callable[[], object]] = {
    # unique columns, named model.field
    "storedspec.key_hash": twice(lambda: StoredSpec.unsaved(spec()).save()),
    "part.spec": twice(lambda: Part.objects.create(spec=StoredSpec.keep(spec()), name="again")),
    "board.name": twice(lambda: BoardFactory(name="one", place=PlaceFactory(type="board"))),
    "board.place": lambda: [BoardFactory(place=BoardFactory().place)],
    "sheetshape.shape": twice(lambda: SheetShape.objects.create(shape="Ref, Value", meanings={})),
    "accesskey.digest": twice(lambda: AccessKey.objects.create(person=PersonFactory(), name="x", digest="1")),
    "recoverycode.digest": twice(lambda: RecoveryCode.objects.create(person=PersonFactory(), digest="1")),
    "secondfactor.person": lambda: [
        SecondFactor.objects.create(person=person, nonce="1") for person in [PersonFactory()] * 2
    ],
    "movement.reverses": reversed_twice,
    "job.name": twice(lambda: JobFactory(name="one")),
    "purchase.lot": one_lot_for_two_purchases,
    "loan.movement": loan_twice,
    "webhook.address": twice(lambda: Webhook.objects.create(address="https://club.example", events=[])),
    # named constraints
    "webhook_is_told_once": twice(
        lambda: WebhookDelivery.objects.create(webhook_id=1, event="loan_overdue", key="loan 1")
    ),
    "webhook_delivery_waits_for_its_next_try": lambda: WebhookDelivery.objects.create(
        webhook_id=1, event="test", next_try=None
    ),
    "one_key_of_a_name": key_twice,
    "part_pack_size_is_at_least_one": lambda: PartFactory(pack_size=0),
    "lot_meter_is_off_by_no_more_than_half": lambda: Lot.objects.create(
        part=PartFactory(), measured=1, measured_tolerance=51
    ),
    "part_price_is_not_negative": lambda: PartFactory(price=Decimal(-1)),
    "place_name_is_unique_within": place_within("Drawer"),
    "place_name_is_unique_at_the_top": twice(lambda: Place.objects.create(name="Drawer")),
    "place_scrap_and_outside_are_single": lambda: Place.objects.create(name="second bin", type="scrap"),
    "place_is_not_within_itself": place_within_itself,
    "place_boards_scrap_and_outside_are_at_the_top": lambda: PlaceFactory(
        type="board", within=PlaceFactory()
    ),
    "design_revision_is_unique": twice(lambda: Design.objects.create(name="Plover", revision="A")),
    "position_ref_is_unique_on_its_design": position_twice,
    "position_has_a_ref": lambda: Position.objects.create(
        design=DesignFactory(), ref="", spec=StoredSpec.keep(spec())
    ),
    "lot_origin_is_a_board_or_another_source": lambda: Lot.objects.create(
        part=PartFactory(), origin_source="board"
    ),
    "lot_one_original_piece_per_board_position": original_twice,
    "hand_over_is_of_a_lot_or_of_a_board": lambda: HandOver.objects.create(after="merle"),
    "hand_over_changes_whose_it_is": lambda: HandOver.objects.create(lot=stock().lot),
    "holding_is_unique": lambda: Holding.objects.create(lot=(here := stock()).lot, place=here.place),
    "holding_is_never_negative": lambda: Holding.objects.filter(pk=stock().pk).update(quantity=-1),
    "holding_promises_only_what_is_held": lambda: Holding.objects.filter(pk=stock(1).pk).update(promised=2),
    "holding_a_position_holds_one_piece": lambda: Holding.objects.create(
        lot=stock().lot, place=BoardFactory().place, ref="R1", quantity=2
    ),
    "holding_a_position_holds_one_lot": position_with_two_lots,
    "movement_moves_something": lambda: line(quantity=0),
    "movement_a_reversal_names_what_it_reverses": lambda: line(kind="reverse"),
    "movement_only_a_lift_borrows": lambda: line(borrow=True),
    "movement_only_a_return_settles": lambda: line(settles=line(kind="lift", borrow=True)),
    "photo_shows_one_thing_or_nothing_named": lambda: Photo.objects.filter(pk=photo().pk).update(
        subject="lot"
    ),
    "photo_ref_is_on_a_board_or_a_design": lambda: Photo.objects.filter(pk=photo().pk).update(ref="R1"),
    "photo_side_is_the_whole_of_a_design": lambda: Photo.objects.filter(pk=photo().pk).update(side="top"),
    "attachment_is_of_a_part_or_of_a_design": lambda: Attachment.objects.filter(pk=attachment().pk).update(
        design=DesignFactory()
    ),
    "attachment_once_with_a_part": same_file_twice(PartFactory),
    "attachment_once_with_a_design": same_file_twice(DesignFactory),
    "api_call_key_is_unique_for_its_user": lambda: [
        ApiCall.objects.create(user=person, key="k", fingerprint="") for person in [PersonFactory()] * 2
    ],
    "job_priority_is_1_to_5": lambda: JobFactory(priority=6),
    "need_one_per_position_of_a_job": lambda: [NeedFactory(job=job, ref="R1") for job in [JobFactory()] * 2],
    "need_quantity_suits_its_position": lambda: NeedFactory(ref="R1", quantity=2),
    "need_is_promised_no_more_than_it_wants": lambda: NeedFactory(quantity=1, promised=1, fitted=1),
    "reservation_promises_something": lambda: Reservation.objects.create(
        need=NeedFactory(), holding=stock(), quantity=0
    ),
    "purchase_buys_something": lambda: Purchase.objects.create(part=PartFactory(), quantity=0),
    "purchase_price_is_not_negative": lambda: Purchase.objects.create(
        part=PartFactory(), quantity=1, price=-1
    ),
    "purchase_received_is_a_lot": lambda: Purchase.objects.create(
        part=PartFactory(), quantity=1, state="received"
    ),
    "trial_is_of_a_lot_or_of_a_board": lambda: Trial.objects.create(method="ohms", verdict="good"),
    "substitution_is_recorded_once_for_a_place": lambda: [
        SubstitutionFactory(design=design, ref="R1") for design in [DesignFactory()] * 2
    ],
    "substitution_is_recorded_once_for_anywhere": twice(SubstitutionFactory),
    "substitution_ref_is_on_a_design": lambda: SubstitutionFactory(ref="R1"),
    "substitution_of_crossed_legs_says_which": lambda: SubstitutionFactory(way="legs_crossed"),
    **OF_WHAT_IS_PROVEN,
    **OF_WHAT_IS_SHARED,
}


def guards() -> list[str]:
    """Every named constraint and unique column of our own models."""
    found = []
    for model in apps.get_models():
        if model._meta.app_label not in ("inventory", "repairs"):
            continue
        found += [constraint.name for constraint in model._meta.constraints]
        found += [
            f"{model._meta.model_name}.{field.name}"
            for field in model._meta.local_fields
            if field.unique and not field.primary_key
        ]
    return found


def test_the_database_is_the_one_that_was_named() -> None:
    named = os.environ.get("DATABASE_URL", "sqlite").partition(":")[0]
    assert connection.vendor == {"postgres": "postgresql", "postgresql": "postgresql"}.get(named, "sqlite")


def test_every_constraint_has_its_case() -> None:
    assert sorted(BROKEN) == sorted(guards())


@pytest.mark.parametrize("name", BROKEN)
def test_the_database_refuses(name: str) -> None:
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        BROKEN[name]()
    checks = {
        constraint.name
        for model in apps.get_models()
        for constraint in model._meta.constraints
        if isinstance(constraint, models.CheckConstraint)
    }
    if name in checks:
        assert name in str(refusal.value), "another guard refused first"


def test_a_movement_cannot_be_edited_or_deleted() -> None:
    here = stock()
    entry = Movement.objects.get(lot=here.lot)
    entry.quantity = 9
    for attempt in (
        entry.save, entry.delete, Movement.objects.all().delete, lambda: Movement.objects.update(quantity=9),
    ):  # fmt: skip
        with pytest.raises(LedgerIsAppendOnly):
            attempt()
    assert Movement.objects.get(lot=here.lot).quantity == 1


def test_pieces_that_have_a_history_cannot_be_deleted() -> None:
    here = stock()
    board = BoardFactory()
    for thing in (here.lot, here.lot.part, here.place, board.place):
        with pytest.raises(models.ProtectedError):
            thing.delete()
    assert Board.objects.filter(pk=board.pk).exists()
