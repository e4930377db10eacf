"""Words that name a kind, and references, lead over whatever else the figures beside them might be.

Letters of references: IEEE 315-1975 clause 22, from memory; RL, SW, IC and what words mean are common
practice, no source.
"""

from decimal import Decimal

import pytest

from inventory.decoding import Question, Reading, decode, spec_of
from inventory.part_lines import read_line
from inventory.part_words.kind_words import KINDS, leading, named_by


def best(marking: str, **known: str) -> Reading:
    return decode(Question(marking=marking, **known)).readings[0]  # type: ignore[arg-type]


NAMED = [
    ("RL1 12V relay 2 c/o", "12 V 2-pole relay, change over contacts"),
    ("LS1 8R speaker", "8 Ω speaker"),
    ("loudspeaker 4 ohm 3W", "3 W 4 Ω speaker"),
    ("SW1 push button", "push switch"),
    ("S2 DPDT toggle switch", "DPDT toggle switch"),
    ("audio transformer", "audio transformer"),
    ("T1 mains transformer 2x12V 30VA", "12 V + 12 V 30 VA mains transformer"),
    ("9V battery", "9 V battery"),
    ("F1 fuse holder 20mm", "fuse holder, 20 mm"),
    ("relay socket 8 pin", "8-way socket"),  # the last noun is the thing
    ("lamp 6.3V 0.3A", "6.3 V 0.3 A lamp"),
    ("neon lamp 90V", "90 V neon lamp"),
    ("motor 12V", "12 V motor"),
    ("heatsink TO-220", "heatsink, TO-220"),
    ("LED red", "red LED"),
    ("1A bridge rectifier", "1 A bridge diode"),
    ("Lautsprecher 8 Ω", "8 Ω speaker"),
    ("RL2 24V", "24 V relay"),
    ("LS1 8R", "8 Ω speaker"),
]


@pytest.mark.parametrize(("text", "part"), NAMED)
def test_what_is_named_is_that_in_a_marking_and_in_a_list_alike(text: str, part: str) -> None:
    line = read_line(text)
    assert line.spec is not None
    assert line.spec.text == part
    assert not line.unread
    reading = best(text)
    assert reading.score == 1
    if reading.notation == "named in words":
        assert spec_of(reading) in (line.spec, None)
        assert reading.function == part


@pytest.mark.parametrize(
    ("text", "kind", "value", "number"),
    [
        ("R12 4k7", "resistor", 4_700_000_000, ""),
        ("C3 104", "capacitor", 100_000_000, ""),  # IEC 60062: 10 x 10^4 pF
        ("motor run capacitor 10uF 450V", "capacitor", 10_000_000_000, ""),
        ("resistor brown black red gold", "resistor", 1_000_000_000, ""),  # IEC 60062
        ("X1 4MHz", "crystal", 4_000_000_000, ""),
        ("Q3 BC547", "transistor", None, "BC547"),
        ("BT1 CR2032", "other", None, "CR2032"),
        ("battery CR2032", "other", None, "CR2032"),
        ("RL1 G2R-1 24VDC", "other", None, "G2R-1"),
        ("OMRON G2R-1 24VDC", "other", None, "G2R-1"),
        ("varistor 14D471K", "other", None, "14D471K"),
        ("F1 T1.6A 250V", "fuse", None, "T1.6A250V"),
        ("C1815 NPN", "transistor", None, "2SC1815"),  # a known type is no reference
        ("BT136 600E", "diode", None, "BT136"),
        ("RED LAMP .033 MFD 400V", "capacitor", 33_000_000, ""),  # farads refute the name
    ],
)
def test_what_stands_beside_the_name_is_read_as_that_kind(
    text: str, kind: str, value: int | None, number: str
) -> None:
    reading = best(text)
    assert (reading.kind, reading.value, reading.number) == (kind, value, number)


def test_nothing_of_a_marking_is_left_out_of_what_was_used() -> None:
    assert [characters for characters, _meaning in best("RL1 12V relay 2 c/o").used] == [
        "RL1", "12V", "relay", "2 c/o",
    ]  # fmt: skip
    assert [characters for characters, _meaning in best("C5 100n capacitor 63V").used] == [
        "C5", "100n", "capacitor", "63V",
    ]  # fmt: skip


def test_figures_that_a_reading_has_no_field_for_reach_the_part() -> None:
    spec = spec_of(best("lamp 6.3V 0.3A"))
    assert spec is not None
    assert (spec.volts, spec.amps) == (Decimal("6.3"), Decimal("0.3"))


def test_volts_alone_on_a_can_are_its_rating_and_say_no_value() -> None:
    can = best("6V", body="electrolytic can")
    assert (can.kind, can.value, can.volts) == ("capacitor", None, Decimal(6))


def test_a_kind_that_is_asked_for_is_not_overruled() -> None:
    assert best("relay 4k7", kind="resistor").kind == "resistor"


def test_the_last_noun_of_a_phrase_leads_and_a_weak_one_never() -> None:
    assert leading(["motor", "run", "capacitor", "10uF", "relay"]) == (2, 3, KINDS["capacitor"])
    assert leading(["relay", "coil", "12V"]) == (0, 1, KINDS["relay"])
    assert leading(["relay,", "socket"]) == (0, 1, KINDS["relay"])
    assert leading(["switch", "with", "lamp"]) == (0, 1, KINDS["switch"])
    assert leading(["4k7"]) is None
    assert named_by("Relays") == named_by("Relais") == KINDS["relay"]
