"""Readings weighed by what the picture shows. The markings are made up; the codes are those of IEC 60062."""

from inventory.decoding import Question, Readings, decode
from inventory.pictures.weighing import ASKED, weighed


def bands(*lists: str) -> Readings:
    return decode(Question(bands=lists, kind="resistor", limit=ASKED))


def test_the_likelier_colour_comes_first_and_the_others_stay() -> None:
    cells = [{"yellow": 0.99}, {"violet": 0.99}, {"orange": 0.7, "red": 0.25}, {"gold": 0.99}]
    answer = weighed(bands("yellow", "violet", "orange|red", "gold"), cells, 5)
    assert [reading.value for reading in answer.readings[:2]] == [47_000 * 10**6, 4_700 * 10**6]
    assert answer.readings[0].score < 0.75


def test_a_row_taken_from_the_wrong_end_is_weighed_the_right_way_round() -> None:
    cells = [{"gold": 0.99}, {"orange": 0.8, "red": 0.1}, {"violet": 0.99}, {"yellow": 0.99}]
    answer = weighed(bands("gold", "orange|red", "violet", "yellow"), cells, 5)
    assert answer.readings[0].value == 47_000 * 10**6


def test_what_is_missing_of_one_is_doubt_that_the_score_keeps() -> None:
    cells = [{"yellow": 0.7}, {"violet": 0.99}, {"red": 0.99}, {"gold": 0.99}]
    answer = weighed(bands("yellow", "violet", "red", "gold"), cells, 5)
    assert answer.readings[0].score < 0.7
    assert sum(reading.score for reading in answer.readings) < 0.7


def test_an_unread_band_leaves_the_order_to_the_grammar() -> None:
    cells = [{"yellow": 0.99}, {}, {"red": 0.99}, {"gold": 0.99}]
    plain = bands("yellow", "?", "red", "gold")
    assert [each.value for each in weighed(plain, cells, 3).readings] == [
        each.value for each in plain.readings[:3]
    ]


def test_no_more_readings_are_given_than_were_asked_for_and_the_cut_is_reported() -> None:
    answer = weighed(
        bands("?", "violet", "red", "gold"), [{}, *[{c: 0.99} for c in ("violet", "red", "gold")]], 2
    )
    assert len(answer.readings) == 2
    assert answer.truncated


def test_without_evidence_the_answer_stands() -> None:
    answer = bands("yellow", "violet", "red", "gold")
    assert weighed(answer, [], 5) is answer


def of_print(text: str) -> Readings:
    cells = [{character: 0.99} for character in text.replace(" ", "")]
    return weighed(decode(Question(marking=text, limit=ASKED)), cells, 5)


def test_print_of_a_type_that_no_table_lists_is_never_sure() -> None:
    """1N414 is 1N4148 with a figure lost, K4564N a memory without its M: the form alone confirms nothing."""
    assert of_print("1N4148").readings[0].score > 0.9
    assert of_print("1N414").readings[0].score < 0.8
    assert of_print("K4564N").readings[0].score < 0.8


def test_a_single_short_word_of_print_is_never_sure() -> None:
    assert of_print("104K 100V").readings[0].score > 0.85
    assert of_print("R47K").readings[0].score < 0.8


def test_print_with_a_place_where_a_character_may_have_been_missed_is_never_sure() -> None:
    # 47n 250V, its 4 and 7 drawn wide apart, is offered as 4?7n first: a tenth of it, 4.7 nF, is not sure.
    cells = [{each: 0.99} if each != "?" else {} for each in "4?7n250V"]
    answer = weighed(decode(Question(marking="4?7n 250V", limit=ASKED)), cells, 3)
    assert 0 < answer.readings[0].score <= 0.75
    assert (
        weighed(decode(Question(marking="47n 250V")), [{each: 1.0} for each in "47n250V"], 3)
        .readings[0]
        .score
        > 0.8
    )
