"""Lots: how pieces come in, what may be said of them anew, how they are found, and where they have been."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Board, Holding, Lot, Movement, Part, Place
from inventory.spec import Spec
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock

LOTS = "/api/v1/lots/"
FILM = {"kind": "capacitor", "value": "100n", "volts": "63", "dielectric": "film"}


def salvaged(board: Board, ref: str, *, of: Spec | None = None, place: Place | None = None) -> Lot:
    """A piece that came off a board, in a drawer."""
    part = PartFactory(of=of or spec("resistor", "4k7"))
    return ledger.lift(board, [ref], Spot((place or PlaceFactory()).pk), by=None, part=part)[0].lot


@pytest.fixture
def drawer(db: None) -> Place:
    return PlaceFactory(name="Drawer 7", within=PlaceFactory(name="Cabinet A"))


def test_pieces_come_in_by_the_ledger(bench: Any, drawer: Place) -> None:
    sent = {"part": FILM, "place": drawer.pk, "quantity": 30, "condition": "good", "marking": ".1K63"}
    answer = bench.post(LOTS, sent)
    assert answer.status_code == 201, answer.content
    lot = answer.json()
    assert bench.get(answer.headers["Location"]).json() == lot
    assert lot["spec"]["value_text"] == "100n"
    assert lot["spec_text"] == "100n 63 V film"
    assert lot["origin"] == {"source": "unknown", "board": None, "board_name": "", "ref": "", "from": ""}
    assert (lot["condition"], lot["marking"], lot["quantity"], lot["promised"]) == ("good", ".1K63", 30, 0)
    assert lot["holdings"] == [
        {"place": drawer.pk, "place_name": "Cabinet A / Drawer 7", "ref": "", "quantity": 30, "promised": 0}
    ]
    line = Movement.objects.get()
    assert (line.kind, line.lot_id, line.quantity, line.by) == ("receive", lot["id"], 30, bench.person)
    assert ledger.differences() == []


def test_pieces_come_in_to_several_places_as_one_lot(bench: Any, drawer: Place) -> None:
    tray = PlaceFactory(name="Tray 1", type="tray")
    holdings = [{"place": drawer.pk, "quantity": 30}, {"place": tray.pk, "quantity": 10}]
    lot = bench.post(LOTS, {"part": FILM, "holdings": holdings}).json()
    assert [(held["place"], held["quantity"]) for held in lot["holdings"]] == [(drawer.pk, 30), (tray.pk, 10)]
    assert lot["quantity"] == 40
    assert Lot.objects.count() == 1
    assert ledger.differences() == []


def test_a_part_that_is_known_is_found_again(bench: Any, drawer: Place) -> None:
    first = bench.post(LOTS, {"part": FILM, "place": drawer.pk}).json()
    again = bench.post(LOTS, {"part": {**FILM, "value": "0.1 µF"}, "place": drawer.pk}).json()
    by_id = bench.post(LOTS, {"part": first["part"], "place": drawer.pk}).json()
    assert first["part"] == again["part"] == by_id["part"] == Part.objects.get().pk
    assert Lot.objects.count() == 3


def test_a_bought_lot_says_from_whom(bench: Any, drawer: Place) -> None:
    sent = {"part": FILM, "place": drawer.pk, "origin": {"source": "bought", "from": "the autumn fair"}}
    assert bench.post(LOTS, sent).json()["origin"] == {
        "source": "bought", "board": None, "board_name": "", "ref": "", "from": "the autumn fair",
    }  # fmt: skip


def test_a_salvaged_piece_says_from_which_board_and_position(bench: Any, drawer: Place) -> None:
    board = BoardFactory(name="Plover 1")
    lot = bench.post(
        LOTS, {"part": FILM, "place": drawer.pk, "origin": {"board": board.pk, "ref": "C7"}}
    ).json()
    assert lot["origin"] == {
        "source": "board",
        "board": board.pk,
        "board_name": "Plover 1",
        "ref": "C7",
        "from": "",
    }
    found = bench.get(f"{LOTS}?board={board.pk}").json()["results"]
    assert [row["id"] for row in found] == [lot["id"]]


def test_a_position_gave_one_piece_for_life(bench: Any, drawer: Place) -> None:
    origin = {"board": BoardFactory().pk, "ref": "C7"}
    refused(bench.post(LOTS, {"part": FILM, "place": drawer.pk, "quantity": 2, "origin": origin}), 409)
    first = bench.post(LOTS, {"part": FILM, "place": drawer.pk, "origin": origin}).json()
    body = refused(bench.post(LOTS, {"part": FILM, "place": drawer.pk, "origin": origin}), 409)
    assert (body["code"], body["lot"]) == ("known_piece", first["id"])


def test_a_taken_position_says_what_is_in_it(bench: Any) -> None:
    board = BoardFactory()
    held = stock(1, place=board.place, ref="R1")
    body = refused(bench.post(LOTS, {"part": FILM, "place": board.place_id, "ref": "R1"}), 409)
    assert (body["code"], body["available"]) == ("position_taken", 0)
    assert Holding.objects.get().pk == held.pk


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"part": None}, "#/part"),
        ({"part": 999}, "#/part"),
        ({"part": "x"}, "#/part"),
        ({"part": True}, "#/part"),
        ({"part": []}, "#/part"),
        ({"part": {}}, "#/part/kind"),
        ({"part": {"kind": "resistor", "value": "?"}}, "#/part/value"),
        ({"part": {"kind": "resistor", "colour": 1}}, "#/part/colour"),
        ({"place": None}, "#/place"),
        ({"place": 999}, "#/place"),
        ({"quantity": 0}, "#/quantity"),
        ({"quantity": -3}, "#/quantity"),
        ({"quantity": 10**12}, "#/quantity"),
        ({"quantity": "many"}, "#/quantity"),
        ({"quantity": 1.5}, "#/quantity"),
        ({"ref": "R1-R4"}, "#/ref"),
        ({"condition": "fine"}, "#/condition"),
        ({"marking": "m" * 201}, "#/marking"),
        ({"measured": "a lot"}, "#/measured"),
        ({"measured": "-1"}, "#/measured"),
        ({"origin": "a friend"}, "#/origin"),
        ({"origin": {"source": "stolen"}}, "#/origin/source"),
        ({"origin": {"source": "board"}}, "#/origin/board"),
        ({"origin": {"board": 999}}, "#/origin/board"),
        ({"origin": {"source": "bought", "ref": "R1"}}, "#/origin/board"),
        ({"origin": {"source": "bought", "form": "typo"}}, "#/origin/form"),
        ({"origin": {"source": "bought", "from": "f" * 201}}, "#/origin/from"),
        ({"origin": {"source": ["bought"]}}, "#/origin/source"),
        ({"holdings": []}, "#/holdings"),
        ({"holdings": "here"}, "#/holdings"),
        ({"condtion": "good"}, "#/condtion"),
    ],
)
def test_a_wrong_lot_is_refused_with_the_place(
    bench: Any, drawer: Place, change: dict[str, Any], pointer: str
) -> None:
    body = refused(bench.post(LOTS, {"part": FILM, "place": drawer.pk, **change}), 400)
    assert pointer in pointers(body)
    assert not Lot.objects.exists()
    assert not Part.objects.exists()


@pytest.mark.parametrize(
    ("holdings", "more", "pointer"),
    [
        (None, {}, "#/holdings"),
        ([{"place": "here"}], {"place": "here"}, "#/holdings"),
        ([{"place": "here"}, {"place": "here"}], {}, "#/holdings"),
        ([{"place": "here", "quantity": 3}], {"quantity": 4}, "#/quantity"),
        ([{"quantity": 3}], {}, "#/holdings/0/place"),
        ([{"place": "here", "quantity": 0}], {}, "#/holdings/0/quantity"),
        ([{"place": "here", "spot": 1}], {}, "#/holdings/0/spot"),
    ],
)
def test_where_the_pieces_are_is_given_once(
    bench: Any, drawer: Place, holdings: Any, more: dict[str, Any], pointer: str
) -> None:
    sent: dict[str, Any] = {
        "part": FILM,
        **{name: drawer.pk if value == "here" else value for name, value in more.items()},
    }
    if holdings is not None:
        sent["holdings"] = [
            {name: drawer.pk if value == "here" else value for name, value in held.items()}
            for held in holdings
        ]
    assert pointers(refused(bench.post(LOTS, sent), 400)) == {pointer}


def test_nothing_is_kept_outside_and_no_lot_lies_across_boards(bench: Any, drawer: Place) -> None:
    body = refused(bench.post(LOTS, {"part": FILM, "place": Place.outside().pk}), 409)
    assert body["code"] == "outside"
    holdings = [{"place": BoardFactory().place_id, "ref": "C1"}, {"place": drawer.pk}]
    assert refused(bench.post(LOTS, {"part": FILM, "holdings": holdings}), 409)["code"] == "several_places"


def test_a_reading_is_taken_in_any_notation(bench: Any, drawer: Place) -> None:
    sent = {"part": FILM, "place": drawer.pk, "measured": "98.2 nF"}
    lot = bench.post(LOTS, sent).json()
    assert (lot["measured"], lot["measured_text"]) == ("0.0000000982", "98n2")
    assert Lot.objects.get().measured == 98_200_000
    body = refused(bench.post(LOTS, {"part": {"kind": "ic"}, "place": drawer.pk, "measured": "1"}), 400)
    assert pointers(body) == {"#/measured"}


# --- said anew


def test_marking_condition_reading_and_note_are_changed(bench: Any) -> None:
    lot = stock(3, condition="untested").lot
    sent = {"marking": "4K7J", "condition": "good", "measured": "4.71k", "note": "cleaned"}
    answer = bench.patch(f"{LOTS}{lot.pk}/", sent, headers={"If-Match": '"1"'})
    assert answer.status_code == 200
    result = answer.json()
    assert [result[name] for name in ("marking", "condition", "measured", "note", "version")] == [
        "4K7J", "good", "4710", "cleaned", 2,
    ]  # fmt: skip
    assert bench.patch(f"{LOTS}{lot.pk}/", {"measured": None}).json()["measured"] is None


@pytest.mark.parametrize("name", ["origin", "holdings", "quantity", "place", "split_from"])
def test_origin_and_places_are_not_changed(bench: Any, name: str) -> None:
    """The one is for life, the other changes by movements."""
    lot = stock(3).lot
    result = bench.get(f"{LOTS}{lot.pk}/").json()
    assert pointers(refused(bench.patch(f"{LOTS}{lot.pk}/", {name: result.get(name)}), 400)) == {f"#/{name}"}


def test_a_piece_turns_out_to_be_another_part_and_keeps_its_origin(bench: Any) -> None:
    board = BoardFactory()
    lot = salvaged(board, "C7")
    result = bench.patch(f"{LOTS}{lot.pk}/", {"part": FILM}).json()
    assert result["spec_text"] == "100n 63 V film"
    assert (result["origin"]["board"], result["origin"]["ref"]) == (board.pk, "C7")


def test_a_reading_does_not_outlive_the_kind_it_was_taken_of(bench: Any) -> None:
    lot = stock(1, part=PartFactory(of=spec("resistor", "4k7"))).lot
    bench.patch(f"{LOTS}{lot.pk}/", {"measured": "4k7"})
    assert pointers(refused(bench.patch(f"{LOTS}{lot.pk}/", {"part": FILM}), 400)) == {"#/measured"}
    answer = bench.patch(f"{LOTS}{lot.pk}/", {"part": FILM, "measured": "99n"})
    assert (answer.status_code, answer.json()["measured_text"]) == (200, "99n")


def test_what_was_bought_stays_what_was_bought(bench: Any) -> None:
    lot = stock(5, source="bought", giver="the fair").lot
    assert refused(bench.patch(f"{LOTS}{lot.pk}/", {"part": FILM}), 409)["code"] == "bought"


@pytest.mark.parametrize("change", [{"condition": "faulty"}, {"part": FILM}])
def test_promised_pieces_do_not_change_under_whoever_was_promised_them(
    bench: Any, change: dict[str, Any]
) -> None:
    from repairs.reservations import release, reserve

    holding = stock(5)
    promise = reserve(NeedFactory(of=holding.lot.part.spec.spec, quantity=2), holding, 2, by=None)
    body = refused(bench.patch(f"{LOTS}{holding.lot_id}/", change), 409)
    assert (body["code"], body["promised"]) == ("promised", 2)
    assert bench.patch(f"{LOTS}{holding.lot_id}/", {"note": "two are promised"}).status_code == 200
    release(promise)
    assert bench.patch(f"{LOTS}{holding.lot_id}/", change).status_code == 200


# --- found


@pytest.fixture
def three_lots(drawer: Place) -> dict[str, Any]:
    """Three lots: resistors in the drawer, one on a donor, and faulty capacitors in a tray."""
    board = BoardFactory(name="Plover 1")
    tray = PlaceFactory(name="Tray 1", type="tray")
    resistors = stock(10, part=PartFactory(of=spec("resistor", "4k7")), place=drawer)
    bench_tray = PlaceFactory(name="Tray 2", type="tray")
    lifted = salvaged(board, "R9", of=spec("resistor", "47k"), place=bench_tray)
    faulty = stock(4, part=PartFactory(of=spec("capacitor", "100n")), place=tray, condition="faulty")
    Lot.objects.filter(pk=faulty.lot_id).update(marking="104K 100")
    return {
        "board": board, "cabinet": drawer.within_id, "drawer": drawer.pk, "tray": tray.pk,
        "resistors": resistors.lot_id, "salvaged": lifted.pk, "faulty": faulty.lot_id,
        "part": resistors.lot.part_id, "from": board.pk, "bench": bench_tray.pk,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("kind=resistor", ["resistors", "salvaged"]),
        ("value=4k7", ["resistors"]),
        ("value=100n", ["faulty"]),
        ("kind=resistor&value_min=10k", ["salvaged"]),
        ("kind=resistor&value_max=10k", ["resistors"]),
        ("place={drawer}", ["resistors"]),
        ("place={cabinet}", ["resistors"]),
        ("place={bench}", ["salvaged"]),
        ("condition=good", ["resistors"]),
        ("condition=untested&condition=faulty", ["salvaged", "faulty"]),
        ("board={from}", ["salvaged"]),
        ("at_board={from}", []),
        ("source=board", ["salvaged"]),
        ("part={part}", ["resistors"]),
        ("free=true", ["resistors", "salvaged"]),
        ("free=false", ["faulty"]),
        ("q=4.7k", ["resistors"]),
        ("q=104K", ["faulty"]),
        ("q=plover", ["salvaged"]),
        ("q=plover%2047k", ["salvaged"]),
        ("q=plover%204k7", []),
        ("ordering=-condition", ["salvaged", "resistors", "faulty"]),
        ("ordering=kind,-value", ["faulty", "salvaged", "resistors"]),
    ],
)
def test_lots_are_found(viewer: Any, three_lots: dict[str, Any], query: str, found: list[str]) -> None:
    answer = viewer.get(f"{LOTS}?{query.format(**three_lots)}")
    assert answer.status_code == 200, answer.content
    assert [row["id"] for row in answer.json()["results"]] == [three_lots[name] for name in found]


@pytest.mark.parametrize(
    "query", ["place=999", "board=x", "at_board=999", "part=0", "condition=fine", "free=maybe", "source=x"]
)
def test_a_filter_that_names_nothing_known_is_refused(viewer: Any, query: str) -> None:
    refused(viewer.get(f"{LOTS}?{query}"), 400)


def test_what_is_on_a_board_is_found_there(viewer: Any) -> None:
    board = BoardFactory()
    held = stock(1, place=board.place, ref="R1")
    assert [row["id"] for row in viewer.get(f"{LOTS}?at_board={board.pk}").json()["results"]] == [held.lot_id]
    assert viewer.get(f"{LOTS}?board={board.pk}").json()["count"] == 0


def test_pieces_that_left_a_place_are_not_found_there(viewer: Any, three_lots: dict[str, Any]) -> None:
    lot = Lot.objects.get(pk=three_lots["resistors"])
    ledger.move(lot, Spot(three_lots["drawer"]), Spot(three_lots["tray"]), 10, by=None)
    assert viewer.get(f"{LOTS}?place={three_lots['drawer']}").json()["count"] == 0
    assert [held["place"] for held in viewer.get(f"{LOTS}{lot.pk}/").json()["holdings"]] == [
        three_lots["tray"]
    ]


@pytest.mark.parametrize("query", ["", "?kind=resistor&q=4k7&free=true&ordering=-value"])
def test_a_page_of_lots_takes_a_constant_number_of_queries(
    viewer: Any, drawer: Place, query: str, django_assert_num_queries: Any
) -> None:
    query = f"{query or '?page_size=50'}&place={drawer.pk}"
    stock(2, place=drawer)
    with CaptureQueriesContext(connection) as few:
        assert viewer.get(f"{LOTS}{query}").json()["count"] == 1
    board = BoardFactory()
    for number in range(40):
        salvaged(board, f"R{number}", place=PlaceFactory(within=drawer))
    with django_assert_num_queries(len(few)):
        assert viewer.get(f"{LOTS}{query}").json()["count"] == 41
    assert len(few) <= 9


# --- traced


def test_a_trace_tells_every_movement_oldest_first_and_where_it_is_now(bench: Any, drawer: Place) -> None:
    board = BoardFactory(name="Plover 1")
    target = BoardFactory(name="Plover 2", purpose=Board.Purpose.UNDER_REPAIR)
    part = PartFactory(of=spec("capacitor", "100n"))
    line = ledger.lift(board, ["C7"], Spot(drawer.pk), by=bench.person, part=part)[0]
    ledger.fit(line.lot, Spot(drawer.pk), target, "C3", by=bench.person)
    result = bench.get(f"{LOTS}{line.lot_id}/trace/").json()
    assert result["origin"]["board_name"] == "Plover 1"
    assert result["origin"]["ref"] == "C7"
    assert [
        (each["kind"], each["from_name"], each["to_name"], each["by"]) for each in result["movements"]
    ] == [
        ("receive", "outside", "Plover 1", "bench"),
        ("lift", "Plover 1", "Drawer 7", "bench"),
        ("fit", "Drawer 7", "Plover 2", "bench"),
    ]
    assert result["now"] == [
        {
            "lot": line.lot_id, "place": target.place_id, "place_name": "Plover 2", "type": "board",
            "ref": "C3", "quantity": 1, "promised": 0, "mixed": False,
        }
    ]  # fmt: skip


def test_a_trace_follows_a_split_both_ways(bench: Any, drawer: Place) -> None:
    whole = stock(10, place=drawer, condition="untested")
    line = ledger.split(whole.lot, Spot(drawer.pk), 3, condition="good", by=None)
    tray = PlaceFactory(name="Tray 1", type="tray")
    ledger.move(line.to_lot, Spot(drawer.pk), Spot(tray.pk), 3, by=None)
    old = bench.get(f"{LOTS}{whole.lot_id}/trace/").json()
    assert [(there["lot"], there["place"], there["quantity"]) for there in old["now"]] == [
        (whole.lot_id, drawer.pk, 7), (line.to_lot_id, tray.pk, 3),
    ]  # fmt: skip
    new = bench.get(f"{LOTS}{line.to_lot_id}/trace/").json()
    assert new["split_from"] == whole.lot_id
    assert [each["kind"] for each in new["movements"]] == ["receive", "move", "move"]
    assert new["movements"][0]["lot"] == whole.lot_id
    assert [(there["lot"], there["quantity"]) for there in new["now"]] == [(line.to_lot_id, 3)]


def test_what_moved_since_a_line_of_the_ledger_is_listed(viewer: Any) -> None:
    quiet, moved, split = stock(2), stock(5), stock(4)
    last = Movement.objects.order_by("-id")[0].pk
    tray = Spot(PlaceFactory().pk)
    ledger.move(moved.lot, Spot(moved.place_id), tray, 5, by=None)
    line = ledger.split(split.lot, Spot(split.place_id), 1, condition=Lot.Condition.FAULTY, by=None)
    assert quiet.lot_id != moved.lot_id
    rows = viewer.get("/api/v1/lots/", {"moved_after": last}).json()["results"]
    assert {row["id"] for row in rows} == {moved.lot_id, split.lot_id, line.to_lot_id}
    lines = viewer.get("/api/v1/movements/", {"after": last, "ordering": "id"}).json()["results"]
    assert [each["lot"] for each in lines] == [moved.lot_id, split.lot_id]
    assert viewer.get("/api/v1/movements/", {"after": line.pk}).json()["results"] == []
    refused(viewer.get("/api/v1/lots/", {"moved_after": 10**9}), 400)
