"""What is somebody's own is planned for that person's jobs alone; else the plan is as good as can be."""

from collections import Counter

from repairs.planning import Demand, Supply, Tier, plan
from tests.examples import examples
from tests.planning.benches import as_drawn, as_pairs, scatter
from tests.planning.referees import by_programming, by_trying_everything, objective
from tests.planning.test_optimiser import R_HALF_WATT, R

PEOPLE = ("merle", "wren")


def test_no_plan_that_leaves_what_is_others_alone_is_better() -> None:
    for seed in range(examples(60, 200)):
        demands, supplies = scatter(seed, demands=8, supplies=10, people=PEOPLE)
        choices = {"allow_ask": seed % 3 == 0, "borrow": seed % 2 == 0}
        pairs = as_pairs(demands, supplies, **choices)
        result = plan(demands, supplies, **choices)
        assert objective(*pairs, as_drawn(result, demands, supplies)) == by_programming(*pairs), seed
        whose = {supply.id: supply.owner for supply in supplies}
        job_of = {demand.id: demand.owner for demand in demands}
        for take in (*result.takes, *result.asked):
            assert whose[take.supply] in (None, job_of[take.demand]), seed


def test_nor_is_any_plan_at_all_on_a_tiny_bench() -> None:
    for seed in range(100):
        demands, supplies = scatter(seed, demands=3, supplies=3, pieces=2, people=PEOPLE)
        pairs = as_pairs(demands, supplies, allow_ask=True, borrow=True)
        result = plan(demands, supplies, allow_ask=True, borrow=True)
        assert objective(*pairs, as_drawn(result, demands, supplies)) == by_trying_everything(*pairs), seed


def test_ones_own_and_what_is_everybodys_serve_and_what_is_anothers_is_a_near_miss() -> None:
    mine, open_to_all = Demand("mine", R, 2, "A", owner="merle"), Demand("ours", R, 2, "B")
    held = [
        Supply("hers", R, 3, Tier.DRAWER, owner="merle"), Supply("his", R, 5, Tier.DRAWER, owner="wren"),
        Supply("shared", R_HALF_WATT, 1, Tier.DRAWER),
    ]  # fmt: skip
    result = plan([mine, open_to_all], held)
    assert Counter({(t.demand, t.supply): t.quantity for t in result.takes}) == {
        ("mine", "hers"): 2, ("ours", "shared"): 1,
    }  # fmt: skip
    assert result.short == {"ours": 1}
    named = {miss.supply: (miss.fit.grade, miss.fit.reasons[0].property) for miss in result.refused["ours"]}
    assert named == {"hers": ("ask", "owner"), "his": ("ask", "owner")}
    assert result.asked == (), "no test and no look makes it everybody's"


def test_where_nothing_is_anybodys_whose_a_job_is_makes_no_difference() -> None:
    for seed in range(30):
        demands, supplies = scatter(seed, demands=8, supplies=10)
        owned = [demand._replace(owner=PEOPLE[demand.job % 2]) for demand in demands]
        assert plan(owned, supplies) == plan(demands, supplies), seed
