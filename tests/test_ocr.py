"""Text proposed from pictures. The recogniser is played by a stand-in, except where it is installed."""

from __future__ import annotations

import builtins
import io
from collections.abc import Callable
from types import SimpleNamespace

import pytest
from PIL import Image, ImageDraw, ImageFont

from inventory import ocr
from inventory.decoding.patterns import words_of
from inventory.enhance import NotAPicture
from inventory.ocr import OcrNotInstalled, Proposal, read_text

Characters = list[tuple[str, float]]
WIDE = [[0.0, 0.0], [90.0, 0.0], [90.0, 20.0], [0.0, 20.0]]
TALL = [[0.0, 0.0], [20.0, 0.0], [20.0, 90.0], [0.0, 90.0]]


def png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def print_on_body(text: str) -> Image.Image:
    body = Image.new("RGB", (420, 90), (60, 62, 60))
    ImageDraw.Draw(body).text((20, 20), text, font=ImageFont.load_default(40), fill=(225, 225, 215))
    return body


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Say what the recogniser sees in each quarter turn: lists of lines, each of (character, score)."""
    seen: list[list[Characters]] = []
    boxes: list[list[list[float]]] = []

    def read(_png: bytes, **settings: object) -> SimpleNamespace:
        assert settings["use_cls"] is False, "each quarter turn stands for itself"
        lines = seen.pop(0) if seen else []
        if not lines:
            return SimpleNamespace(txts=None, scores=None, boxes=None, word_results=())
        return SimpleNamespace(
            txts=tuple("".join(c for c, _ in line) for line in lines),
            scores=tuple(0.9 for _ in lines),
            boxes=[boxes[0] if boxes else WIDE for _ in lines],
            word_results=tuple(tuple((c, s, WIDE) for c, s in line if c != " ") for line in lines),
        )

    def sees(*turns: list[Characters], box: list[list[float]] | None = None) -> None:
        seen.extend(turns)
        if box:
            boxes.append(box)

    monkeypatch.setattr(ocr, "_engine", lambda: read)
    return sees


def may_be(proposed: str, truth: str) -> bool:
    """Whether the proposal, doubtful characters and all, allows the truth."""
    cells = [cell for word in words_of(proposed)[0] for cell in word.cells]
    return len(cells) == len(truth) and all(
        cell is None or character in cell for cell, character in zip(cells, truth, strict=True)
    )


BLANK = png(Image.new("RGB", (60, 30), "grey"))


def surely(text: str, score: float = 0.99) -> Characters:
    return [(c, score) for c in text]


def test_a_sure_character_is_plain_and_a_doubtful_one_brings_those_it_is_mistaken_for(
    engine: Callable[..., None],
) -> None:
    engine([[("1", 0.99), ("0", 0.99), ("8", 0.7), ("K", 0.99)]])
    text = read_text(BLANK)[0].text
    assert text.startswith("10[8")
    assert text.endswith("]K")
    assert {"3", "6", "9", "B"} <= set(text), "practice.md section 4: 6/8/9/B/G and 3/8"


def test_a_character_that_is_hardly_seen_is_a_question_mark(engine: Callable[..., None]) -> None:
    engine([[("4", 0.99), ("漢", 0.8), ("K", 0.3), ("7", 0.99)]])
    assert read_text(BLANK)[0].text == "4??7"


def test_marks_of_the_decoders_own_notation_are_never_proposed(engine: Callable[..., None]) -> None:
    engine([[("[", 0.99), ("4", 0.99), ("k", 0.99), ("|", 0.99), ("7", 0.99), (")", 0.99)]])
    assert read_text(BLANK)[0].text.strip() == "4k 7"


def test_lines_of_one_turn_are_offered_together_first_and_then_singly(engine: Callable[..., None]) -> None:
    engine([surely("104K"), surely("100V")])
    assert [each.text for each in read_text(BLANK)] == ["104K 100V", "104K", "100V"]


def test_the_turn_with_the_most_sure_characters_comes_first(engine: Callable[..., None]) -> None:
    engine([surely("8u9", 0.95)], [], [surely("6n8 63V", 0.97)], [])
    assert read_text(BLANK)[0] == Proposal("6n8 63V", 0.97, 180)


def test_a_lone_character_beside_text_is_taken_for_the_outline_of_the_body(
    engine: Callable[..., None],
) -> None:
    engine([surely("0"), surely("104K")])
    assert [each.text for each in read_text(BLANK)] == ["104K"]


def test_upright_print_is_left_to_the_turn_that_lays_it_level(engine: Callable[..., None]) -> None:
    engine([surely("104K")], box=TALL)
    assert read_text(BLANK) == []


def test_nothing_seen_in_an_enlarged_crop_is_looked_for_in_the_crop_as_it_is(
    engine: Callable[..., None],
) -> None:
    engine([], [], [], [], [surely("C1815")])
    assert read_text(BLANK)[0].text == "C1815"


def test_what_is_no_picture_is_refused_as_everywhere(engine: Callable[..., None]) -> None:
    with pytest.raises(NotAPicture):
        read_text(b"104K")


def test_without_the_extra_the_refusal_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: object, **more: object) -> object:
        if name == "rapidocr":
            raise ImportError(name)
        return real(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without)
    ocr._engine.cache_clear()
    with pytest.raises(OcrNotInstalled, match=r'pip install -e "\.\[ocr\]"'):
        read_text(BLANK)


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_the_real_recogniser_reads_clear_print_any_way_round(turn: int) -> None:
    pytest.importorskip("rapidocr", reason='not installed: pip install -e ".[ocr]"')
    pytest.importorskip("onnxruntime", reason='not installed: pip install -e ".[ocr]"')
    best = read_text(png(print_on_body("104K 100V").rotate(-turn, expand=True)))[0]
    assert best.rotation == turn
    assert may_be(best.text, "104K100V")
