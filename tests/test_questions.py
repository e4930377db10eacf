"""What a person says, as text, becomes a question: pure, and always with a reason."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.questions import NAMES, BadQuestion, Wrong, question_of


@pytest.mark.parametrize(
    ("text", "bands"),
    [
        ("red,red,red", ("red", "red", "red")),
        ("red, red ,red", ("red", "red", "red")),
        ("red red red", ("red", "red", "red")),
        ("red-red-red", ("red", "red", "red")),
        ("red|orange,?,[red,brown],gold", ("red|orange", "?", "[red,brown]", "gold")),
        ("red [red brown] gold", ("red", "[red brown]", "gold")),
        ("?", ("?",)),
    ],
)
def test_bands_stand_between_commas_strokes_or_spaces(text: str, bands: tuple[str, ...]) -> None:
    assert question_of({"bands": text}).bands == bands


def test_a_year_may_be_a_decade() -> None:
    assert question_of({"marking": "104", "era": "1982"}).era == 1982
    assert question_of({"marking": "104", "era": "1980s"}).era == 1985
    with pytest.raises(BadQuestion):
        question_of({"marking": "104", "era": "1982s"})


def test_a_measurement_counts_units_of_its_kind_or_of_every_kind_its_unit_allows() -> None:
    sent = {"marking": "104", "measured": "98n"}
    assert question_of({**sent, "kind": "capacitor"}).measured == 98_000_000
    measured = question_of(sent).measured
    assert measured == {"capacitor": 98_000_000, "inductor": 98_000}
    tolerance = question_of({**sent, "measured_tolerance": "1.5"}).measured_tolerance
    assert tolerance == Decimal("1.5")


def test_a_bare_figure_is_one_of_ohms_beside_bands_and_otherwise_asked_about() -> None:
    assert question_of({"bands": "red,red,red", "measured": "2200"}).measured == {"resistor": 2_200_000_000}
    for sent in ({"marking": "222"}, {"bands": "red,red,red", "scheme": "bead"}):
        with pytest.raises(BadQuestion) as bad:
            question_of({**sent, "measured": "2200"})
        assert [problem.code for problem in bad.value.problems] == ["ambiguous"]


def test_a_scheme_that_is_a_kind_says_the_kind() -> None:
    question = question_of({"bands": "red,red,red", "scheme": "Inductor bands"})
    assert (question.kind, question.scheme) == ("inductor", "")


@given(st.dictionaries(st.sampled_from(NAMES), st.text(max_size=40)))
def test_any_words_make_a_question_or_say_what_is_wrong(sent: dict[str, str]) -> None:
    problems: tuple[Wrong, ...] = ()
    try:
        question_of(sent)
    except BadQuestion as bad:
        problems = bad.problems
    assert all(problem.name in NAMES and problem.detail for problem in problems)
