"""What people found out of a substitution, and what the judge makes of it (common practice, no source)."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.spec import GRADES, Recorded, Spec, SubstitutionRecord, fits, is_safety_part
from inventory.spec.recorded import EVIDENCE, WAYS
from tests.spec.strategies import near_pairs

WANTED = Spec("transistor", number="2N3904", traits={"pin_order": "E-B-C"})
OFFERED = Spec("transistor", number="BC547", traits={"pin_order": "C-B-E"})
LESS_VOLTS = Spec("capacitor", value=10**8, volts=Decimal(16), dielectric="film")
VOLTS = Spec("capacitor", value=10**8, volts=Decimal(25), dielectric="film")


def record(required: Spec, offered: Spec, evidence: str, **more: Any) -> SubstitutionRecord:
    return SubstitutionRecord(1, required, offered, evidence=evidence, **more)


@pytest.mark.parametrize(
    ("evidence", "question", "refusal"),
    [
        ("soak_test", "with_note", "with_note"),
        ("seen_working", "with_note", "with_note"),
        ("data_sheet", "with_note", "no"),  # reading settles what was not known, not what is too little
        ("listed", "ask", "no"),  # lists mix relatives with equivalents: a 7905 for a 7805
        ("refuted", "no", "no"),
    ],
)
def test_better_evidence_lifts_more(evidence: str, question: str, refusal: str) -> None:
    assert fits(WANTED, OFFERED).grade == "ask"
    assert fits(WANTED, OFFERED, recorded=record(WANTED, OFFERED, evidence)).grade == question
    assert fits(VOLTS, LESS_VOLTS).grade == "no"
    assert fits(VOLTS, LESS_VOLTS, recorded=record(VOLTS, LESS_VOLTS, evidence)).grade == refusal


def test_what_is_only_listed_does_not_make_a_good_part_doubtful() -> None:
    assert fits(LESS_VOLTS, VOLTS, recorded=record(LESS_VOLTS, VOLTS, "listed")) == fits(LESS_VOLTS, VOLTS)


def test_the_reason_says_how_the_legs_go_and_who_says_so() -> None:
    answer = record(WANTED, OFFERED, "seen_working", way="legs_crossed", pin_map="E=C, C=E", by="robin")
    [reason] = [r for r in fits(WANTED, OFFERED, recorded=answer).reasons if r.property == "substitution"]
    assert reason.rule == "seen working (robin); legs crossed E=C, C=E"


@pytest.mark.parametrize("evidence", ["soak_test", "data_sheet"])
def test_no_record_makes_a_safety_part_of_an_ordinary_one(evidence: str) -> None:
    y2 = Spec("capacitor", value=10**6, volts=Decimal(250), safety_class="y2")
    ordinary = Spec("capacitor", value=10**6, volts=Decimal(400))
    assert fits(y2, ordinary, recorded=record(y2, ordinary, evidence)).grade == "no"


def test_a_record_says_nothing_of_a_piece_that_has_drifted() -> None:
    wanted = Spec("resistor", value=10**9, tolerance_percent=Decimal(5))
    other = Spec("resistor", value=11 * 10**8, tolerance_percent=Decimal(5))
    answer = record(wanted, other, "soak_test")
    assert fits(wanted, other, recorded=answer).grade == "with_note"
    assert fits(wanted, other, measured=2 * 10**9, recorded=answer).grade == "no"


def test_a_place_that_takes_nothing_else_takes_no_substitute() -> None:
    only = Spec("transistor", number="2N3904", traits={"pin_order": "E-B-C", "exact": ["number"]})
    assert fits(only, OFFERED, recorded=record(only, OFFERED, "soak_test")).grade == "no"


def test_a_record_holds_of_all_that_has_what_it_says() -> None:
    by_number = record(Spec("transistor", number="2n3904"), Spec("transistor", number="BC 547"), "data_sheet")
    recorded = Recorded([by_number])
    assert recorded.find(WANTED, OFFERED) == by_number
    assert recorded.find(WANTED, Spec("transistor", number="BC548")) is None
    assert recorded.find(Spec("transistor", number="2N2222"), OFFERED) is None
    assert recorded.find(Spec("ic", number="2N3904"), OFFERED) is None


def test_of_several_records_the_nearest_place_goes_first_and_there_a_refutation() -> None:
    everywhere = SubstitutionRecord(1, WANTED, OFFERED, evidence="soak_test")
    design = SubstitutionRecord(2, WANTED, OFFERED, 4, "", "refuted")
    here = SubstitutionRecord(3, WANTED, OFFERED, 4, "TR2", "seen_working")
    generally = SubstitutionRecord(5, Spec("transistor", number="2N3904"), OFFERED, 4, "TR2", "refuted")
    recorded = Recorded([everywhere, design, here])
    assert recorded.find(WANTED, OFFERED, (4, "TR2")) == here
    assert recorded.find(WANTED, OFFERED, (4, "TR9")) == design
    assert recorded.find(WANTED, OFFERED, (5, "TR2")) == everywhere
    assert recorded.find(WANTED, OFFERED) == everywhere
    assert Recorded([here, generally]).find(WANTED, OFFERED, (4, "TR2")) == generally


# --- what others found


@settings(max_examples=300)
@given(near_pairs(), st.sampled_from(EVIDENCE), st.sampled_from(WAYS), st.none() | st.integers(0, 2**63 - 1))
def test_others_never_promise_for_this_bench(
    pair: tuple[dict[str, Any], dict[str, Any]], evidence: str, way: str, measured: int | None
) -> None:
    """Ask stays ask, no becomes ask at best, yes stays or becomes ask; a refusal of a safety part stands."""
    required, offered = (Spec(**data) for data in pair)
    alone = fits(required, offered, measured=measured)
    said = record(required, offered, evidence, way=way, pin_map="E=C, C=E", source="Fenland")
    told = fits(required, offered, measured=measured, recorded=said)
    if alone.grade in ("ask", "no"):
        assert told.grade in ("ask", alone.grade)
    else:
        assert told.grade == ("ask" if evidence == "refuted" else alone.grade)
    if is_safety_part(required):
        assert GRADES.index(told.grade) >= GRADES.index(alone.grade)
        assert told == alone or evidence == "refuted"


@pytest.mark.parametrize(
    ("evidence", "question", "refusal", "yes"),
    [
        ("soak_test", "ask", "ask", "drop_in"),
        ("seen_working", "ask", "ask", "drop_in"),
        ("data_sheet", "ask", "no", "drop_in"),
        ("listed", "ask", "no", "drop_in"),
        ("refuted", "ask", "no", "ask"),
    ],
)
def test_what_others_tried_raises_a_question_that_a_test_settles(
    evidence: str, question: str, refusal: str, yes: str
) -> None:
    def told(required: Spec, offered: Spec) -> Any:
        return fits(required, offered, recorded=record(required, offered, evidence, source="Fenland"))

    assert told(WANTED, OFFERED).grade == question
    assert told(VOLTS, LESS_VOLTS).grade == refusal
    assert told(LESS_VOLTS, VOLTS).grade == yes
    [reason] = [each for each in told(WANTED, OFFERED).reasons if each.property == "substitution"]
    assert reason.rule.endswith("(by Fenland, not here)")
    assert reason.settled_by == "test"


def test_what_others_tried_opens_no_place_that_takes_nothing_else_and_excuses_no_drift() -> None:
    only = Spec("transistor", number="2N3904", traits={"pin_order": "E-B-C", "exact": ["number"]})
    assert fits(only, OFFERED, recorded=record(only, OFFERED, "soak_test", source="Fenland")).grade == "no"
    wanted = Spec("resistor", value=10**9, tolerance_percent=Decimal(5))
    said = record(wanted, wanted, "soak_test", source="Fenland")
    assert fits(wanted, wanted, measured=2 * 10**9, recorded=said).grade == "no"


def test_ones_own_word_goes_before_that_of_others_however_near_theirs_is() -> None:
    own = SubstitutionRecord(1, WANTED, OFFERED, evidence="listed")
    theirs = SubstitutionRecord(2, WANTED, OFFERED, 4, "TR2", "refuted", source="Fenland")
    assert Recorded([theirs, own]).find(WANTED, OFFERED, (4, "TR2")) == own
    assert Recorded([theirs]).find(WANTED, OFFERED, (4, "TR2")) == theirs
