"""Boards: registered with their place, surveyed, and asked what came off them and what is on them."""

from typing import Any

import pytest

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Board, Design, Lot, Part, Place
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, spec, stock

BOARDS = "/api/v1/boards/"


@pytest.fixture
def design(db: None) -> Design:
    return DesignFactory(
        name="Plover", revision="A",
        positions={"R1": spec(), "R2": spec(), "C1": spec("capacitor", "100n")},
    )  # fmt: skip


def test_a_board_brings_its_place(bench: Any, design: Design) -> None:
    answer = bench.post(BOARDS, {"name": "Plover 1", "design": design.pk, "purpose": "donor"})
    assert answer.status_code == 201, answer.content
    board = answer.json()
    assert bench.get(answer.headers["Location"]).json() == board
    assert (board["design_name"], board["purpose"]) == ("Plover A", "donor")
    place = Place.objects.get(pk=board["place"])
    assert (place.name, place.type) == ("Plover 1", "board")
    assert not Lot.objects.exists()


def test_a_survey_enters_one_untested_piece_at_every_position(bench: Any, design: Design) -> None:
    board = bench.post(
        BOARDS, {"name": "Plover 1", "design": design.pk, "purpose": "donor", "survey": True}
    ).json()
    lots = bench.get(f"/api/v1/lots/?at_board={board['id']}").json()["results"]
    assert [(lot["origin"]["ref"], lot["condition"], lot["quantity"]) for lot in lots] == [
        ("R1", "untested", 1), ("R2", "untested", 1), ("C1", "untested", 1),
    ]  # fmt: skip
    assert {lot["holdings"][0]["ref"] for lot in lots} == {"R1", "R2", "C1"}
    assert Part.objects.count() == 2, "two alike positions share a part"
    assert ledger.differences() == []


def test_a_survey_takes_a_constant_number_of_queries(bench: Any, django_assert_max_num_queries: Any) -> None:
    big = DesignFactory(positions={f"R{n}": spec("resistor", f"{n + 1}k") for n in range(60)})
    with django_assert_max_num_queries(30):
        bench.post(BOARDS, {"name": "Plover 9", "design": big.pk, "purpose": "donor", "survey": True})
    assert Lot.objects.count() == 60


def test_a_later_survey_enters_only_what_is_not_known_yet(bench: Any, design: Design) -> None:
    board = bench.post(BOARDS, {"name": "Plover 1", "design": design.pk, "purpose": "donor"}).json()
    ledger.lift(Board.objects.get(), ["R1"], Spot(PlaceFactory().pk), by=None)
    assert bench.patch(f"{BOARDS}{board['id']}/", {"survey": True}).status_code == 200
    assert bench.patch(f"{BOARDS}{board['id']}/", {"survey": True}).status_code == 200
    here = bench.get(f"/api/v1/lots/?at_board={board['id']}").json()["results"]
    assert sorted(lot["origin"]["ref"] for lot in here) == ["C1", "R2"]
    assert Lot.objects.count() == 3


def test_nobody_knows_what_is_on_a_board_without_a_design(bench: Any) -> None:
    body = refused(bench.post(BOARDS, {"name": "found in a skip", "purpose": "donor", "survey": True}), 409)
    assert body["code"] == "no_design"
    assert not Board.objects.exists()
    assert not Place.objects.filter(type="board").exists()


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({}, {"#/name", "#/purpose"}),
        ({"name": "", "purpose": "donor"}, {"#/name"}),
        ({"name": "n" * 121, "purpose": "donor"}, {"#/name"}),
        ({"name": "x", "purpose": "spare"}, {"#/purpose"}),
        ({"name": "x", "purpose": "donor", "design": 999}, {"#/design"}),
        ({"name": "x", "purpose": "donor", "design": "Plover"}, {"#/design"}),
        ({"name": "x", "purpose": "donor", "survey": "perhaps"}, {"#/survey"}),
        ({"name": "x", "purpose": "donor", "colour": "green"}, {"#/colour"}),
    ],
)
def test_a_wrong_board_is_refused(bench: Any, sent: dict[str, Any], pointer: set[str]) -> None:
    assert pointers(refused(bench.post(BOARDS, sent), 400)) == pointer
    assert not Board.objects.exists()


@pytest.mark.parametrize("taken", ["board", "drawer"])
def test_a_board_has_a_name_of_its_own_among_boards_and_places(bench: Any, taken: str) -> None:
    if taken == "board":
        BoardFactory(name="Plover 1")
    else:
        PlaceFactory(name="Plover 1")
    assert pointers(refused(bench.post(BOARDS, {"name": "Plover 1", "purpose": "donor"}), 409)) == {"#/name"}


def test_a_board_and_its_place_are_renamed_together(bench: Any) -> None:
    board = BoardFactory(name="Plover 1")
    answer = bench.patch(f"{BOARDS}{board.pk}/", {"name": "Plover, drowned"}, headers={"If-Match": '"1"'})
    assert (answer.status_code, answer.json()["version"]) == (200, 2)
    assert Place.objects.get(pk=board.place_id).name == "Plover, drowned"


def test_a_name_that_a_place_has_is_refused_whole(bench: Any) -> None:
    PlaceFactory(name="Tray 1")
    board = BoardFactory(name="Plover 1")
    refused(bench.patch(f"{BOARDS}{board.pk}/", {"name": "Tray 1", "note": "x"}), 409)
    board.refresh_from_db()
    assert (board.name, board.note, board.version) == ("Plover 1", "", 1)


def test_boards_are_found(viewer: Any, design: Design) -> None:
    BoardFactory(name="Plover 1", design=design)
    BoardFactory(name="Dunlin", purpose="working")

    def names(query: str) -> list[str]:
        return [row["name"] for row in viewer.get(f"{BOARDS}?{query}").json()["results"]]

    assert names("purpose=working") == ["Dunlin"]
    assert names("purpose=working&purpose=donor&ordering=name") == ["Dunlin", "Plover 1"]
    assert names(f"design={design.pk}") == ["Plover 1"]
    assert names("q=plover") == ["Plover 1"]


def test_an_owner_forgets_a_board_that_nothing_was_ever_on(owner: Any) -> None:
    board = BoardFactory()
    assert owner.delete(f"{BOARDS}{board.pk}/").status_code == 204
    assert not Place.objects.filter(pk=board.place_id).exists()
    kept = stock(1, place=BoardFactory().place, ref="R1")
    refused(owner.delete(f"{BOARDS}{kept.place.board.pk}/"), 409)
    assert Place.objects.filter(pk=kept.place_id).exists()


# --- traced


def position(bench: Any, board: Board, ref: str) -> dict[str, Any]:
    result = bench.get(f"{BOARDS}{board.pk}/trace/").json()
    found: dict[str, Any] = next(each for each in result["positions"] if each["ref"] == ref)
    return found


def test_a_trace_tells_what_came_off_and_where_it_is_now(bench: Any, design: Design) -> None:
    donor = BoardFactory(name="Plover 1", design=design)
    target = BoardFactory(name="Plover 2", design=design, purpose="under_repair")
    drawer = PlaceFactory(name="Drawer 7", within=PlaceFactory(name="Cabinet A"))
    lifted = ledger.lift(donor, ["R1", "C1"], Spot(drawer.pk), by=None)
    ledger.fit(lifted[0].lot, Spot(drawer.pk), target, "R2", by=None)
    gone = position(bench, donor, "R1")
    assert gone["spec_text"] == "4k7 resistor"
    assert gone["fitted"] == []
    assert [(there["place_name"], there["ref"]) for there in gone["came_off"][0]["now"]] == [
        ("Plover 2", "R2")
    ]
    assert position(bench, donor, "C1")["came_off"][0]["now"][0]["place_name"] == "Cabinet A / Drawer 7"
    fitted = position(bench, target, "R2")["fitted"][0]
    assert (fitted["lot"], fitted["original"]) == (lifted[0].lot_id, False)
    assert (fitted["origin"]["board_name"], fitted["origin"]["ref"]) == ("Plover 1", "R1")


def test_a_piece_that_never_left_is_fitted_and_came_off_nothing(bench: Any, design: Design) -> None:
    board = bench.post(
        BOARDS, {"name": "Plover 1", "design": design.pk, "purpose": "donor", "survey": True}
    ).json()
    result = position(bench, Board.objects.get(pk=board["id"]), "R1")
    assert result["came_off"] == []
    assert [each["original"] for each in result["fitted"]] == [True]


def test_a_piece_that_came_off_and_another_that_took_its_place_are_both_shown(
    bench: Any, design: Design
) -> None:
    board = BoardFactory(design=design, purpose="under_repair")
    drawer = PlaceFactory()
    old = ledger.lift(board, ["C1"], Spot(drawer.pk), by=None)[0]
    new = stock(5, part=PartFactory(of=spec("capacitor", "100n")), source="bought", giver="the fair")
    ledger.fit(new.lot, Spot(new.place_id), board, "C1", by=None)
    result = position(bench, board, "C1")
    assert [each["lot"] for each in result["came_off"]] == [old.lot_id]
    assert [(each["lot"], each["origin"]["from"]) for each in result["fitted"]] == [(new.lot_id, "the fair")]


def test_a_piece_that_was_lost_came_off_and_is_nowhere(bench: Any, design: Design) -> None:
    board = BoardFactory(design=design)
    drawer = PlaceFactory()
    line = ledger.lift(board, ["R1"], Spot(drawer.pk), by=None)[0]
    ledger.count(line.lot, Spot(drawer.pk), 0, by=None)
    assert position(bench, board, "R1")["came_off"] == [
        {"lot": line.lot_id, "spec_text": "4k7 resistor", "condition": "untested", "now": []}
    ]


def test_positions_come_in_natural_order_with_those_the_design_does_not_know(
    bench: Any, design: Design
) -> None:
    board = BoardFactory(design=design)
    ledger.lift(board, ["R10"], Spot(PlaceFactory().pk), by=None, part=PartFactory())
    result = bench.get(f"{BOARDS}{board.pk}/trace/").json()["positions"]
    assert [(each["ref"], each["spec_text"] != "") for each in result] == [
        ("C1", True), ("R1", True), ("R2", True), ("R10", False),
    ]  # fmt: skip


def test_a_trace_takes_a_constant_number_of_queries(bench: Any, django_assert_max_num_queries: Any) -> None:
    big = DesignFactory(positions={f"R{n}": spec("resistor", f"{n + 1}k") for n in range(30)})
    board = bench.post(
        BOARDS, {"name": "Plover 9", "design": big.pk, "purpose": "donor", "survey": True}
    ).json()
    ledger.lift(Board.objects.get(), [f"R{n}" for n in range(15)], Spot(PlaceFactory().pk), by=None)
    with django_assert_max_num_queries(12):
        result = bench.get(f"{BOARDS}{board['id']}/trace/").json()
    assert sum(len(each["came_off"]) for each in result["positions"]) == 15
