"""What a failure proves: the two rules that save evenings (common practice, no source)."""

from hypothesis import given
from hypothesis import strategies as st

from repairs.proving.standing import LotTrial, PositionTrial, Unsettled, condition_of, settle, weigh
from repairs.proving.swaps import BASELINE, SUSPECT_IN, OutOfTurn, TriedStep, refuse_out_of_turn, results

OPEN_LINK = Unsettled("link", "LK1", "open")
WRONG_LINK = Unsettled("link", "LK1", "stop")


def test_a_failure_counts_once_what_was_open_proves_to_have_been_right() -> None:
    assert settle([OPEN_LINK], {("link", "LK1"): "open"}) == (OPEN_LINK,)
    assert settle([OPEN_LINK], {("link", "LK1"): "pass"}) == ()


def test_a_failure_under_a_wrong_link_never_counts_later() -> None:
    assert settle([WRONG_LINK], {("link", "LK1"): "pass"}) == (WRONG_LINK,)
    found_wrong = settle([OPEN_LINK], {("link", "LK1"): "stop"})
    assert settle(found_wrong, {("link", "LK1"): "pass"}) == (WRONG_LINK,)


def fails(
    trial: int, lot: int, *, good: bool = False, ref: str = "IC12", credible: bool = True
) -> PositionTrial:
    return PositionTrial(trial, lot, ref, passed=False, known_good=good, credible=credible)


def passes(trial: int, lot: int, ref: str = "IC12") -> PositionTrial:
    return PositionTrial(trial, lot, ref, passed=True, known_good=False)


def test_a_known_good_part_that_fails_too_acquits_the_suspect() -> None:
    found = weigh([fails(1, lot=5), fails(2, lot=9, good=True)])
    assert found.acquitted[1] == 2
    assert found.acquitted[2] == 1  # nor is the known good one held to be bad: the position is
    assert found.suspected == ("IC12",)


def test_the_order_of_the_two_does_not_matter() -> None:
    found = weigh([fails(1, lot=9, good=True), fails(2, lot=5)])
    assert set(found.acquitted) == {1, 2}


def test_a_failure_alone_stands() -> None:
    assert weigh([fails(1, lot=5)]).acquitted == {}
    assert weigh([fails(1, lot=5), fails(2, lot=6)]).acquitted == {}
    assert weigh([fails(1, lot=9, good=True), fails(2, lot=9, good=True)]).acquitted == {}


def test_another_position_acquits_nobody() -> None:
    assert weigh([fails(1, lot=5), fails(2, lot=9, good=True, ref="IC13")]).acquitted == {}


def test_a_pass_at_the_position_clears_it_and_what_fails_afterwards_stands() -> None:
    found = weigh([fails(1, lot=9, good=True), passes(2, lot=8), fails(3, lot=5)])
    assert found.acquitted == {}
    found = weigh([fails(1, lot=5), fails(2, lot=9, good=True), passes(3, lot=9), fails(4, lot=5)])
    assert set(found.acquitted) == {1, 2}
    assert found.suspected == ()


def test_a_failure_that_is_not_believed_acquits_none_that_is() -> None:
    assert weigh([fails(1, lot=5), fails(2, lot=9, good=True, credible=False)]).acquitted.get(1) is None


OUTCOMES = st.lists(
    st.builds(
        PositionTrial, trial=st.integers(), lot=st.integers(1, 3), ref=st.sampled_from(["IC1", "IC2"]),
        passed=st.booleans(),
        known_good=st.booleans(), credible=st.booleans(),
    ),
    max_size=12, unique_by=lambda outcome: outcome.trial,
)  # fmt: skip


@given(OUTCOMES)
def test_only_another_parts_failure_at_the_same_position_acquits(outcomes: list[PositionTrial]) -> None:
    by_trial = {outcome.trial: outcome for outcome in outcomes}
    for failed, explained_by in weigh(outcomes).acquitted.items():
        one, other = by_trial[failed], by_trial[explained_by]
        assert not one.passed
        assert not other.passed
        assert one.ref == other.ref
        assert one.lot != other.lot
        assert one.known_good or other.known_good
        between = outcomes[
            min(outcomes.index(one), outcomes.index(other)) : max(outcomes.index(one), outcomes.index(other))
        ]
        assert not any(each.passed and each.ref == one.ref for each in between)


# --- condition


def test_condition_follows_the_latest_trial_out_of_circuit() -> None:
    assert condition_of([LotTrial("good", False), LotTrial("faulty", False)]) == "faulty"
    assert condition_of([LotTrial("faulty", False), LotTrial("good", False)]) == "good"


def test_no_trial_in_circuit_condemns() -> None:
    assert condition_of([LotTrial("good", False), LotTrial("faulty", True)]) == "good"
    assert condition_of([LotTrial("faulty", True)]) is None


def test_what_stood_before_stands_again_after_an_acquittal() -> None:
    assert condition_of([LotTrial("faulty", False, acquitted=True, before="suspect")]) == "suspect"


def test_a_good_part_that_failed_at_a_suspected_position_is_tested_again() -> None:
    """Whatever is wrong at the position may have hurt it: common practice, no source."""
    failed = LotTrial("faulty", False, acquitted=True, before="good")
    assert condition_of([failed]) == "untested"
    assert condition_of([LotTrial("good", False), failed]) == "untested"
    assert condition_of([failed, LotTrial("good", False)]) == "good"
    assert condition_of([LotTrial("faulty", False, credible=False, before="good")]) == "good"
    assert condition_of([LotTrial("suspect", False), LotTrial("faulty", False, credible=False)]) == "suspect"


def test_an_inconclusive_trial_changes_nothing() -> None:
    assert condition_of([LotTrial("good", False), LotTrial("inconclusive", False)]) == "good"
    assert condition_of([LotTrial("inconclusive", False)]) is None


# --- swap tests

GOOD_BASELINE = TriedStep(BASELINE, True)


def refused(steps: list[TriedStep], what: str, **more: str) -> str:
    try:
        refuse_out_of_turn(steps, what, **more)
    except OutOfTurn as wrong:
        return wrong.code
    return ""


def test_the_baseline_comes_first() -> None:
    assert refused([], SUSPECT_IN) == "baseline_first"
    assert refused([], BASELINE) == ""
    assert refused([GOOD_BASELINE], SUSPECT_IN) == ""


def test_nothing_that_may_be_shorted_goes_into_a_good_board() -> None:
    assert refused([GOOD_BASELINE], SUSPECT_IN, maybe_shorted="its ohms were never taken") == "ohms_first"


def test_a_board_that_fails_its_baseline_is_no_fixture_any_more() -> None:
    assert refused([GOOD_BASELINE, TriedStep(BASELINE, False)], SUSPECT_IN) == "baseline_failed"


def test_a_row_of_chips_is_judged_between_two_baselines() -> None:
    steps = [
        GOOD_BASELINE,
        TriedStep(SUSPECT_IN, True, 5),
        GOOD_BASELINE,
        TriedStep(SUSPECT_IN, False, 6),
        GOOD_BASELINE,
    ]
    assert [(row.lot, row.verdict, row.settled) for row in results(steps)] == [
        (5, "good", True),
        (6, "faulty", True),
    ]


def test_without_the_baseline_after_nothing_is_reported() -> None:
    assert [row.verdict for row in results([GOOD_BASELINE, TriedStep(SUSPECT_IN, False, 6)])] == [
        "inconclusive"
    ]


def test_a_fixture_that_fails_afterwards_condemns_nobody() -> None:
    steps = [GOOD_BASELINE, TriedStep(SUSPECT_IN, False, 6), TriedStep(BASELINE, False)]
    assert [row.verdict for row in results(steps)] == ["inconclusive"]
