"""Why a need was given this piece and not that one."""

from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.spec import Spec
from repairs.planning import Demand, Supply, Tier
from repairs.planning.why import why

R = Spec(
    "resistor", value=4700 * 10**6, watts=Decimal("0.25"), tolerance_percent=Decimal(5), lead_style="axial"
)
R_HALF_WATT = replace(R, watts=Decimal("0.5"))


def test_the_piece_that_a_need_would_have_had_went_to_the_job_before_it() -> None:
    demands = [Demand(1, R, 1, "urgent", priority=1), Demand(2, R, 1, "later", priority=3)]
    found = why(2, demands, [Supply("only", R, 1, Tier.DRAWER)])
    assert (found.given, found.short, found.if_first) == ((), 1, 0)
    ((supply, other, first),) = [(e.supply, e.demand.job, e.first_in_line) for e in found.elsewhere]
    assert (supply, other, first) == ("only", "urgent", True)


def test_a_need_steps_back_where_a_later_one_has_no_other_piece() -> None:
    demands = [Demand(1, R, 1, "plain", priority=1), Demand(2, R_HALF_WATT, 1, "hot", priority=5)]
    supplies = [Supply("half", R_HALF_WATT, 1, Tier.DRAWER), Supply("quarter", R, 1, Tier.DONOR)]
    found = why(1, demands, supplies)
    assert [take.supply for take in found.given] == ["quarter"]
    assert [take.supply for take in found.by_itself] == ["half"]
    assert [(each.demand.job, each.first_in_line) for each in found.elsewhere] == [("hot", False)]


def test_what_would_help_is_named() -> None:
    supplies = [Supply("lent", R, 1, Tier.BORROW), Supply("doubtful", R, 1, Tier.DRAWER, "suspect")]
    found = why(1, [Demand(1, R, 1, "A")], supplies)
    assert (found.short, found.if_first, found.if_borrowing) == (1, 1, 0)
    assert [(miss.supply, miss.settled_by) for miss in found.refused] == [("doubtful", "test"), ("lent", "")]


def test_a_need_that_is_served_best_has_lost_nothing() -> None:
    found = why(1, [Demand(1, R, 1, "A")], [Supply("piece", R, 1, Tier.DRAWER)])
    assert found.given == found.by_itself
    assert (found.elsewhere, found.refused, found.short) == ((), (), 0)


def test_an_unknown_need_is_refused() -> None:
    with pytest.raises(KeyError):
        why(2, [Demand(1, R, 1, "A")], [])
