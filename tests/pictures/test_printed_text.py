"""Text proposed from pictures. The recogniser's lines are made up, except where it is installed."""

from __future__ import annotations

import builtins
import io

import pytest
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from inventory.decoding import Question, decode
from inventory.decoding.patterns import words_of
from inventory.pictures import recogniser
from inventory.pictures.printed_text import NOT_FOUND, TOO_FEW, PrintProposal, fewest_on, judged, read_text
from inventory.pictures.recogniser import OcrNotInstalled, PrintedLine
from inventory.pictures.taking_in import NotAPicture
from inventory.pictures.weighing import weighed


def png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def print_on_body(text: str) -> Image.Image:
    body = Image.new("RGB", (420, 90), (60, 62, 60))
    ImageDraw.Draw(body).text((20, 20), text, font=ImageFont.load_default(40), fill=(225, 225, 215))
    return body


def line(
    text: str, score: float = 0.99, *, turn: int = 0, length: float = 2.0, y: float = 0.0
) -> PrintedLine:
    return PrintedLine(tuple({character: score} for character in text), length, turn, (0.0, y))


def seen(*characters: dict[str, float]) -> PrintedLine:
    return PrintedLine(characters, 2.0, 0, (0.0, 0.0))


def may_be(proposed: str, truth: str) -> bool:
    """Whether the proposal, doubtful characters and all, allows the truth."""
    cells = [cell for word in words_of(proposed)[0] for cell in word.cells]
    return len(cells) == len(truth) and all(
        cell is None or character in cell for cell, character in zip(cells, truth, strict=True)
    )


BLANK = png(Image.new("RGB", (60, 30), "grey"))


def test_a_sure_character_is_plain_and_a_doubtful_one_brings_what_else_it_may_be() -> None:
    (proposal,) = judged([seen({"1": 0.99}, {"0": 0.99}, {"8": 0.7, "5": 0.2}, {"K": 0.99})]).proposals
    assert proposal.text.startswith("10[85")
    assert proposal.text.endswith("]K")
    assert {"3", "6", "9", "B"} <= set(proposal.text), "practice.md section 4: 6/8/9/B/G and 3/8"
    assert proposal.cells[2]["8"] > proposal.cells[2]["5"] > proposal.cells[2]["B"]
    assert all(sum(cell.values()) <= 1 for cell in proposal.cells)


def test_a_character_that_is_hardly_seen_is_a_question_mark() -> None:
    (proposal,) = judged([seen({"4": 0.99}, {"漢": 0.8}, {"K": 0.2}, {"7": 0.99}, {"5": 0.99})]).proposals
    assert proposal.text == "4??75"


def test_wide_forms_are_plain_characters() -> None:
    (proposal,) = judged([seen({"4": 0.5, "\uff14": 0.48}, {"7": 0.99}, {"k": 0.98})]).proposals
    assert proposal.text == "47[Kk]"


def test_marks_of_the_decoders_own_notation_are_never_proposed() -> None:
    (proposal,) = judged([line("[4k|7)")]).proposals
    assert proposal.text == "4[Kk] 7"


def test_lines_of_one_turn_are_offered_together_first_and_then_singly() -> None:
    found = judged([line("100V", y=30.0), line("104K", y=10.0)]).proposals
    assert [each.text for each in found] == ["104K 100V", "104K", "100V"]


def test_lines_upside_down_are_read_from_the_bottom_up() -> None:
    found = judged([line("100V", turn=180, y=10.0), line("104K", turn=180, y=30.0)]).proposals
    assert found[0].text == "104K 100V"


def test_the_way_up_with_the_most_sure_characters_comes_first() -> None:
    found = judged([line("8u9", 0.9), line("6n8 63V", 0.97, turn=180)]).proposals
    assert (found[0].text, found[0].rotation) == ("6n8 63V", 180)


def test_a_stray_letter_is_no_print_found_and_what_to_try_is_reported() -> None:
    """A blurred A733 of which a D is left must not become a link of no ohms."""
    found = judged([line("D", length=2.1)])
    assert (found.proposals, found.why_not) == ((), TOO_FEW)
    assert [advice.split()[0] for advice in found.what_to_try] == ["Go", "Let", "Turn"]
    assert judged([line("D", length=0.8)]).proposals == ()


def test_of_a_long_line_a_few_characters_are_not_enough() -> None:
    assert judged([line("23", length=3.2)]).why_not == TOO_FEW
    assert judged([line("2A223J", length=3.2)]).proposals[0].text == "2A223J"


def test_nothing_at_all_is_reported_apart() -> None:
    assert judged([]).why_not == NOT_FOUND


def test_a_line_of_which_nothing_is_sure_is_none() -> None:
    assert judged([line("8K3Q", 0.4)]).why_not == TOO_FEW


@pytest.mark.parametrize(
    ("kind", "body", "fewest"),
    [("", "", 2), ("capacitor", "disc", 2), ("transistor", "", 3), ("", "to-92", 3), ("", "DIP 14", 3)],
)
def test_a_body_says_how_much_stands_on_it_at_least(kind: str, body: str, fewest: int) -> None:
    """From memory: no transistor or dual in-line chip is marked with two characters."""
    assert fewest_on(kind, body) == fewest


def test_two_letters_are_enough_for_a_disc_and_too_few_for_a_transistor() -> None:
    assert judged([line("22", length=1.0)]).proposals[0].text == "22"
    assert judged([line("22", length=1.0)], fewest_on("transistor", "")).why_not == TOO_FEW


def test_grammar_corrects_the_eye() -> None:
    """BCS47B is no registered type; BC547B is (Pro Electron). The eye was for the S, two to one."""
    (proposal,) = judged(
        [seen(*({c: 0.99} for c in "BC"), {"S": 0.6, "5": 0.3}, *({c: 0.99} for c in "47B"))]
    ).proposals
    answer = weighed(decode(Question(marking=proposal.text, limit=60)), proposal.cells, 5)
    assert answer.readings[0].number == "BC547B"


def test_what_is_no_picture_is_refused_as_everywhere() -> None:
    with pytest.raises(NotAPicture):
        read_text(b"104K")


def test_without_the_extra_the_refusal_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: object, **more: object) -> object:
        if name == "rapidocr":
            raise ImportError(name)
        return real(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without)
    recogniser._engine.cache_clear()
    with pytest.raises(OcrNotInstalled, match=r'pip install -e "\.\[ocr\]"'):
        read_text(BLANK)


def real(image: Image.Image) -> tuple[PrintProposal, ...]:
    pytest.importorskip("rapidocr", reason='not installed: pip install -e ".[ocr]"')
    pytest.importorskip("onnxruntime", reason='not installed: pip install -e ".[ocr]"')
    return read_text(png(image)).proposals


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_the_real_recogniser_reads_clear_print_any_way_round(turn: int) -> None:
    best = real(print_on_body("104K 100V").rotate(-turn, expand=True))[0]
    assert best.rotation == turn
    assert may_be(best.text, "104K100V")


def test_the_real_recogniser_finds_no_print_on_a_bare_or_wholly_blurred_body() -> None:
    assert real(Image.new("RGB", (420, 90), (60, 62, 60))) == ()
    assert real(print_on_body("A733").filter(ImageFilter.GaussianBlur(14))) == ()


def test_where_characters_stand_too_far_apart_one_between_them_was_not_read() -> None:
    """Drawn MK4564N with the K lost: places in heights of the line, as the recogniser gave them."""
    characters = tuple({character: 0.99} for character in "M4564N")
    places = (0.42, 1.42, 1.75, 2.17, 2.59, 2.92)
    found = judged([PrintedLine(characters, 3.2, 0, (0.0, 0.0), places)]).proposals
    assert [each.text for each in found] == ["M?4564N", "M4564N"]
    even = tuple(0.42 + 0.5 * at for at in range(6))
    (whole,) = judged([PrintedLine(characters, 3.2, 0, (0.0, 0.0), even)]).proposals
    assert whole.text == "M4564N"
