"""The ledger through the API: every kind of movement, what it refuses and why; nothing is ever edited.

One file, since movements undo and refuse each other on the same boards and drawers.
"""

import random
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import pytest

from inventory.models import Board, Holding, Lot, Movement, Part, Place, StoredSpec
from inventory.pages.life import WORDS
from repairs import jobs, reservations
from repairs.api.movement_bodies import BODIES
from repairs.api.movements import ACTS
from repairs.audit import audit
from repairs.models import Job, Loan, Need, Reservation
from tests.api.asking import ids, queries
from tests.api.test_problems import pointers, refused
from tests.examples import examples
from tests.factories import (
    BoardFactory,
    DesignFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)
from tests.parts import FILM, RESISTOR

pytestmark = pytest.mark.usefixtures("adds_up")
MOVEMENTS = "/api/v1/movements/"


@pytest.fixture
def design(db: None) -> Any:
    return DesignFactory(positions={"R1": RESISTOR, "R2": RESISTOR, "C4": FILM, "C5": FILM})


@pytest.fixture
def donor(design: Any) -> Board:
    return BoardFactory(design=design, name="Plover donor")


@pytest.fixture
def working(design: Any) -> Board:
    return BoardFactory(design=design, name="Plover that works", purpose="working")


@pytest.fixture
def target(design: Any) -> Board:
    return BoardFactory(design=design, name="Plover to mend", purpose="under_repair")


@pytest.fixture
def tray(db: None) -> Place:
    return PlaceFactory(name="Tray 1", type="tray")


@pytest.fixture
def job(target: Board) -> Job:
    return jobs.open_job(name="Mend the Plover", board=target, refs="all", by=None)


def moved(client: Any, **body: Any) -> dict[str, Any]:
    """The line that was written."""
    answer = client.post(MOVEMENTS, {name.removesuffix("_"): value for name, value in body.items()})
    assert answer.status_code == 201, answer.content
    line: dict[str, Any] = answer.json()
    assert client.get(answer.headers["Location"]).json() == {
        name: value for name, value in line.items() if name not in ("movements", "notes")
    }
    assert "ETag" not in answer.headers, "a line never changes"
    return line


def not_moved(client: Any, status: int = 409, **body: Any) -> dict[str, Any]:
    """The refusal, after which nothing has changed."""
    before = state()
    answer = client.post(MOVEMENTS, {name.removesuffix("_"): value for name, value in body.items()})
    problem = refused(answer, status)
    assert state() == before
    return problem


def state() -> tuple[Any, ...]:
    return (
        list(Holding.objects.order_by("id").values_list("id", "quantity", "promised")),
        list(Need.objects.order_by("id").values_list("id", "promised", "fitted")),
        list(Reservation.objects.order_by("id").values_list("id", "status")),
        Movement.objects.count(),
        Lot.objects.count(),
        StoredSpec.objects.count(),
    )


def where(lot: int) -> list[tuple[int, str, int]]:
    return list(
        Holding.objects.filter(lot=lot, quantity__gt=0)
        .order_by("id")
        .values_list("place_id", "ref", "quantity")
    )


# --- receive, move, count, scrap


def test_pieces_come_in_from_outside(bench: Any, tray: Place) -> None:
    line = moved(
        bench, kind="receive", part={"kind": "resistor", "value": "4k7"}, quantity=50, to=tray.pk,
        origin={"source": "bought", "from": "Harbour Radio"},
    )  # fmt: skip
    assert (line["kind"], line["quantity"], line["to"], line["by"]) == ("receive", 50, tray.pk, "bench")
    assert line["from"] == Place.outside().pk
    assert line["movements"] == [
        {name: value for name, value in line.items() if name not in ("movements", "notes")}
    ]
    lot = bench.get(f"/api/v1/lots/{line['lot']}/").json()
    assert (lot["spec"]["value"], lot["origin"]["from"], lot["quantity"]) == ("4700", "Harbour Radio", 50)


def test_a_piece_from_a_board_position_is_one_piece_and_comes_in_once(
    bench: Any, donor: Board, tray: Place
) -> None:
    came = {
        "kind": "receive",
        "part": {"kind": "lamp"},
        "to": tray.pk,
        "origin": {"board": donor.pk, "ref": "R1"},
    }
    assert not_moved(bench, **came, quantity=2)["code"] == "one_piece"
    first = moved(bench, **came)
    again = not_moved(bench, **came)
    assert (again["code"], again["lot"]) == ("known_piece", first["lot"])


def test_pieces_go_from_drawer_to_drawer(bench: Any, tray: Place) -> None:
    here = stock(5)
    line = moved(
        bench, kind="move", lot=here.lot_id, from_=here.place_id, to=tray.pk, quantity=3, note="sorting"
    )
    assert (line["from"], line["to"], line["quantity"], line["note"]) == (
        here.place_id,
        tray.pk,
        3,
        "sorting",
    )
    assert where(here.lot_id) == [(here.place_id, "", 2), (tray.pk, "", 3)]


def test_where_from_may_be_left_out_while_the_lot_is_in_one_place(bench: Any, tray: Place) -> None:
    here = stock(5)
    moved(bench, kind="move", lot=here.lot_id, to=tray.pk, quantity=3)
    problem = not_moved(bench, 400, kind="move", lot=here.lot_id, to=tray.pk)
    assert pointers(problem) == {"#/from"}
    assert str(here.place_id) in problem["detail"]
    assert str(tray.pk) in problem["detail"]


def test_no_more_moves_than_is_held_and_the_refusal_says_how_many_there_are(bench: Any, tray: Place) -> None:
    here = stock(5)
    problem = not_moved(bench, kind="move", lot=here.lot_id, from_=here.place_id, to=tray.pk, quantity=6)
    assert (problem["code"], problem["available"], problem["held"]) == ("not_enough", 5, 5)
    elsewhere = not_moved(bench, kind="move", lot=here.lot_id, from_=tray.pk, to=here.place_id, quantity=1)
    assert (elsewhere["code"], elsewhere["available"]) == ("not_enough", 0)
    assert "Tray 1" in elsewhere["detail"]


def test_promised_pieces_stay_until_everything_moves(bench: Any, tray: Place) -> None:
    here = stock(5, part=PartFactory(of=RESISTOR))
    promise = reservations.reserve(NeedFactory(of=RESISTOR, quantity=2), here, 2, by=None)
    problem = not_moved(bench, kind="move", lot=here.lot_id, from_=here.place_id, to=tray.pk, quantity=4)
    assert (problem["available"], problem["held"], problem["promised"]) == (3, 5, 2)
    moved(bench, kind="move", lot=here.lot_id, from_=here.place_id, to=tray.pk, quantity=5)
    assert bench.get(f"/api/v1/reservations/{promise.pk}/").json()["place"] == tray.pk


def test_a_part_of_a_lot_is_split_off_in_another_condition(bench: Any) -> None:
    here = stock(5, condition="untested", source="bought", giver="Harbour Radio")
    line = moved(bench, kind="move", lot=here.lot_id, from_=here.place_id, quantity=2, condition="suspect")
    apart = bench.get(f"/api/v1/lots/{line['to_lot']}/").json()
    assert (apart["condition"], apart["quantity"], apart["split_from"]) == ("suspect", 2, here.lot_id)
    assert apart["origin"]["from"] == "Harbour Radio"
    assert where(here.lot_id) == [(here.place_id, "", 3)]


def test_what_is_split_off_may_go_to_another_place_at_once(bench: Any, tray: Place) -> None:
    here = stock(5)
    line = moved(bench, kind="move", lot=here.lot_id, quantity=2, condition="faulty", to=tray.pk)
    assert [each["kind"] for each in line["movements"]] == ["move", "move"]
    assert where(line["to_lot"]) == [(tray.pk, "", 2)]


def test_pieces_join_a_lot_that_is_like_theirs(bench: Any, tray: Place) -> None:
    part = PartFactory(of=RESISTOR)
    here, there = stock(5, part=part), stock(7, part=part, place=tray)
    line = moved(bench, kind="move", lot=here.lot_id, into=there.lot_id, quantity=5)
    assert (line["lot"], line["to_lot"], line["to"]) == (here.lot_id, there.lot_id, tray.pk)
    assert where(there.lot_id) == [(tray.pk, "", 12)]
    assert where(here.lot_id) == []


def test_lots_of_another_origin_are_not_merged(bench: Any) -> None:
    part = PartFactory(of=RESISTOR)
    here, there = stock(5, part=part), stock(7, part=part, source="bought", giver="Harbour Radio")
    problem = not_moved(bench, kind="move", lot=here.lot_id, into=there.lot_id, quantity=5)
    assert problem["code"] == "lots_differ"
    assert set(problem["differing"]) == {"origin_source", "origin_from"}


def test_a_count_writes_the_difference(bench: Any) -> None:
    here = stock(5)
    fewer = moved(bench, kind="count", lot=here.lot_id, at=here.place_id, quantity=3, note="recount")
    assert (fewer["quantity"], fewer["to"]) == (2, Place.outside().pk)
    more = moved(bench, kind="count", lot=here.lot_id, at=here.place_id, quantity=9)
    assert (more["quantity"], more["from"]) == (6, Place.outside().pk)
    same = moved(bench, kind="count", lot=here.lot_id, at=here.place_id, quantity=9)
    assert same["quantity"] == 0
    assert where(here.lot_id) == [(here.place_id, "", 9)]


def test_no_fewer_are_counted_than_are_promised(bench: Any) -> None:
    here = stock(5, part=PartFactory(of=RESISTOR))
    reservations.reserve(NeedFactory(of=RESISTOR, quantity=4), here, 4, by=None)
    problem = not_moved(bench, kind="count", lot=here.lot_id, at=here.place_id, quantity=3)
    assert (problem["code"], problem["available"], problem["promised"]) == ("promised", 1, 4)


def test_scrapped_pieces_go_to_the_scrap_bin(bench: Any) -> None:
    here = stock(5)
    line = moved(bench, kind="scrap", lot=here.lot_id, from_=here.place_id, quantity=2, note="cracked")
    assert line["to"] == Place.scrap().pk
    assert not_moved(bench, kind="scrap", lot=here.lot_id, from_=here.place_id, quantity=4)["available"] == 3


# --- lift, fit, remove


def test_pieces_lifted_off_a_board_keep_where_they_came_from(bench: Any, donor: Board, tray: Place) -> None:
    line = moved(bench, kind="lift", board=donor.pk, refs=["R1", "C4-C5"], to=tray.pk, condition="untested")
    assert [each["from_ref"] for each in line["movements"]] == ["R1", "C4", "C5"]
    for each, ref in zip(line["movements"], ["R1", "C4", "C5"], strict=True):
        lot = bench.get(f"/api/v1/lots/{each['lot']}/").json()
        assert (lot["origin"]["board"], lot["origin"]["ref"], lot["quantity"]) == (donor.pk, ref, 1)
        assert lot["condition"] == "untested"
        assert where(lot["id"]) == [(tray.pk, "", 1)]


def test_references_may_be_written_as_text(bench: Any, donor: Board, tray: Place) -> None:
    line = moved(bench, kind="lift", board=donor.pk, refs="R1-R2, C4", to=tray.pk)
    assert [each["from_ref"] for each in line["movements"]] == ["R1", "R2", "C4"]


@pytest.mark.parametrize(
    "refs", ["", [], "R4-R1", ["R1", "R1"], [1], 5, {"R1": 1}, "R1-R999999", ["\t;"], None]
)
def test_references_that_cannot_be_read_are_refused(bench: Any, donor: Board, tray: Place, refs: Any) -> None:
    problem = not_moved(bench, 400, kind="lift", board=donor.pk, refs=refs, to=tray.pk)
    assert pointers(problem) == {"#/refs"}


def test_what_is_gone_is_not_lifted_again_and_the_refusal_says_where_it_is(
    bench: Any, donor: Board, tray: Place
) -> None:
    first = moved(bench, kind="lift", board=donor.pk, refs=["R1"], to=tray.pk)
    problem = not_moved(bench, kind="lift", board=donor.pk, refs=["R2", "R1"], to=tray.pk)
    assert (problem["code"], problem["lot"]) == ("gone", first["lot"])
    assert "Tray 1" in problem["detail"]


def test_a_position_that_nobody_knows_needs_the_part(bench: Any, tray: Place) -> None:
    bare = BoardFactory(name="No drawing")
    assert not_moved(bench, kind="lift", board=bare.pk, refs=["X1"], to=tray.pk)["code"] == "unknown_position"
    line = moved(
        bench,
        kind="lift",
        board=bare.pk,
        refs=["X1"],
        to=tray.pk,
        part={"kind": "crystal", "value": "4.096 MHz"},
    )
    assert "4.096" in line["spec_text"]


def test_a_promise_made_on_the_donor_goes_along_with_the_piece(
    bench: Any, donor: Board, tray: Place, job: Job
) -> None:
    here = stock(place=donor.place, ref="R1", part=PartFactory(of=RESISTOR), source="board", board=donor)
    promise = reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    moved(bench, kind="lift", board=donor.pk, refs=["R1"], to=tray.pk)
    result = bench.get(f"/api/v1/reservations/{promise.pk}/").json()
    assert (result["place"], result["ref"], result["status"]) == (tray.pk, "", "held")


def test_a_promised_piece_is_fitted_by_its_reservation(bench: Any, job: Job, target: Board) -> None:
    here = stock(3, part=PartFactory(of=RESISTOR))
    promise = reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    line = moved(bench, kind="fit", reservation=promise.pk)
    assert (line["kind"], line["to"], line["to_ref"]) == ("fit", target.place_id, "R1")
    result = bench.get(f"/api/v1/reservations/{promise.pk}/").json()
    assert (result["status"], result["movement"]) == ("fitted", line["id"])
    need = bench.get(f"/api/v1/needs/{result['need']}/").json()
    assert (need["fitted"], need["promised"], need["lacking"]) == (1, 0, 0)
    assert not_moved(bench, kind="fit", reservation=promise.pk)["found_status"] == "fitted"


def test_a_free_piece_fitted_to_a_position_meets_the_need_there(bench: Any, job: Job, target: Board) -> None:
    here = stock(3, part=PartFactory(of=RESISTOR))
    moved(bench, kind="fit", lot=here.lot_id, from_=here.place_id, board=target.pk, ref="R2")
    assert job.needs.get(ref="R2").fitted == 1


def test_a_taken_position_is_not_fitted_and_the_refusal_names_what_is_there(
    bench: Any, job: Job, target: Board
) -> None:
    here = stock(3, part=PartFactory(of=RESISTOR))
    fitted = moved(bench, kind="fit", lot=here.lot_id, board=target.pk, ref="R1", from_=here.place_id)
    problem = not_moved(bench, kind="fit", lot=here.lot_id, from_=here.place_id, board=target.pk, ref="R1")
    assert (problem["code"], problem["lot"], problem["available"]) == ("position_taken", fitted["lot"], 0)
    assert "R1" in problem["detail"]


def test_nothing_is_fitted_to_a_scrapped_board(bench: Any, job: Job, target: Board) -> None:
    here = stock(part=PartFactory(of=RESISTOR))
    Board.objects.filter(pk=target.pk).update(purpose="scrapped")
    problem = not_moved(bench, kind="fit", lot=here.lot_id, from_=here.place_id, board=target.pk, ref="R1")
    assert problem["code"] == "scrapped_board"


def test_a_faulty_part_is_not_fitted(bench: Any, job: Job, target: Board) -> None:
    here = stock(part=PartFactory(of=RESISTOR), condition="faulty")
    problem = not_moved(bench, kind="fit", lot=here.lot_id, from_=here.place_id, board=target.pk, ref="R1")
    assert (problem["code"], problem["lot"], problem["condition"]) == ("faulty", here.lot_id, "faulty")


def test_a_part_that_does_not_fit_is_refused_with_the_reason(bench: Any, job: Job, target: Board) -> None:
    here = stock(
        part=PartFactory(of=spec("resistor", "47k", tolerance_percent=Decimal(5), watts=Decimal("0.25")))
    )
    body = {"kind": "fit", "lot": here.lot_id, "from": here.place_id, "board": target.pk, "ref": "R1"}
    problem = not_moved(bench, **body)
    assert (problem["code"], problem["grade"]) == ("does_not_fit", "no")
    assert any("value" in reason for reason in problem["reasons"])
    assert moved(bench, **body, anyway=True)["to_ref"] == "R1"


def test_a_safety_part_is_never_overruled(bench: Any, tray: Place) -> None:
    class_x = spec("capacitor", "100n", volts=Decimal(275), safety_class="x2")
    target = BoardFactory(design=DesignFactory(positions={"C1": class_x}), purpose="under_repair")
    here = stock(part=PartFactory(of=FILM), place=tray)
    problem = not_moved(bench, kind="fit", lot=here.lot_id, board=target.pk, ref="C1", anyway=True)
    assert problem["code"] == "does_not_fit"


def test_a_piece_still_on_a_donor_is_lifted_before_it_is_fitted(
    bench: Any, donor: Board, job: Job, target: Board
) -> None:
    here = stock(place=donor.place, ref="R1", part=PartFactory(of=RESISTOR), source="board", board=donor)
    promise = reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    assert not_moved(bench, kind="fit", reservation=promise.pk)["code"] == "still_on_a_board"


def test_a_removed_piece_opens_its_need_again(bench: Any, job: Job, target: Board, tray: Place) -> None:
    here = stock(3, part=PartFactory(of=RESISTOR))
    moved(bench, kind="fit", lot=here.lot_id, from_=here.place_id, board=target.pk, ref="R1")
    line = moved(bench, kind="remove", board=target.pk, ref="R1", to=tray.pk)
    assert (line["lot"], line["from_ref"], line["to"]) == (here.lot_id, "R1", tray.pk)
    assert job.needs.get(ref="R1").fitted == 0
    assert not_moved(bench, kind="remove", board=target.pk, ref="R1", to=tray.pk)["available"] == 0


def test_pieces_come_to_boards_by_fitting_and_leave_by_lifting_only(
    bench: Any, donor: Board, target: Board, tray: Place
) -> None:
    here = stock(place=donor.place, ref="R1", source="board", board=donor)
    loose = stock(2)
    of_lot = {"lot": here.lot_id, "from": donor.place_id, "from_ref": "R1"}
    for body in (
        {"kind": "move", "lot": loose.lot_id, "to": target.place_id},
        {"kind": "move", **of_lot, "to": tray.pk},
        {"kind": "scrap", **of_lot},
        {"kind": "lend", **of_lot, "to": PlaceFactory(type="person").pk},
        {"kind": "lift", "board": donor.pk, "refs": ["R1"], "to": target.place_id},
        {"kind": "remove", "board": donor.pk, "ref": "R1", "to": target.place_id},
    ):
        assert not_moved(bench, **body)["code"] == "a_board", body


def test_nothing_is_put_outside_by_hand(bench: Any, tray: Place) -> None:
    here = stock(2)
    assert not_moved(bench, kind="move", lot=here.lot_id, to=Place.outside().pk)["code"] == "outside"


@pytest.mark.parametrize("known", [BODIES, ACTS, WORDS], ids=["BODIES", "ACTS", "WORDS"])
def test_every_kind_of_movement_may_be_sent_is_done_and_has_its_word(known: dict[str, Any]) -> None:
    assert set(known) == set(Movement.Kind.values)


# --- borrowing, lending, returning


def test_lifting_from_a_working_board_is_borrowing_and_has_to_be_declared(
    bench: Any, working: Board, tray: Place, job: Job
) -> None:
    body = {"kind": "lift", "board": working.pk, "refs": ["R1"], "to": tray.pk}
    assert not_moved(bench, **body)["code"] == "borrow_needed"
    line = moved(bench, **body, borrow=True, job=job.pk, reason="to prove R1 open", due="2026-12-01")
    loan = bench.get(f"/api/v1/loans/{line['loan']}/").json()
    assert (loan["status"], loan["owed"], loan["from"], loan["from_ref"]) == (
        "open",
        1,
        working.place_id,
        "R1",
    )
    assert (loan["job"], loan["reason"], loan["due"]) == (job.pk, "to prove R1 open", "2026-12-01")


def test_what_is_given_for_a_loan_needs_a_loan(bench: Any, donor: Board, tray: Place, job: Job) -> None:
    problem = not_moved(
        bench, 400, kind="lift", board=donor.pk, refs=["R1"], to=tray.pk, job=job.pk, due="2026-12-01"
    )
    assert pointers(problem) == {"#/job", "#/due"}
    assert not_moved(bench, kind="lift", board=donor.pk, refs=["R1"], to=tray.pk, borrow=True)["code"] == (
        "not_a_working_board"
    )


def test_a_borrowed_piece_goes_back_to_its_position(bench: Any, working: Board, tray: Place) -> None:
    lifted = moved(bench, kind="lift", board=working.pk, refs=["R1"], to=tray.pk, borrow=True)
    line = moved(bench, kind="return", loan=lifted["loan"])
    assert (line["to"], line["to_ref"], line["settles"]) == (working.place_id, "R1", lifted["id"])
    assert bench.get(f"/api/v1/loans/{lifted['loan']}/").json()["status"] == "closed"
    assert not_moved(bench, kind="return", loan=lifted["loan"])["code"] == "loan_closed"


def test_a_borrowed_piece_that_was_fitted_goes_home_and_its_need_is_open_again(
    bench: Any, working: Board, tray: Place, job: Job, target: Board
) -> None:
    lifted = moved(bench, kind="lift", board=working.pk, refs=["R1"], to=tray.pk, borrow=True)
    moved(bench, kind="fit", lot=lifted["lot"], board=target.pk, ref="R1")
    for body in ({"loan": lifted["loan"]}, {"loan": lifted["loan"], "from": target.place_id}):
        with_need = job.needs.get(ref="R1")
        assert with_need.fitted == 1
        line = moved(bench, kind="return", **body)
        assert job.needs.get(ref="R1").fitted == 0
        moved(bench, kind="reverse", movement=line["id"])


def test_a_like_piece_may_be_given_back_and_another_may_not(bench: Any, working: Board, tray: Place) -> None:
    lifted = moved(bench, kind="lift", board=working.pk, refs=["R1"], to=tray.pk, borrow=True)
    unlike = stock(part=PartFactory(of=FILM))
    problem = not_moved(bench, kind="return", loan=lifted["loan"], lot=unlike.lot_id)
    assert (problem["code"], problem["grade"]) == ("does_not_fit", "no")
    like = stock(4, part=PartFactory(of=RESISTOR))
    line = moved(bench, kind="return", loan=lifted["loan"], lot=like.lot_id, from_=like.place_id)
    assert (line["lot"], line["to_ref"]) == (like.lot_id, "R1")


def test_a_like_piece_is_not_taken_off_another_board(
    bench: Any, working: Board, donor: Board, tray: Place
) -> None:
    lifted = moved(bench, kind="lift", board=working.pk, refs=["R1"], to=tray.pk, borrow=True)
    like = stock(place=donor.place, ref="R1", part=PartFactory(of=RESISTOR), source="board", board=donor)
    problem = not_moved(bench, kind="return", loan=lifted["loan"], lot=like.lot_id)
    assert problem["code"] == "still_on_a_board"


def test_pieces_lent_to_a_person_come_back_in_parts(bench: Any, tray: Place) -> None:
    person = PlaceFactory(name="Wren", type="person")
    here = stock(5)
    lent = moved(
        bench, kind="lend", lot=here.lot_id, to=person.pk, quantity=3, reason="a radio", due="2027-01-31"
    )
    assert (
        not_moved(bench, kind="lend", lot=here.lot_id, from_=here.place_id, to=person.pk, quantity=3)[
            "available"
        ]
        == 2
    )
    moved(bench, kind="return", loan=lent["loan"], quantity=2, to=tray.pk)
    assert bench.get(f"/api/v1/loans/{lent['loan']}/").json()["owed"] == 1
    assert not_moved(bench, kind="return", loan=lent["loan"], quantity=2)["available"] == 1
    moved(bench, kind="return", loan=lent["loan"])
    assert where(here.lot_id) == [(here.place_id, "", 3), (tray.pk, "", 2)]


def test_pieces_are_lent_to_people_only(bench: Any, tray: Place) -> None:
    assert not_moved(bench, kind="lend", lot=stock(2).lot_id, to=tray.pk)["code"] == "not_a_person"


# --- reverse


def test_a_mistake_is_undone_by_its_mirror_image(bench: Any, tray: Place) -> None:
    here = stock(5)
    line = moved(bench, kind="move", lot=here.lot_id, to=tray.pk, quantity=3)
    mirror = moved(bench, kind="reverse", movement=line["id"], note="wrong drawer")
    assert (mirror["from"], mirror["to"], mirror["reverses"]) == (tray.pk, here.place_id, line["id"])
    assert bench.get(f"{MOVEMENTS}{line['id']}/").json()["reversed_by"] == mirror["id"]
    assert where(here.lot_id) == [(here.place_id, "", 5)]
    assert not_moved(bench, kind="reverse", movement=line["id"])["code"] == "reversed_already"
    assert not_moved(bench, kind="reverse", movement=mirror["id"])["code"] == "is_a_reversal"


def test_a_fit_undone_is_promised_again(bench: Any, job: Job) -> None:
    here = stock(part=PartFactory(of=RESISTOR))
    promise = reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    line = moved(bench, kind="fit", reservation=promise.pk)
    moved(bench, kind="reverse", movement=line["id"])
    promise.refresh_from_db()
    assert (promise.status, promise.movement) == ("held", None)
    assert job.needs.get(ref="R1").promised == 1


def test_a_fit_undone_after_its_job_was_closed_is_promised_to_nobody(bench: Any, job: Job) -> None:
    here = stock(part=PartFactory(of=RESISTOR))
    promise = reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    line = moved(bench, kind="fit", reservation=promise.pk)
    Job.objects.filter(pk=job.pk).update(symptom="dead", cause="R1 open")
    jobs.set_status(job, "done")
    moved(bench, kind="reverse", movement=line["id"])
    promise.refresh_from_db()
    here.refresh_from_db()
    assert (promise.status, here.quantity, here.promised) == ("released", 1, 0)


def test_a_removal_undone_meets_its_need_again(bench: Any, job: Job, target: Board, tray: Place) -> None:
    here = stock(2, part=PartFactory(of=RESISTOR))
    moved(bench, kind="fit", lot=here.lot_id, board=target.pk, ref="R1")
    removal = moved(bench, kind="remove", board=target.pk, ref="R1", to=tray.pk)
    reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    moved(bench, kind="reverse", movement=removal["id"])
    need = job.needs.get(ref="R1")
    assert (need.fitted, need.promised) == (1, 0), "the piece is back, so another is not wanted"


# --- bodies, the list, and what there is not


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/kind"}),
        ({"kind": "teleport"}, {"#/kind"}),
        ({"kind": ["move"]}, {"#/kind"}),
        ({"kind": "move"}, {"#/lot"}),
        ({"kind": "lift"}, {"#/board", "#/refs", "#/to"}),
        ({"kind": "fit"}, {"#/lot", "#/board"}),
        ({"kind": "fit", "reservation": 10**30}, {"#/reservation"}),
        ({"kind": "count", "lot": "x", "quantity": -1}, {"#/lot", "#/quantity"}),
        ({"kind": "receive", "part": {"kind": "resistor", "value": "4k7k"}, "to": 0, "quantity": 0},
         {"#/part/value", "#/to", "#/quantity"}),
        ({"kind": "receive", "part": {"kind": "lamp"}, "to": True, "quantity": 10**12, "colour": "red"},
         {"#/to", "#/quantity", "#/colour"}),
        ({"kind": "reverse", "movement": None}, {"#/movement"}),
        ({"kind": "return", "loan": -1}, {"#/loan"}),
        ({"kind": "lend", "lot": 1.5, "to": {}, "due": "soon"}, {"#/lot", "#/to", "#/due"}),
    ],
)  # fmt: skip
def test_a_body_that_cannot_be_read_is_refused_member_by_member(
    bench: Any, body: dict[str, Any], wrong: set[str]
) -> None:
    assert pointers(not_moved(bench, 400, **body)) == wrong


@pytest.mark.parametrize("body", [[], "move", 5, None, [{"kind": "move"}]])
def test_a_body_that_is_no_object_is_refused(bench: Any, body: Any) -> None:
    refused(bench.post(MOVEMENTS, body, format="json"), 400)


def test_a_fit_says_either_the_reservation_or_the_lot(bench: Any, job: Job, target: Board) -> None:
    here = stock(part=PartFactory(of=RESISTOR))
    promise = reservations.reserve(job.needs.get(ref="R1"), here, 1, by=None)
    problem = not_moved(bench, 400, kind="fit", reservation=promise.pk, lot=here.lot_id, board=target.pk)
    assert pointers(problem) == {"#/lot", "#/board"}


def test_a_move_says_where_to(bench: Any) -> None:
    assert pointers(not_moved(bench, 400, kind="move", lot=stock(2).lot_id)) == {"#/to"}


def test_a_line_is_never_edited_or_deleted(owner: Any, bench: Any) -> None:
    stock(2)
    line = f"{MOVEMENTS}{Movement.objects.get().pk}/"
    for client in (owner, bench):
        for method in ("put", "patch", "delete"):
            refused(getattr(client, method)(line, {"quantity": 9}), 405)
    assert Movement.objects.get().quantity == 2


def test_a_viewer_reads_the_ledger_and_writes_nothing(viewer: Any, tray: Place) -> None:
    here = stock(2)
    refused(viewer.post(MOVEMENTS, {"kind": "move", "lot": here.lot_id, "to": tray.pk}), 403)
    assert viewer.get(MOVEMENTS).json()["count"] == 1


def test_a_repeated_request_moves_nothing_twice(bench: Any, tray: Place) -> None:
    here = stock(5)
    body = {"kind": "move", "lot": here.lot_id, "from": here.place_id, "to": tray.pk, "quantity": 2}
    first, second = (bench.post(MOVEMENTS, body, headers={"Idempotency-Key": "press"}) for _ in range(2))
    assert first.json() == second.json()
    assert where(here.lot_id) == [(here.place_id, "", 3), (tray.pk, "", 2)]
    refused(bench.post(MOVEMENTS, {**body, "quantity": 1}, headers={"Idempotency-Key": "press"}), 422)


def test_lines_are_found_by_what_they_did(
    bench: Any, donor: Board, working: Board, target: Board, tray: Place, job: Job
) -> None:
    cabinet = PlaceFactory(name="Cabinet")
    drawer = PlaceFactory(name="Drawer", within=cabinet)
    here = stock(5, place=drawer, part=PartFactory(of=RESISTOR))
    lifted = moved(bench, kind="lift", board=donor.pk, refs="C4", to=tray.pk)
    borrowed = moved(bench, kind="lift", board=working.pk, refs="C4", to=tray.pk, borrow=True, job=job.pk)
    fitted = moved(bench, kind="fit", lot=here.lot_id, board=target.pk, ref="R1", note="first evening")
    split = moved(bench, kind="move", lot=here.lot_id, quantity=1, condition="suspect", from_=drawer.pk)

    def found(query: str) -> list[int]:
        return ids(bench, f"{MOVEMENTS}?{query}")

    assert found("kind=lift") == [borrowed["id"], lifted["id"]]
    assert found("kind=lift&kind=fit&ordering=id") == [lifted["id"], borrowed["id"], fitted["id"]]
    assert found(f"board={target.pk}") == [fitted["id"]]
    assert found(f"job={job.pk}&ordering=id") == [borrowed["id"], fitted["id"]]
    assert found(f"lot={split['to_lot']}") == [split["id"]]
    assert set(found(f"place={cabinet.pk}")) >= {fitted["id"], split["id"]}
    assert lifted["id"] not in found(f"place={cabinet.pk}")
    assert found("q=evening") == [fitted["id"]]
    assert set(found("q=4k7")) >= {fitted["id"], split["id"]}
    assert found("by=bench&kind=fit") == [fitted["id"]]
    assert found("since=2100-01-01T00:00:00Z") == []
    assert len(found("until=2100-01-01T00:00:00Z")) == Movement.objects.count()


@pytest.mark.parametrize(
    "query",
    [
        "kind=teleport",
        "lot=x",
        "lot=999999999999999999999",
        "since=yesterday",
        "colour=red",
        "ordering=mood",
        "board=0",
    ],
)
def test_a_filter_that_cannot_be_read_is_refused(bench: Any, query: str) -> None:
    refused(bench.get(f"{MOVEMENTS}?{query}"), 400)


def test_the_list_takes_the_same_few_queries_for_any_number_of_lines(bench: Any) -> None:
    stock(1)
    queries(bench, MOVEMENTS)  # the first request of a person also asks for their role
    few = queries(bench, MOVEMENTS)
    for _ in range(10):
        stock(1)
    assert queries(bench, MOVEMENTS) == few


def test_a_job_with_an_open_loan_is_not_closed(bench: Any, working: Board, tray: Place, job: Job) -> None:
    lifted = moved(bench, kind="lift", board=working.pk, refs=["R1"], to=tray.pk, borrow=True, job=job.pk)
    problem = refused(bench.patch(f"/api/v1/jobs/{job.pk}/", {"status": "done"}), 409)
    assert (problem["code"], problem["loans"]) == ("open_loan", [lifted["id"]])
    assert problem["owed"] == ["Plover that works R1"]
    assert bench.get(f"/api/v1/boards/{working.pk}/").json()["incomplete"] is True
    moved(bench, kind="return", loan=lifted["loan"])
    assert bench.get(f"/api/v1/boards/{working.pk}/").json()["incomplete"] is False
    done = {"status": "done", "symptom": "no sound", "cause": "R1 open"}
    problem = refused(bench.patch(f"/api/v1/jobs/{job.pk}/", done), 409)
    assert (problem["code"], problem["loans"]) == ("lender_unproven", [lifted["loan"]])
    bench.post(f"/api/v1/loans/{lifted['loan']}/proofs/", {"when": "after", "passed": True})
    assert bench.patch(f"/api/v1/jobs/{job.pk}/", done).json()["status"] == "done"
    assert Loan.objects.count() == 1


# --- whatever is sent

SAID: dict[str, Sequence[Any]] = {
    "quantity": range(4), "ref": ["R1", "R2", "C4", "R9", ""], "refs": ["R1", "R2, C4", ["C5"], "C4"],
    "condition": ["good", "faulty", "suspect"], "borrow": [True, False], "anyway": [True, False],
    "failed": [True, False],
}  # fmt: skip
ROWS: dict[str, Any] = {
    "lot": Lot, "into": Lot, "from": Place, "to": Place, "at": Place, "board": Board,
    "reservation": Reservation, "loan": Loan, "movement": Movement, "job": Job, "part": Part,
}  # fmt: skip
SHAPES = (
    "receive part to quantity condition", "receive part to origin", "lift board refs to",
    "lift board refs to borrow condition part", "lift board refs to borrow job", "fit reservation",
    "fit lot board ref anyway", "fit lot from board ref quantity", "move lot to", "move lot from to quantity",
    "move lot quantity condition", "move lot into", "remove board ref to", "remove board lot to",
    "remove board ref failed", "remove board ref to condition", "lift board refs failed condition",
    "lend lot to", "return loan", "return loan lot", "scrap lot", "scrap lot from quantity",
    "count lot quantity", "count lot at ref quantity", "reverse movement",
)  # fmt: skip
JUNK = [None, "", "x", -1, 0, 10**12, 10**40, True, [], {}, "R1", ["R1", "C4"], "\x00", "\u2028", 1.5]


def some_body(dice: random.Random) -> dict[str, Any]:
    """A body that could be meant, with members left out and one spoilt now and then."""
    rows = {name: [*model.objects.values_list("id", flat=True), 0] for name, model in ROWS.items()}
    origins = [{"source": "bought"}, {"board": dice.choice(rows["board"]), "ref": "R1"}]
    given = {**SAID, **rows, "origin": origins, "part": [*rows["part"], {"kind": "lamp"}]}
    kind, *members = dice.choice(SHAPES).split()
    body = {"kind": kind} | {name: dice.choice(given[name]) for name in members if dice.random() < 0.95}
    if dice.random() < 0.1:
        body[dice.choice(sorted(given))] = dice.choice(JUNK)
    return body


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_sent_is_written_or_refused_and_everything_adds_up(
    bench: Any, donor: Board, working: Board, job: Job, tray: Place, seed: int
) -> None:
    for of in (RESISTOR, FILM):
        here = stock(3, part=PartFactory(of=of), place=tray)
        reservations.reserve(job.needs.filter(spec=here.lot.part.spec)[0], here, 1, by=None)
    PlaceFactory(type="person")
    dice, written = random.Random(seed), 0
    for _ in range(examples(50, 100)):
        body = some_body(dice)
        answer = bench.post(MOVEMENTS, body)
        assert answer.status_code in (201, 400, 409), (body, answer.content)
        if answer.status_code == 201:
            written += 1
        else:
            refused(answer, answer.status_code)
        assert audit() == [], body
    assert written > 3, "some of it could be meant"
