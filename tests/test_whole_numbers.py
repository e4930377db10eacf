"""Whole numbers: the same figures are read wherever one is typed; each door lets as many pieces in."""

from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse

from inventory.whole_numbers import MAX_PIECES, whole_number, whole_numbers
from tests.factories import JobFactory, PlaceFactory
from tests.pages.conftest import sign_in  # noqa: F401

NINES = (
    "9" * 4301
)  # Python reads no number of more than 4,300 figures (docs.python.org, sys.set_int_max_str_digits)


@pytest.mark.parametrize(
    ("text", "number"),
    [("0", 0), ("007", 7), ("9" * 18, 10**18 - 1), ("9" * 19, None), (NINES, None), ("", None), ("-1", None),
     ("1.0", None), ("1e3", None), (" 1", None), ("1_000", None), ("٣", None), ("²", None)],
)  # fmt: skip
def test_plain_figures_are_a_number_and_nothing_else_is(text: str, number: int | None) -> None:
    assert whole_number(text) == number


def test_what_is_no_number_is_left_out_of_a_list() -> None:
    assert whole_numbers(["3", "x", NINES, "1"]) == [3, 1]


def test_an_address_of_a_walk_with_a_number_beyond_reading_is_answered(sign_in: Callable[..., Any]) -> None:  # noqa: F811
    address = reverse("fetch", args=[JobFactory().pk])
    assert sign_in("bench").get(f"{address}?skip={NINES}&skip=1").status_code == 200


def test_as_many_pieces_as_are_let_in_are_counted_moved_and_scrapped(bench: Any) -> None:
    tray, drawer = PlaceFactory().pk, PlaceFactory().pk
    spec = {"kind": "resistor", "value": "4k7"}
    made = bench.post(
        "/api/v1/lots/", {"part": spec, "quantity": MAX_PIECES, "place": tray, "origin": {"source": "bought"}}
    )
    assert made.status_code == 201, made.json()
    lot = made.json()["id"]
    for body in (
        {"kind": "count", "lot": lot, "at": tray, "quantity": MAX_PIECES},
        {"kind": "move", "lot": lot, "from": tray, "to": drawer, "quantity": MAX_PIECES},
        {"kind": "scrap", "lot": lot, "from": drawer, "quantity": MAX_PIECES},
    ):
        assert bench.post("/api/v1/movements/", body).status_code == 201, body
    over = {"kind": "count", "lot": lot, "at": tray, "quantity": MAX_PIECES + 1}
    assert bench.post("/api/v1/movements/", over).status_code == 400
