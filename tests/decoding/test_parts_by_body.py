"""Parts that their body tells apart, and prints of the classes that were seldom tried; from memory where no
source is named."""

from __future__ import annotations

import pytest

from .published import read, units


@pytest.mark.parametrize(
    ("marking", "body", "kind"),
    [
        ("LT700", "transformer", "transformer"),
        ("78B04", "dip switch", "switch"),
        ("39-01-3042", "connector", "connector"),
        ("BPX61", "photodiode", "diode"),
        ("H22A1", "slotted optical switch", "ic"),
        ("DL700", "delay line", "other"),
        ("HE721A0510", "reed relay dip", "other"),
        ("TF 115°C 10A 250V", "thermal fuse", "fuse"),
        ("MICROTEMP 133°C 10A", "thermal fuse", "fuse"),
        ("MDL 2", "glass fuse", "fuse"),
        ("3AG 5A 250V", "glass fuse", "fuse"),
        ("MZ72-9RM", "ptc thermistor", "thermistor"),
    ],
)
def test_the_body_says_what_kind_of_part_it_is(marking: str, body: str, kind: str) -> None:
    # Common practice, no source: what is on such a body is a number of that kind.
    best = read(marking, body=body).readings[0]
    assert (best.kind, best.score > 0.4) == (kind, True)


@pytest.mark.parametrize(
    ("marking", "body", "kind", "value"),
    [
        ("ДМ-0,2 50", "axial choke", "inductor", "50e-6"),  # whole µH behind the amps
        ("ДПМ-0,4 100", "axial choke", "inductor", "100e-6"),
        ("МЛТ-1 4К7 83", "axial printed", "resistor", "4700"),  # a year beside the value
        ("TPS6.0MB", "ceramic resonator", "crystal", "6e6"),
        ("A-4.000-30", "crystal", "crystal", "4e6"),
        ("64WR10K", "trimmer", "resistor", "10000"),  # no resistor is rated 64 W
        ("B24", "trimmer", "resistor", "20000"),
        ("NOBLE 100KBX2", "potentiometer", "resistor", "100000"),
        ("RV16 A20K", "potentiometer", "resistor", "20000"),
        ("CDR02BX104AKUS", "smd chip capacitor", "capacitor", "100e-9"),  # MIL-C-55681, from memory
        ("LQH4C470K", "smd coil", "inductor", "47e-6"),  # a maker's coil, counted in µH
        ("RER60F15R0R", "wirewound chassis", "resistor", "15"),  # MIL-R-39009, from memory
        ("TC 235 1n5", "film", "capacitor", "1.5e-9"),
    ],
)
def test_prints_of_such_series_are_read(marking: str, body: str, kind: str, value: str) -> None:
    best = read(marking, body=body).readings[0]
    assert (best.kind, best.value) == (kind, units(kind, value))


def test_a_zener_by_its_maker_keeps_its_number() -> None:
    assert read("KZ260/6V8", body="glass").readings[0].number == "KZ260/6V8"


def test_a_catalogue_number_is_kept_beside_the_word_for_the_kind() -> None:
    assert read("PTC 2322 662 93088").readings[0].number == "2322 662 93088"


@pytest.mark.parametrize("marking", ["HR 7506", "A103J", "K1100AM 16.000 MHZ"])
def test_what_may_be_another_part_is_not_sure(marking: str) -> None:
    # A date beside letters; a suffix that no gain group has; a transistor that has megahertz.
    best = read(marking).readings[0]
    assert best.score <= 0.8 or (best.kind, best.value) == ("crystal", 16_000_000_000)
