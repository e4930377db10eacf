"""What would change under an assumption; nothing is stored, nobody is deceived."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.spec import Spec
from repairs.planning import Demand, Supply, Tier, plan
from repairs.planning.what_if import (
    AssumedPurchase,
    Assumption,
    Borrow,
    JobChange,
    Park,
    Prioritise,
    Strip,
    what_if,
)
from tests.planning.benches import scatter

R = Spec("resistor", value=4700 * 10**6, watts=Decimal("0.25"), lead_style="axial")
ONE_EACH = [Demand(1, R, 1, "urgent", priority=1), Demand(2, R, 1, "later", priority=3)]
ONE_PIECE = [Supply(1, R, 1, Tier.DRAWER)]


def test_parking_a_job_frees_its_pieces_for_the_next() -> None:
    found = what_if(ONE_EACH, ONE_PIECE, [Park("urgent")])
    assert found.completed == ("later",)
    assert found.now.short == {2: 1}
    assert found.then.short == {}


def test_a_parked_job_is_shown_as_waiting_not_as_complete() -> None:
    found = what_if(ONE_EACH, ONE_PIECE, [Park("later")])
    assert found.changes == (JobChange("later", 1, None),)
    assert found.completed == ()


def test_a_higher_priority_for_one_job_is_a_loss_for_another() -> None:
    found = what_if(ONE_EACH, ONE_PIECE, [Prioritise("urgent", 5)])
    assert (found.completed, found.worse_off) == (("later",), ("urgent",))


def test_borrowing_and_buying_complete_the_job_that_waits() -> None:
    lent = [*ONE_PIECE, Supply(2, R, 1, Tier.BORROW)]
    assert what_if(ONE_EACH, lent, [Borrow()]).completed == ("later",)
    bought = what_if(ONE_EACH, ONE_PIECE, [AssumedPurchase(R, 1)])
    assert bought.completed == ("later",)
    assert {take.tier for take in bought.then.takes} == {Tier.DRAWER, Tier.ON_ORDER}


def test_what_is_bought_joins_what_is_on_order_already() -> None:
    ordered = [Supply((2, 7), R, 1, Tier.ON_ORDER)]
    demands = [ONE_EACH[0]._replace(quantity=2)]
    assert what_if(demands, ordered, [AssumedPurchase(R, 1)]).completed == ("urgent",)


def test_stripping_a_donor_fills_the_drawers_and_finds_nothing_new() -> None:
    donor = [Supply(1, R, 3, Tier.DONOR)]
    found = what_if(ONE_EACH, donor, [Strip({1: 2})])
    assert found.changes == ()
    assert [(take.tier, take.quantity) for take in found.then.takes] == [(Tier.DRAWER, 1), (Tier.DRAWER, 1)]


def test_assumptions_add_up() -> None:
    found = what_if(ONE_EACH, [], [AssumedPurchase(R, 1), Park("urgent")])
    assert found.completed == ("later",)


@pytest.mark.parametrize(
    ("assumption", "sent"),
    [
        (Park("nobody"), "not a job"),
        (Prioritise("nobody", 1), "not a job"),
        (Prioritise("later", 6), "from 1 to 5"),
        (AssumedPurchase(R, 0), "at least one"),
        (Strip({1: 1}), "not on a donor"),
        (Strip({9: 1}), "no supply"),
    ],
)
def test_what_cannot_be_assumed_is_refused(assumption: Assumption, sent: str) -> None:
    with pytest.raises(ValueError, match=sent):
        what_if(ONE_EACH, ONE_PIECE, [assumption])


def test_no_more_is_stripped_than_is_there() -> None:
    with pytest.raises(ValueError, match="2 to strip of 1"):
        what_if(ONE_EACH, [Supply(1, R, 1, Tier.DONOR)], [Strip({1: 2})])


@given(st.integers(0, 10**9))
@settings(max_examples=60, deadline=None)
def test_assuming_nothing_changes_nothing_and_buying_harms_nobody_first_in_line(seed: int) -> None:
    demands, supplies = scatter(seed, demands=6, supplies=6)
    assert what_if(demands, supplies, []).changes == ()
    first = min(demands, key=lambda demand: demand.rank)
    found = what_if(demands, supplies, [AssumedPurchase(first.spec, first.quantity)])
    assert first.job not in found.worse_off
    assert found.now == plan(demands, supplies)
