"""What stands on a fuse (IEC 60127-1 and -2) and what people say of one (common practice, no source)."""

from decimal import Decimal
from typing import Any

import pytest

from inventory.spec import Spec, SpecError, fits
from inventory.type_numbers.fuse_marks import read_fuse


@pytest.mark.parametrize(
    ("text", "amps", "more"),
    [
        ("T1A250V", "1", {"speed": "slow", "volts": 250}),
        ("F500mA 250V", "0.5", {"speed": "fast", "volts": 250}),
        ("T3.15AH250V", "3.15", {"speed": "slow", "volts": 250, "breaking": 1500}),
        ("T3,15AL250V", "3.15", {"speed": "slow", "volts": 250}),  # of L it depends on the current
        ("FF 10 A", "10", {"speed": "very_fast"}),
        ("1 A slow", "1", {"speed": "slow"}),
        ("1A slow-blow", "1", {"speed": "slow"}),
        ("500 mA, quick-blow", "0.5", {"speed": "fast"}),
        ("2 A anti-surge", "2", {"speed": "slow"}),
        ("1/2A 32V", "0.5", {"volts": 32}),
        ("1 A 250 V slow ceramic fuse", "1", {"speed": "slow", "volts": 250, "body": "ceramic"}),
    ],
)
def test_a_fuse_is_read_as_it_is_marked_or_described(text: str, amps: str, more: dict[str, Any]) -> None:
    assert read_fuse(text) == {"amps": Decimal(amps), **more}


@pytest.mark.parametrize(
    "text", ["", "5x20", "1N4004", "slow", "250V", "1 A purple", "1/0 A", "T1A T", "1 A " + "x" * 80]
)
def test_what_is_no_fuse_is_not_read_as_one(text: str) -> None:
    assert read_fuse(text) == {}


def test_what_stands_beside_the_current_is_kept_where_it_belongs() -> None:
    fuse = Spec.from_dict({"kind": "fuse", "amps": "1 A slow", "volts": 250})
    assert (fuse.amps, fuse.traits["speed"], fuse.text) == (Decimal(1), "slow", "1 A 250 V slow fuse")
    assert Spec.from_dict({"kind": "fuse", "amps": fuse.text}) == fuse
    ceramic = Spec.from_dict({"kind": "fuse", "amps": "T1AH250V", "traits": {"body": "ceramic"}})
    assert Spec.from_dict(ceramic.to_dict()) == ceramic
    assert ceramic.text == "1 A 250 V slow ceramic fuse"


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"traits": {"speed": "fast"}}, "/traits/speed"),
        ({"amps": "1 A 250 V slow", "volts": "125 V"}, "/volts"),
        ({"amps": "1 A purple"}, "/amps"),
    ],
)
def test_two_that_disagree_are_refused_with_both(more: dict[str, Any], pointer: str) -> None:
    with pytest.raises(SpecError) as refused:
        Spec.from_dict({"kind": "fuse", "amps": "1 A slow", **more})
    assert [problem.pointer for problem in refused.value.problems] == [pointer]


def test_a_fuse_known_by_its_mark_alone_is_judged_by_it() -> None:
    place = Spec.from_dict({"kind": "fuse", "amps": "1 A slow", "volts": 250})
    marked = {mark: Spec("fuse", number=mark) for mark in ("T1A250V", "F1A250V", "T2A250V", "T1A125V")}
    assert {mark: fits(place, fuse).grade for mark, fuse in marked.items()} == {
        "T1A250V": "same", "F1A250V": "no", "T2A250V": "no", "T1A125V": "no",
    }  # fmt: skip
