"""Plans are the best there are, aim by aim, with the bench's own judge."""

import random
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.spec import Recorded, Spec, SubstitutionRecord
from repairs.planning import Demand, Plan, Supply, Tier, plan
from tests.examples import examples
from tests.planning.benches import as_drawn, as_pairs, scatter
from tests.planning.referees import by_programming, by_trying_everything, objective

R = Spec(
    "resistor", value=4700 * 10**6, watts=Decimal("0.25"), tolerance_percent=Decimal(5), lead_style="axial"
)
R_HALF_WATT = replace(R, watts=Decimal("0.5"))
R_ONE_WATT = replace(R, watts=Decimal(1))
R_FINE, R_LOOSE = (replace(R, tolerance_percent=Decimal(percent)) for percent in (1, 10))
R_UNKNOWN_WATTS = replace(R, watts=None)


def given_to(result: Plan) -> dict[object, Counter[object]]:
    """Demand id -> supply id -> pieces."""
    pieces: dict[object, Counter[object]] = {}
    for take in result.takes:
        pieces.setdefault(take.demand, Counter())[take.supply] += take.quantity
    return pieces


def test_an_exact_part_on_a_donor_comes_before_one_to_be_measured_in_a_drawer() -> None:
    """A looser part is asked about until it is measured: no walk to the drawer saves that."""
    wanted = Demand("need", R_FINE, 1, "job")
    loose = Supply("drawer", R_LOOSE, 1, Tier.DRAWER)
    exact = Supply("donor", R_FINE, 1, Tier.DONOR)
    lent = exact._replace(id="lent", tier=Tier.BORROW)
    [take] = plan([wanted], [loose, exact, lent], allow_ask=True, borrow=True).takes
    assert (take.supply, take.fit.grade) == ("donor", "same")
    [take] = plan([wanted], [loose, lent], allow_ask=True, borrow=True).takes
    assert (take.supply, take.fit.grade) == ("drawer", "ask")  # a working board stays whole
    [take] = plan([wanted], [loose._replace(measured=4690 * 10**6), exact], allow_ask=True).takes
    assert (take.supply, take.fit.grade) == ("drawer", "with_note")
    bare = loose._replace(id="bare", spec=Spec("resistor", value=R.value))  # nothing else is known of it
    assert [take.supply for take in plan([wanted], [bare, loose]).asked] == ["drawer"]
    [take] = plan([wanted], [bare, loose], allow_ask=True).takes
    assert take.supply == "drawer"
    more = [loose._replace(id="far", tier=Tier.DONOR), loose]
    [take] = plan([wanted], more, allow_ask=True).takes
    assert take.supply == "drawer"


# ── Against referees ─────────────────────────────────────────────────────────────────────────────


def test_no_plan_found_by_programming_is_better_in_any_aim() -> None:
    for seed in range(examples(90, 500)):
        demands, supplies = scatter(seed, demands=8, supplies=10)
        choices = {"allow_ask": seed % 3 == 0, "borrow": seed % 2 == 0}
        pairs = as_pairs(demands, supplies, **choices)
        result = plan(demands, supplies, **choices)
        assert objective(*pairs, as_drawn(result, demands, supplies)) == by_programming(*pairs), seed


def test_no_plan_at_all_is_better_on_a_tiny_bench() -> None:
    for seed in range(examples(300, 500)):
        demands, supplies = scatter(seed, demands=3, supplies=3, pieces=2)
        pairs = as_pairs(demands, supplies, allow_ask=True, borrow=True)
        result = plan(demands, supplies, allow_ask=True, borrow=True)
        assert objective(*pairs, as_drawn(result, demands, supplies)) == by_trying_everything(*pairs), seed


# ── The order of the aims ────────────────────────────────────────────────────────────────────────


def test_the_urgent_job_gets_the_last_piece() -> None:
    demands = [Demand("later", R, 1, "A", priority=2), Demand("urgent", R, 1, "B", priority=1)]
    result = plan(demands, [Supply("only", R, 1, Tier.DRAWER)])
    assert given_to(result) == {"urgent": {"only": 1}}
    assert result.short == {"later": 1}


def test_of_equal_priority_the_earlier_date_comes_first_and_none_last() -> None:
    demands = [
        Demand("whenever", R, 1, "A"),
        Demand("tuesday", R, 1, "B", due=date(2026, 3, 3)),
        Demand("monday", R, 1, "C", due=date(2026, 3, 2)),
    ]
    result = plan(demands, [Supply("pair", R, 2, Tier.DRAWER)])
    assert result.short == {"whenever": 1}


def test_of_equal_dates_the_lower_job_comes_first() -> None:
    result = plan([Demand(1, R, 1, job=7), Demand(2, R, 1, job=3)], [Supply("only", R, 1, Tier.DRAWER)])
    assert result.short == {1: 1}


def test_a_worse_piece_at_hand_goes_before_a_better_one_farther_off() -> None:
    supplies = [Supply("like", R, 1, Tier.DONOR), Supply("larger", R_ONE_WATT, 1, Tier.DRAWER)]
    result = plan([Demand("need", R, 1, "A")], supplies)
    assert given_to(result) == {"need": {"larger": 1}}


def test_the_scarce_better_part_is_kept_for_the_need_that_has_no_other() -> None:
    demands = [Demand("plain", R, 1, "A", priority=1), Demand("hot", R_HALF_WATT, 1, "B", priority=5)]
    supplies = [Supply("half", R_HALF_WATT, 1, Tier.DRAWER), Supply("quarter", R, 1, Tier.DONOR)]
    result = plan(demands, supplies)
    assert given_to(result) == {"plain": {"quarter": 1}, "hot": {"half": 1}}


def test_a_like_piece_goes_before_one_that_exceeds_the_need() -> None:
    supplies = [Supply("half", R_HALF_WATT, 1, Tier.DRAWER), Supply("quarter", R, 1, Tier.DRAWER)]
    assert given_to(plan([Demand("need", R, 1, "A")], supplies)) == {"need": {"quarter": 1}}


def test_the_first_in_line_gets_the_piece_that_is_nearer() -> None:
    demands = [Demand("later", R, 1, "A", priority=2), Demand("urgent", R, 1, "B", priority=1)]
    supplies = [Supply("donor", R, 1, Tier.DONOR), Supply("drawer", R, 1, Tier.DRAWER)]
    assert given_to(plan(demands, supplies)) == {"urgent": {"drawer": 1}, "later": {"donor": 1}}


def test_the_first_in_line_gets_the_piece_that_fits_better() -> None:
    demands = [Demand("later", R, 1, "A", priority=2), Demand("urgent", R, 1, "B", priority=1)]
    tighter = replace(R, tolerance_percent=Decimal(1))
    supplies = [Supply("tighter", tighter, 1, Tier.DRAWER), Supply("like", R, 1, Tier.DRAWER)]
    assert given_to(plan(demands, supplies)) == {"urgent": {"like": 1}, "later": {"tighter": 1}}


def test_tested_pieces_are_used_before_untested_ones() -> None:
    supplies = [Supply(1, R, 1, Tier.DRAWER, "untested"), Supply(2, R, 1, Tier.DRAWER, "good")]
    assert given_to(plan([Demand("need", R, 1, "A")], supplies)) == {"need": {2: 1}}


# ── What is not planned ──────────────────────────────────────────────────────────────────────────


def test_a_faulty_piece_is_never_offered() -> None:
    result = plan([Demand("need", R, 1, "A")], [Supply("dead", R, 5, Tier.DRAWER, "faulty")], allow_ask=True)
    assert result == Plan((), {"need": 1}, {"need": ()})


def test_what_a_question_would_fill_is_named_and_not_to_be_bought() -> None:
    demands = [Demand("first", R, 2, "A", priority=1), Demand("second", R, 2, "B", priority=2)]
    supplies = [
        Supply("good", R, 1, Tier.DRAWER),
        Supply("doubtful", R, 1, Tier.DRAWER, "suspect"),
        Supply("unmarked", R_UNKNOWN_WATTS, 1, Tier.DONOR),
    ]
    result = plan(demands, supplies)
    assert given_to(result) == {"first": {"good": 1}}
    assert [(take.demand, take.supply, take.quantity) for take in result.asked] == [
        ("first", "doubtful", 1), ("second", "unmarked", 1),
    ]  # fmt: skip
    assert [(demand.id, demand.quantity) for demand in result.to_buy(demands)] == [("second", 1)]
    assert [(demand.id, demand.quantity) for demand in result.lacking(demands)] == [
        ("first", 1),
        ("second", 2),
    ]


def test_nothing_is_asked_of_what_a_person_must_judge_or_nobody_may_lift() -> None:
    surge = replace(R, traits={"technology": "carbon_composition", "use": "surge"})
    film = replace(R, traits={"technology": "carbon_film"})
    (miss,) = plan([Demand("need", surge, 1, "A")], [Supply("film", film, 1, Tier.DRAWER)]).refused["need"]
    assert (miss.fit.grade, miss.settled_by) == ("ask", "")
    for supply in (
        Supply("film", film, 1, Tier.DRAWER),
        Supply("barred", R_UNKNOWN_WATTS, 1, Tier.DONOR, blocked=True),
        Supply("lent", R_UNKNOWN_WATTS, 1, Tier.BORROW),
    ):
        assert plan([Demand("need", surge if supply.id == "film" else R, 1, "A")], [supply]).asked == ()


def test_a_question_never_costs_a_piece_nor_counts_one_twice() -> None:
    for seed in range(100):
        demands, supplies = scatter(seed, demands=8, supplies=10)
        result = plan(demands, supplies)
        used: Counter[object] = Counter()
        asked: Counter[object] = Counter()
        for take in (*result.takes, *result.asked):
            used[take.supply] += take.quantity
        assert all(used[supply.id] <= supply.quantity for supply in supplies), seed
        for take in result.asked:
            assert take.fit.grade == "ask", seed
            assert take.fit.questions, seed
            asked[take.demand] += take.quantity
        assert all(asked[demand] <= result.short[demand] for demand in asked), seed
        left = {demand.id: demand.quantity for demand in result.to_buy(demands)}
        assert left == {name: n - asked[name] for name, n in result.short.items() if n > asked[name]}, seed


def test_a_suspect_piece_is_a_near_miss_that_a_test_would_settle() -> None:
    supplies = [Supply("doubtful", R, 1, Tier.DRAWER, "suspect")]
    result = plan([Demand("need", R, 1, "A")], supplies)
    (miss,) = result.refused["need"]
    assert (miss.supply, miss.fit.grade, miss.settled_by) == ("doubtful", "ask", "test")
    assert given_to(plan([Demand("need", R, 1, "A")], supplies, allow_ask=True)) == {"need": {"doubtful": 1}}


def test_a_piece_of_unknown_rating_is_a_near_miss_that_a_closer_look_would_settle() -> None:
    supplies = [Supply("unmarked", R_UNKNOWN_WATTS, 1, Tier.DRAWER)]
    (miss,) = plan([Demand("need", R, 1, "A")], supplies).refused["need"]
    assert (miss.supply, miss.fit.grade, miss.settled_by) == ("unmarked", "ask", "look")


def test_nothing_settles_what_is_refused() -> None:
    (miss,) = plan([Demand("hot", R_ONE_WATT, 1, "A")], [Supply("small", R, 1, Tier.DRAWER)]).refused["hot"]
    assert (miss.fit.grade, miss.settled_by) == ("no", "")


def test_the_question_comes_before_the_refusal_among_near_misses() -> None:
    supplies = [Supply("small", R, 1, Tier.DRAWER), Supply("unmarked", R_UNKNOWN_WATTS, 1, Tier.DONOR)]
    result = plan([Demand("hot", R_ONE_WATT, 1, "A")], supplies)
    assert [miss.supply for miss in result.refused["hot"]] == ["unmarked", "small"]


def test_a_refusal_that_a_look_may_lift_comes_before_one_that_nothing_does() -> None:
    place = Spec("fuse", amps=Decimal(1), volts=Decimal(250), traits={"speed": "slow"})
    fast, unmarked = replace(place, traits={"speed": "fast"}), replace(place, traits={})
    supplies = [Supply("fast", fast, 1, Tier.DRAWER), Supply("unmarked", unmarked, 1, Tier.DONOR)]
    result = plan([Demand("F1", place, 1, "A")], supplies)
    assert [(miss.supply, miss.settled_by) for miss in result.refused["F1"]] == [
        ("unmarked", "look"),
        ("fast", ""),
    ]


def test_a_led_is_no_near_miss_for_a_zener() -> None:
    zener = Spec("diode", number="BZX79C12", traits={"function": "zener", "zener_volts": 12})
    supplies = [
        Supply("led", Spec("diode", number="LED green", traits={"function": "led"}), 1, Tier.DRAWER),
        Supply(
            "15 V",
            replace(zener, number="BZX79C15", traits={**zener.traits, "zener_volts": 15}),
            1,
            Tier.DRAWER,
        ),
    ]
    result = plan([Demand("D1", zener, 1, "A")], supplies)
    assert [miss.supply for miss in result.refused["D1"]] == ["15 V"]


def test_no_more_near_misses_are_named_than_asked_for() -> None:
    supplies = [Supply(n, replace(R, make=f"M{n}"), 1, Tier.DRAWER) for n in range(9)]
    demands = [Demand("hot", R_ONE_WATT, 1, "A")]
    assert len(plan(demands, supplies).refused["hot"]) == 3
    assert len(plan(demands, supplies, misses=5).refused["hot"]) == 5


def test_what_went_to_another_job_is_no_near_miss() -> None:
    demands = [Demand("plain", R, 1, "A"), Demand("hot", R_ONE_WATT, 1, "B")]
    assert plan(demands, [Supply("quarter", R, 1, Tier.DRAWER)]).refused["hot"] == ()


def test_a_working_board_is_drawn_on_only_when_asked() -> None:
    demands, supplies = [Demand("need", R, 1, "A")], [Supply("lent", R, 1, Tier.BORROW)]
    refused = plan(demands, supplies, allow_ask=True)
    assert refused.short == {"need": 1}
    assert [
        reason.property for reason in refused.refused["need"][0].fit.reasons if reason.grade == "ask"
    ] == ["tier"]
    assert given_to(plan(demands, supplies, borrow=True)) == {"need": {"lent": 1}}


# ── Recorded substitutions ───────────────────────────────────────────────────────────────────────

OTHER = replace(R, value=5600 * 10**6)


def test_a_substitution_proven_at_a_position_holds_there_and_nowhere_else() -> None:
    demands = [Demand("here", R, 1, "A", at=("board", "R1")), Demand("there", R, 1, "A", at=("board", "R2"))]
    recorded = Recorded([SubstitutionRecord(1, R, OTHER, "board", "R1", "soak_test")])
    result = plan(demands, [Supply("odd", OTHER, 2, Tier.DRAWER)], recorded=recorded)
    assert given_to(result) == {"here": {"odd": 1}}
    assert result.takes[0].fit.grade == "with_note"


def test_a_substitution_refuted_at_a_position_is_never_offered_there_again() -> None:
    demands = [Demand("here", R, 1, "A", at=("board", "R1")), Demand("there", R, 1, "A", at=("board", "R2"))]
    recorded = Recorded([SubstitutionRecord(1, R, R, "board", "R1", "refuted")])
    result = plan(demands, [Supply("pair", R, 2, Tier.DRAWER)], recorded=recorded)
    assert given_to(result) == {"there": {"pair": 1}}
    assert [reason.property for reason in result.refused["here"][0].fit.reasons] == ["substitution"]


def test_a_substitution_of_no_design_holds_for_loose_needs_too() -> None:
    recorded = Recorded([SubstitutionRecord(1, R, OTHER, evidence="seen_working")])
    result = plan([Demand("loose", R, 1, "A")], [Supply("odd", OTHER, 1, Tier.DRAWER)], recorded=recorded)
    assert given_to(result) == {"loose": {"odd": 1}}


def test_what_the_plan_does_not_take_is_spare() -> None:
    supplies = [
        Supply("all", R, 2, Tier.DRAWER),
        Supply("some", R, 3, Tier.DONOR),
        Supply("none", OTHER, 1, Tier.DRAWER),
    ]
    spare = plan([Demand("need", R, 4, "A")], supplies).spare(supplies)
    assert [(supply.id, supply.quantity) for supply in spare] == [("some", 1), ("none", 1)]


# ── What is refused ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("demands", "supplies"),
    [
        ([Demand(1, R, -1, "A")], []),
        ([], [Supply(1, R, -1, Tier.DRAWER)]),
        ([], [Supply(1, R, 1, Tier.DRAWER, "new")]),
        ([Demand(1, R, 1, "A"), Demand(1, R, 1, "B")], []),
        ([], [Supply(1, R, 1, Tier.DRAWER), Supply(1, R, 1, Tier.DONOR)]),
    ],
)
def test_what_no_bench_can_hold_is_refused(demands: list[Demand], supplies: list[Supply]) -> None:
    with pytest.raises(ValueError, match="1: "):
        plan(demands, supplies)


# ── Stability ────────────────────────────────────────────────────────────────────────────────────

seeds = st.integers(0, 10**9)


def filled_by_job(demands: list[Demand], result: Plan) -> list[tuple[object, int]]:
    """(job, pieces filled) from the first in line."""
    filled: Counter[object] = Counter()
    for demand in sorted(demands, key=lambda demand: demand.rank):
        filled[demand.job] += demand.quantity - result.short.get(demand.id, 0)
    return list(filled.items())


@given(seeds)
@settings(max_examples=150, deadline=None)
def test_more_stock_never_leaves_any_job_with_fewer_pieces(seed: int) -> None:
    demands, supplies = scatter(seed, demands=8, supplies=10)
    before = dict(filled_by_job(demands, plan(demands, supplies[:-3])))
    after = dict(filled_by_job(demands, plan(demands, supplies)))
    assert all(after[job] >= filled for job, filled in before.items())


@given(seeds)
@settings(max_examples=150, deadline=None)
def test_a_job_at_the_end_of_the_line_takes_nothing_from_those_before_it(seed: int) -> None:
    demands, supplies = scatter(seed, demands=8, supplies=10)
    last = [demand._replace(id=100 + demand.id, job=99, priority=5, due=None) for demand in demands[:4]]
    before = filled_by_job(demands, plan(demands, supplies))
    after = filled_by_job([*demands, *last], plan([*demands, *last], supplies))
    assert after[: len(before)] == before


@given(seeds)
@settings(max_examples=100, deadline=None)
def test_the_order_in_which_things_are_listed_makes_no_difference(seed: int) -> None:
    demands, supplies = scatter(seed, demands=8, supplies=10)
    as_listed = plan(demands, supplies, allow_ask=True)
    dice = random.Random(seed)
    dice.shuffle(demands)
    dice.shuffle(supplies)
    assert plan(demands, supplies, allow_ask=True) == as_listed


@given(seeds)
@settings(max_examples=100, deadline=None)
def test_every_wanted_piece_is_either_taken_or_short(seed: int) -> None:
    demands, supplies = scatter(seed, demands=8, supplies=10)
    result = plan(demands, supplies, borrow=True)
    taken = Counter({demand: sum(pieces.values()) for demand, pieces in given_to(result).items()})
    for demand in demands:
        assert taken[demand.id] + result.short.get(demand.id, 0) == demand.quantity
    drawn: Counter[object] = Counter()
    for take in result.takes:
        drawn[take.supply] += take.quantity
    assert all(drawn[supply.id] <= supply.quantity for supply in supplies)


def test_what_sits_where_nobody_may_work_is_never_planned_but_named() -> None:
    supplies = [Supply("oven", R, 1, Tier.DONOR, blocked=True), Supply("far", R, 1, Tier.ON_ORDER)]
    result = plan([Demand("need", R, 2, "A")], supplies, allow_ask=True, borrow=True)
    assert given_to(result) == {"need": {"far": 1}}
    [refusal] = result.refused["need"]
    assert (refusal.supply, refusal.fit.grade, refusal.settled_by) == ("oven", "no", "")
    assert refusal.fit.reasons[0].property == "hazards"
