"""A board's picture: its places pinned, lit and told; without one, a plain grid."""

from collections.abc import Callable
from decimal import Decimal
from itertools import combinations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.models import Board, Design, Position
from inventory.pages.board_map import _name_box, _names_beside, _overlap
from tests.factories import BoardFactory, DesignFactory, photo, png, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


@pytest.fixture
def design(db: None) -> Design:
    return DesignFactory(positions={ref: spec("resistor", "4k7") for ref in ("R1", "R2", "R10", "R47")})


def pictured(design: Design, side: str = "top") -> Design:
    photo(subject="design", subject_id=design.pk, side=side)
    return design


def spots(design: Design) -> dict[str, tuple[Decimal | None, Decimal | None, str]]:
    return {each.ref: (each.x, each.y, each.side) for each in Position.objects.filter(design=design)}


def test_several_places_are_pinned_at_once_on_either_side(design: Design, sign_in: Enter) -> None:
    client, address = sign_in("bench"), reverse("pins", args=[design.pk])
    client.post(address, {"pin": ["R1 0.25 0.5 top", "R47 0.123456 1 bottom"]})
    assert spots(design)["R1"] == (Decimal("0.25"), Decimal("0.5"), "top")
    assert spots(design)["R47"] == (Decimal("0.123456"), Decimal(1), "bottom")
    assert spots(design)["R2"] == (None, None, "")


def test_pinning_is_undone_in_one(design: Design, sign_in: Enter) -> None:
    client, address = sign_in("bench"), reverse("pins", args=[design.pk])
    client.post(address, {"pin": ["R1 0.25 0.5 top"]})
    client.post(address, {"pin": ["R1 0.75 0.5 bottom", "R2 0 0 top"]})
    assert "2 pins changed last" in client.get(address).content.decode()
    client.post(address, {"undo": "1"})
    assert spots(design)["R1"] == (Decimal("0.25"), Decimal("0.5"), "top")
    assert spots(design)["R2"] == (None, None, "")
    client.post(address, {"undo": "1"})
    assert spots(design)["R1"][0] == Decimal("0.25"), "the second press does nothing"


def test_pins_are_taken_off_by_their_references(design: Design, sign_in: Enter) -> None:
    client, address = sign_in("bench"), reverse("pins", args=[design.pk])
    client.post(address, {"pin": ["R1 0.25 0.5 top", "R2 0.1 0.1 top"]})
    client.post(address, {"unpin": "1", "refs": "R1-R2"})
    assert [spots(design)[ref][0] for ref in ("R1", "R2")] == [None, None]


@pytest.mark.parametrize(
    "sent",
    [
        "R99 0.5 0.5 top", "R1 1.5 0.5 top", "R1 -0.1 0 top", "R1 nan 0 top", "R1 x y top", "R1 0 0 inside",
        "R1", "💥",
    ],
)  # fmt: skip
def test_one_bad_pin_and_none_is_kept_but_all_stay_on_the_page(
    design: Design, sign_in: Enter, sent: str
) -> None:
    answer = sign_in("bench").post(
        reverse("pins", args=[design.pk]), {"pin": ["R2 0.5 0.5 top", sent], "refs": "R2, R1"}
    )
    assert answer.status_code == 400
    assert spots(design)["R2"] == (None, None, "")
    assert answer.context["kept"] == ["R2 0.5 0.5 top", sent]
    assert answer.context["refs"] == "R2, R1"


def test_a_viewer_pins_nothing(design: Design, sign_in: Enter) -> None:
    pictured(design)
    client, address = sign_in("viewer"), reverse("pins", args=[design.pk])
    assert client.post(address, {"pin": ["R1 0.25 0.5 top"]}).status_code == 403
    assert spots(design)["R1"] == (None, None, "")
    assert "data-pins" not in client.get(address).content.decode()


def test_a_side_gets_its_picture_from_the_page(design: Design, sign_in: Enter) -> None:
    client = sign_in("bench")
    sent = {"subject": "design", "subject_id": design.pk, "side": "bottom"}
    client.post(reverse("add-photo"), {**sent, "file": SimpleUploadedFile("b.png", png(), "image/png")})
    page = client.get(reverse("pins", args=[design.pk]))
    assert [side.name for side in page.context["map"].sides] == ["bottom"]


def test_the_newest_picture_of_a_side_is_the_one_with_the_pins(design: Design, sign_in: Enter) -> None:
    pictured(design)
    newest = photo(subject="design", subject_id=design.pk, side="top")
    page = sign_in("viewer").get(reverse("pins", args=[design.pk]))
    assert page.context["map"].sides[0].photo == newest


@pytest.fixture
def board(design: Design) -> Board:
    """R1 good and pinned on top, R2 faulty and pinned below, R10 empty, R47 empty and on no picture."""
    made: Board = BoardFactory(design=pictured(pictured(design), "bottom"))
    stock(place=made.place, ref="R1", condition="good")
    stock(place=made.place, ref="R2", condition="faulty")
    for ref, x, side in (("R1", "0.25", ""), ("R2", "0.5", "bottom"), ("R10", "0.75", "top")):
        Position.objects.filter(design=design, ref=ref).update(x=Decimal(x), y=Decimal("0.5"), side=side)
    return made


def test_each_place_stands_on_its_side_with_its_state(board: Board, sign_in: Enter) -> None:
    shown = sign_in("viewer").get(reverse("board", args=[board.pk])).context["map"]
    assert {side.name: [(pin.ref, pin.x, pin.state) for pin in side.pins] for side in shown.sides} == {
        "top": [("R1", "250.0", "good"), ("R10", "750.0", "empty")],
        "bottom": [("R2", "500.0", "faulty")],
    }
    assert shown.loose == (("R47", "empty"),)


def test_a_place_that_is_on_no_picture_is_not_called_pinned(board: Board, sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("pins", args=[board.design_id])).content.decode()
    assert "<strong>R47</strong>" in page
    assert "</svg> pinned" not in page


def test_each_state_is_shown_by_its_word_beside_its_shape(board: Board, sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("board", args=[board.pk])).content.decode()
    for state in ("good", "faulty", "empty"):
        assert f'href="#pin-{state}"/></svg> {state}' in page


@pytest.mark.parametrize(("typed", "lit"), [("R1", "R1"), ("r47", "R47")])
def test_a_typed_reference_is_lit_without_any_script(
    board: Board, sign_in: Enter, typed: str, lit: str
) -> None:
    page = sign_in("viewer").get(reverse("board", args=[board.pk]), {"ref": typed})
    assert page.context["here"].trace.ref == lit
    assert page.content.decode().count("lit-pin") == 1


def test_a_reference_that_is_not_there_is_reported(board: Board, sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("board", args=[board.pk]), {"ref": "Q9"}).content.decode()
    assert "has no position Q9" in page


def test_a_board_without_a_picture_is_a_grid_in_reference_order(design: Design, sign_in: Enter) -> None:
    board = BoardFactory(design=design)
    shown = sign_in("viewer").get(reverse("board", args=[board.pk])).context["map"]
    assert shown.sides == ()
    assert [ref for ref, _state in shown.loose] == ["R1", "R2", "R10", "R47"]


def test_the_place_that_is_stripped_next_is_lit(board: Board, sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("strip", args=[board.pk]))
    assert page.context["lit"] == page.context["here"].ref == "R1"
    assert 'lit-pin" data-pin="R1"' in page.content.decode()


def test_pictures_of_what_the_bench_has_are_on_their_pages(workshop: None, sign_in: Enter) -> None:
    from inventory.models import Lot
    from repairs.models import Job, Trial

    client = sign_in("bench")
    for subject, row in (
        ("lot", Lot.objects.first()), ("board", Board.objects.first()), ("job", Job.objects.first()),
        ("design", Design.objects.first()), ("trial", Trial.objects.first()),
    ):  # fmt: skip
        file = SimpleUploadedFile("a.png", png(), "image/png")
        sent = {"subject": subject, "subject_id": row.pk, "file": file, "note": f"of the {subject}"}
        page = client.post(reverse("add-photo"), sent, follow=True).content.decode()
        assert f"of the {subject}" in page
        assert "?longest=240" in page


def test_keeping_no_pin_at_all_is_refused_and_the_list_is_kept(design: Design, sign_in: Enter) -> None:
    pictured(design)
    answer = sign_in("bench").post(reverse("pins", args=[design.pk]), {"refs": "R2, what"})
    assert answer.status_code == 400
    assert "tap on the picture first" in answer.content.decode()
    assert answer.context["refs"] == "R2, what"


def test_names_of_close_positions_step_aside() -> None:
    """Four pins in a row, so close that their names would cover one another above."""
    at = {f"C{number}": (100.0 + 16 * number, 100.0) for number in range(20, 24)}
    places = _names_beside(at)
    boxes = [_name_box(ref, at[ref], places[ref]) for ref in at]
    hidden = sum(_overlap(one, other) for one, other in combinations(boxes, 2))
    all_above = [_name_box(ref, at[ref], (0, -11, "middle")) for ref in at]
    assert hidden < sum(_overlap(one, other) for one, other in combinations(all_above, 2)) / 4


def test_a_name_alone_stands_above_its_position() -> None:
    assert _names_beside({"R1": (500.0, 300.0)}) == {"R1": (0, -11, "middle")}
