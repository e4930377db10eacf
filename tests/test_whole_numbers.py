"""Whole numbers: the same figures are read wherever one is typed; each door lets as many pieces in."""

from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse
from pydantic import TypeAdapter, ValidationError

from inventory.whole_numbers import MAX_PIECES, whole_number, whole_numbers
from repairs.friends.lists import Count
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


@pytest.mark.parametrize("skip", [NINES, "9" * 19, "x"])
def test_an_address_of_a_walk_with_no_number_is_refused_and_leads_to_the_walk(
    sign_in: Callable[..., Any],  # noqa: F811
    skip: str,
) -> None:
    address, person = reverse("fetch", args=[JobFactory().pk]), sign_in("bench")
    answer = person.get(f"{address}?skip={skip}&skip=1")
    assert answer.status_code == 400
    assert f'href="{address}"' in answer.content.decode()
    assert person.get(f"{address}?skip=1&skip=").status_code == 200


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


def test_a_part_is_kept_in_packs_and_in_stock_of_as_many_as_are_let_in(bench: Any) -> None:
    """As a sheet lets them in; the two doors stood at 1,000,000 and 1,000,000,000."""
    for value, name in (("4k7", "pack_size"), ("10k", "reorder_at")):
        part = {"kind": "resistor", "value": value, name: MAX_PIECES}
        assert bench.post("/api/v1/parts/", {**part, name: MAX_PIECES + 1}).status_code == 400
        assert bench.post("/api/v1/parts/", part).status_code == 201


def test_a_list_for_friends_holds_as_many_of_a_line_as_a_lot() -> None:
    """It stood at 1,000,000, so that a list with 2,000,000 of a line was refused."""
    kept = TypeAdapter(Count)
    assert kept.validate_python(MAX_PIECES) == MAX_PIECES
    with pytest.raises(ValidationError):
        kept.validate_python(MAX_PIECES + 1)
