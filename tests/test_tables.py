"""What commands print on a terminal: complete at every width, numbers first."""

import io

import pytest
from rich.text import Text

from inventory.tables import show

HEADINGS = ("short", "ask", "requirement", "jobs that wait", "next step")
ROWS = [
    ("2", "", "100n 20 % 275 V X2 film, radial, 15 mm", "East pier lamp supply C1", ""),
    ("1", "", "1N5349B zener diode", "Merlin pen driver D4", "ask Fenland [post], who has 2"),
]


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def printed(width: int, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    monkeypatch.setenv("COLUMNS", str(width))
    out = Terminal()
    show(out, "What is lacking", HEADINGS, ROWS, numbers={"short", "ask"}, one_line=True)
    plain = Text.from_ansi(out.getvalue()).plain
    return [line.rstrip() for line in plain.splitlines() if line.strip()]


def test_with_room_for_all_of_it_each_row_is_a_line(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = printed(160, monkeypatch)
    assert [" ".join(line.split()) for line in lines[-2:]] == [
        " ".join(" ".join(row).split()) for row in ROWS
    ]


@pytest.mark.parametrize("width", [40, 80, 100])
def test_a_narrow_terminal_cuts_nothing_and_keeps_the_numbers(
    width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = printed(width, monkeypatch)
    assert max(map(len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    for row in ROWS:
        assert f"{row[0]} {row[2]}" in text
        for heading, cell in zip(HEADINGS[3:], row[3:], strict=True):
            assert not cell or f"{heading}: {cell}" in text
    assert text.count("next step: ") == 1
    assert " ask " not in f"{text.split(ROWS[0][2])[0]} ", "no piece waits for an answer"


def test_elsewhere_cells_are_parted_by_tabs() -> None:
    out = io.StringIO()
    show(out, "What is lacking", HEADINGS, ROWS, one_line=True)
    assert out.getvalue().splitlines()[1:3] == ["\t".join(HEADINGS), "\t".join(ROWS[0]).rstrip("\t")]
