"""Ordering from the buy list: what is wanted turns into what is on order, and nothing is ordered twice."""

from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.ledger import Refused, spot_of
from inventory.models import Lot, Part
from inventory.spec import Spec
from repairs.answers.buy import OrderLine, order, to_buy
from repairs.models import Purchase
from repairs.purchases import receive
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    SubstitutionFactory,
    spec,
    stock,
)
from tests.parts import CAN, CAN_16, CHIP, priced

pytestmark = pytest.mark.django_db


def purchases() -> list[tuple[str, int]]:
    return [(each.state, each.quantity) for each in Purchase.objects.order_by("id")]


def test_the_price_of_a_piece_is_shown_for_whole_packs() -> None:
    priced(CAN, "0.30", pack_size=5)
    NeedFactory(of=CAN_16, quantity=4)
    NeedFactory(of=CAN, quantity=2)
    (item,) = to_buy().results
    assert (item.needed, item.packs, item.pieces, item.for_stock) == (6, 2, 10, 4)
    assert (item.price_each, item.price) == (Decimal("0.30"), Decimal("3.00"))


def test_what_is_free_or_on_order_is_not_bought() -> None:
    part = priced(CAN, "0.30")
    NeedFactory(of=CAN, quantity=4)
    stock(1, part=part)
    Purchase.objects.create(part=part, quantity=2, state="ordered")
    assert [item.needed for item in to_buy().results] == [1]


def test_what_falls_below_its_reorder_level_is_bought_up_to_it_and_ordered_once() -> None:
    part = priced(CAN, "0.30", pack_size=2)
    Part.objects.filter(pk=part.pk).update(reorder_at=10)
    stock(4, part=part)
    Purchase.objects.create(part=part, quantity=3, state="ordered")
    (item,) = to_buy().results
    assert (item.needed, item.restock, item.pieces, item.jobs) == (0, 3, 4, [])
    assert item.restock_text == "reorder at 10, 4 left in the drawers, 3 on order"
    assert to_buy(jobs=[JobFactory().pk]).results == []
    order([OrderLine(part, item.pieces)])
    assert to_buy().results == []


def test_what_jobs_lack_comes_on_top_of_the_reorder_level() -> None:
    part = priced(CAN, "0.30")
    Part.objects.filter(pk=part.pk).update(reorder_at=5)
    stock(1, part=part)
    NeedFactory(of=CAN, quantity=3)
    (item,) = to_buy().results
    assert (item.needed, item.restock, item.pieces) == (2, 5, 7)
    assert item.jobs_served.endswith("; reorder at 5, 0 left in the drawers")


def test_what_completes_a_job_soonest_comes_first() -> None:
    long, quick = JobFactory(priority=1), JobFactory(priority=5)
    for number in range(3):
        NeedFactory(job=long, of=spec("resistor", f"{number + 1}k"))
    NeedFactory(job=quick, of=CHIP)
    bought = to_buy()
    assert [item.completes for item in bought.results] == [[quick.pk], [], [], []]
    assert [(each.lines, each.jobs) for each in bought.completions] == [
        ([0], [quick.pk]), ([1, 2, 3], [long.pk]),
    ]  # fmt: skip


def test_what_is_ordered_was_wanted_before_and_is_not_doubled() -> None:
    part = priced(CAN, "0.30")
    NeedFactory(of=CAN, quantity=4)
    Purchase.objects.create(part=part, quantity=3, bought_from="Wren", price=Decimal("0.25"))
    assert [(item.needed, item.pieces, item.wanted) for item in to_buy().results] == [(4, 4, 3)]
    (made,) = order([OrderLine(part, 4, bought_from="Harbour Radio")])
    assert (made.state, made.quantity) == ("ordered", 4)
    assert (made.bought_from, made.price) == ("Harbour Radio", Decimal("0.25"))
    assert purchases() == [("ordered", 4)]
    assert to_buy().results == []


def test_of_what_is_wanted_the_rest_stays_wanted() -> None:
    part = priced(CAN, "0.30")
    Purchase.objects.create(part=part, quantity=2, note="for the tray")
    Purchase.objects.create(part=part, quantity=5)
    order([OrderLine(part, 4)])
    assert purchases() == [("ordered", 2), ("ordered", 2), ("wanted", 3)]


def test_a_second_press_orders_nothing() -> None:
    part = priced(CAN, "0.30")
    NeedFactory(of=CAN, quantity=4)
    order([OrderLine(part, 4)])
    with pytest.raises(Refused, match="ordered just now"):
        order([OrderLine(part, 4)])
    assert purchases() == [("ordered", 4)]


def test_another_part_that_serves_as_well_may_be_ordered() -> None:
    dear = priced(CAN, "0.30")
    NeedFactory(of=CAN_16, quantity=1)
    assert [item.part for item in to_buy().results] == [dear.pk]
    (made,) = order([OrderLine(PartFactory(of=CAN_16), 1)])
    assert made.state == "ordered"
    assert to_buy().results == []


def test_what_no_job_wants_is_not_ordered_from_the_list() -> None:
    NeedFactory(of=CHIP)
    with pytest.raises(Refused, match="not on the buy list"):
        order([OrderLine(PartFactory(of=CHIP), 1), OrderLine(priced(CAN, "0.30"), 1)])
    assert purchases() == []


# --- what people found out


def test_what_was_found_not_to_serve_is_not_bought_for_it() -> None:
    cheap = priced(CAN, "0.10")
    NeedFactory(of=CAN_16)
    assert [item.part for item in to_buy().results] == [cheap.pk]
    SubstitutionFactory(of=CAN_16, by_part=CAN, evidence="refuted")
    assert [(item.part, item.spec) for item in to_buy().results] == [(None, CAN_16)]
    with pytest.raises(Refused, match="not on the buy list"):
        order([OrderLine(cheap, 1)])


def test_what_was_seen_working_may_be_ordered_though_the_list_names_what_is_drawn() -> None:
    other = spec("resistor", "5k6")
    NeedFactory(of=spec("resistor", "4k7"))
    part = priced(other, "0.10")
    with pytest.raises(Refused, match="not on the buy list"):
        order([OrderLine(part, 1)])
    SubstitutionFactory(of=spec("resistor", "4k7"), by_part=other, evidence="seen_working")
    (item,) = to_buy().results
    assert (item.part, item.spec) == (None, spec("resistor", "4k7"))
    order([OrderLine(part, 1)])
    assert purchases() == [("ordered", 1)]


def test_what_was_found_out_on_one_design_is_bought_for_that_alone() -> None:
    here, elsewhere = (JobFactory(board=BoardFactory(design=DesignFactory())) for _ in range(2))
    cheap = priced(CAN, "0.10")
    for job in (here, elsewhere):
        NeedFactory(job=job, of=CAN_16, ref="C1")
    SubstitutionFactory(of=CAN_16, by_part=CAN, design=here.board.design, evidence="refuted")
    bought = {item.part: [share.job for share in item.jobs] for item in to_buy().results}
    assert bought == {cheap.pk: [elsewhere.pk], None: [here.pk]}


# --- what only needs an answer

K771 = Spec("transistor", number="K771", package="TO-92", traits={"polarity": "npn", "pin_order": "EBC"})
OF_THE_SHOP = Spec("transistor", number="K771", package="TO-92", traits={"polarity": "npn"})


def state_of_the_need() -> tuple[list[int], list[str]]:
    """Pieces on the buy list, and the questions beside it."""
    answer = to_buy()
    return [line.needed for line in answer.results], [each.question for each in answer.questions]


def test_what_was_ordered_and_came_is_not_ordered_again_while_it_waits_for_a_question() -> None:
    NeedFactory(of=K771)
    part = PartFactory(of=OF_THE_SHOP)
    assert state_of_the_need() == ([1], [])
    [purchase] = order([OrderLine(PartFactory(of=K771), 1)])
    Purchase.objects.filter(pk=purchase.pk).update(part=part)  # what the shop has says nothing of its legs
    assert state_of_the_need() == ([], ["test the legs of what is on order"])
    came = receive(purchase, spot_of(PlaceFactory()), by=None)
    assert state_of_the_need() == ([], [f"test the legs of lot {came.lot_id}"])
    with_legs = PartFactory(of=K771)
    Lot.objects.filter(pk=came.lot_id).update(part=with_legs)  # tested: E, B, C
    assert state_of_the_need() == ([], [])


def test_what_no_question_would_fill_is_bought_all_the_same() -> None:
    NeedFactory(of=CAN, quantity=3)
    stock(1, part=PartFactory(of=replace(CAN, volts=None)))
    stock(5, part=PartFactory(of=CAN_16))
    assert [line.needed for line in to_buy().results] == [2]
    assert to_buy().totals.ask == 1
