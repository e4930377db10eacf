"""`manage.py decode` as a person types it."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.management.commands.decode import Command
from tests.factories import JobFactory, NeedFactory, spec
from tests.test_commands import Workshop, output


@pytest.mark.django_db
def test_a_marking_may_be_typed_as_words_apart_or_in_quotes() -> None:
    """104K 100: 100 nF, 10 %, 100 V (worked examples of three-digit codes, tests/decoding/data)."""
    lines = output("decode", "104K", "100", "--kind", "capacitor")
    assert lines == output("decode", "104K 100", "--kind", "capacitor")
    best = next(line for line in lines.splitlines() if "%" in line)
    assert best.split()[1:6] == ["capacitor", "100n", "±10", "%", "100"]
    assert "K = ±10 %" in lines


@pytest.mark.django_db
def test_bands_and_a_meter_settle_a_doubtful_colour() -> None:
    answer = output("decode", "--bands", "yellow,violet,red|orange,gold", "--measured", "46.5k", "--why")
    best = next(line for line in answer.splitlines() if "%" in line)
    assert best.split()[1:3] == ["resistor", "47k"]
    assert "measured -1.1 % from this value" in answer


@pytest.mark.django_db
def test_json_is_what_the_api_answers(viewer: object) -> None:
    NeedFactory(job=JobFactory(name="Plover C rebuild"), ref="C7", of=spec("capacitor", "100n"))
    printed = json.loads(output("decode", "104K 100", "--kind", "capacitor", "--json"))
    answered = viewer.get("/api/v1/decode/", {"marking": "104K 100", "kind": "capacitor"}).json()  # type: ignore[attr-defined]
    assert printed == answered
    assert printed["readings"][0]["wanted_by"][0]["ref"] == "C7"


@pytest.mark.django_db
def test_who_wants_it_stands_beside_the_reading() -> None:
    job = JobFactory(name="Plover [red] rebuild")
    for ref in ("C7", "C8", "C9"):
        NeedFactory(job=job, ref=ref, of=spec("capacitor", "100n"))
    assert "Plover [red] rebuild C7 (same); Plover [red] rebuild C8 (same); …" in output("decode", "100n")


@pytest.mark.django_db
def test_the_next_thing_to_do_and_what_nothing_fits_are_shown() -> None:
    assert "next: measure on the 200 pF range: 10 pF and 100 pF remain" in output(
        "decode", "100", "--kind", "capacitor", "--body", "disc"
    )
    nothing = output("decode", "qqq", "--kind", "resistor")
    assert nothing.startswith("nothing fits")
    assert "hint: nothing reads as a resistor" in nothing


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ((), "say a marking, or bands"),
        (("104", "--bands", "red"), "either a marking or bands"),
        (("10[",), "character 3: This square bracket is not closed."),
        (("--bands", "red,plaid"), "Band 2: “plaid” is not a colour"),
        (
            ("104", "--kind", "gizmo", "--limit", "0"),
            "kind: 'gizmo' is not a kind of part.*limit: expected a whole number",
        ),
        (("104", "--measured", "0.1"), "0.1 of what"),
    ],
)
def test_what_cannot_be_understood_is_reported_in_one_line(typed: tuple[str, ...], message: str) -> None:
    with pytest.raises(CommandError, match=message):
        output("decode", *typed)


def test_the_help_shows_examples() -> None:
    shown = StringIO()
    Command(stdout=shown).create_parser("manage.py", "decode").print_help(shown)
    assert 'manage.py decode "104K 100"' in shown.getvalue()


@pytest.mark.django_db
def test_the_example_of_the_help_works() -> None:
    out = StringIO()
    call_command("decode", "4?3", "--kind", "capacitor", "--measured", "48n", stdout=out)
    assert "47n" in out.getvalue()


def test_a_marking_is_read_before_there_is_a_bench(tmp_path: Path) -> None:
    asked = Workshop(tmp_path / "workshop").run("decode", "4k7", "--kind", "resistor")
    assert asked.returncode == 0
    assert "resistor\t4k7" in asked.stdout
    assert "does not answer" in asked.stderr
    assert "Traceback" not in asked.stderr
