"""`manage.py read_picture` as a person types it, on drawn pictures."""

import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.pictures import reading
from inventory.pictures.printed_text import TOO_FEW, Print, PrintProposal
from inventory.pictures.recogniser import OcrNotInstalled
from tests.pictures.test_bands import drawn

pytestmark = pytest.mark.django_db


def asked(*words: object) -> str:
    out = io.StringIO()
    call_command("read_picture", *map(str, words), stdout=out)
    return out.getvalue()


@pytest.fixture
def resistor(tmp_path: Path) -> tuple[Path, list[int]]:
    """A drawn 4k7, 5 % (IEC 60062: yellow, violet, red, gold), and the ends of its body."""
    data, start, end = drawn("yellow violet red gold")
    path = tmp_path / "r7.png"
    path.write_bytes(data)
    return path, [round(each) for each in (*start, *end)]


def test_the_bands_of_a_resistor_are_read_off_a_file(resistor: tuple[Path, list[int]]) -> None:
    path, ends = resistor
    lines = asked(path, "--ends", *ends).splitlines()
    assert lines[0].startswith("yellow,violet,red")
    assert next(line for line in lines if "%" in line).split()[1:3] == ["resistor", "4k7"]
    answer = json.loads(asked(path, path, "--ends", *ends, "--kind", "resistor", "--json"))
    assert [band["colours"][0] for band in answer["bands"]] == ["yellow", "violet", "red", "gold"]
    assert answer["readings"][0]["value_text"] == "4k7"


def test_print_is_proposed_with_what_it_may_mean(
    resistor: tuple[Path, list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    cells = tuple({each: 0.9} for each in "104K")
    found = Print((PrintProposal("104K", 0.9, 90, cells),))
    monkeypatch.setattr(reading.printed_text, "read_text", lambda data, fewest: found)
    result = asked(resistor[0], "--kind", "capacitor", "--box", 10, 10, 200, 100)
    assert result.startswith("104K (90%, turned by 90 degrees)")
    assert "100n" in result
    monkeypatch.setattr(
        reading.printed_text, "read_text", lambda data, fewest: Print((), TOO_FEW, ("nearer",))
    )
    assert asked(resistor[0]).splitlines() == [TOO_FEW, "nearer"]


def test_what_cannot_be_read_is_reported_in_one_line(
    resistor: tuple[Path, list[int]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, ends = resistor
    (tmp_path / "no.jpg").write_text("no picture")
    for words, message in (
        ([tmp_path / "nowhere.jpg"], "No such file"),
        ([tmp_path / "no.jpg"], "no.jpg: "),
        ([path] * 7, "at most 6"),
        ([path, "--box", 99999, 0, 5, 5], "--box: "),
        ([path, "--ends", 1, 1, 2, 2], "ends"),
        ([path, "--ends", *ends, "--kind", "spoon"], "kind"),
    ):
        with pytest.raises(CommandError, match=message):
            asked(*words)

    def missing(data: bytes, fewest: int) -> Print:
        raise OcrNotInstalled

    monkeypatch.setattr(reading.printed_text, "read_text", missing)
    with pytest.raises(CommandError, match="ocr"):
        asked(path)
