"""What is somebody else's is asked for: the owner's yes reserves it, and nothing reserves it without."""

import io
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import ledger, ownership, sheets
from inventory.ledger import NotEnough, Refused, Spot
from inventory.models import Board, Holding, Lot, Part, Place
from inventory.people import add_person, change_person
from repairs import asks, jobs, loans, reservations, taking_off
from repairs.audit import audit
from repairs.friends import exchange, giving
from repairs.models import Job, Need, PieceAsk, Reservation
from repairs.sharing_models import Friend, FriendLine, SpareMark
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PlaceFactory,
    spec,
    stock,
)  # fmt: skip

pytestmark = pytest.mark.django_db


@pytest.fixture
def hers(merle: User) -> Holding:
    held = stock(3)
    ownership.give_lots([held.lot_id], merle, by=merle)
    return Holding.objects.select_related("lot__part__spec").get(pk=held.pk)


@pytest.fixture
def need(wren: User) -> Need:
    board = BoardFactory(purpose="under_repair", design=DesignFactory(positions={"R1": spec()}))
    return NeedFactory(job=JobFactory(owner=wren, board=board), quantity=2)


def test_nothing_of_anothers_is_reserved_without_a_yes(hers: Holding, need: Need, wren: User) -> None:
    robin = add_person("robin", role="owner")
    for by in (wren, robin, None):
        with pytest.raises(Refused, match="only with a yes; ask merle") as refused:
            reservations.reserve(need, hers, 1, by=by)
        assert (refused.value.code, refused.value.facts["owner"]) == ("not_yours", "merle")
    hers.refresh_from_db()
    assert (hers.promised, Reservation.objects.count()) == (0, 0)


def test_the_owners_yes_reserves_the_pieces_itself(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    asked = asks.ask(need, hers.lot, 2, by=wren, note="for the lamp")
    hers.refresh_from_db()
    assert (asked.state, asked.owner, hers.promised) == ("asked", merle, 0), "asking takes nothing"
    done = asks.answer(asked, True, by=merle, note="take the older ones")
    made = Reservation.objects.get()
    assert (done.state, done.answered_by, made.ask, made.quantity) == ("agreed", merle, done, 2)
    need.refresh_from_db()
    assert need.promised == 2
    assert audit() == []
    with pytest.raises(Refused) as late:
        asks.answer(asked, True, by=merle)
    assert (late.value.code, late.value.facts["state"]) == ("answered_already", "agreed")


def test_only_whose_it_is_answers_and_only_who_asked_takes_it_back(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    robin = add_person("robin", role="owner")
    asked = asks.ask(need, hers.lot, 1, by=robin)
    for other in (wren, robin, None):
        with pytest.raises(Refused) as refused:
            asks.answer(asked, True, by=other)
        assert refused.value.code == "not_yours"
    with pytest.raises(Refused) as refused:
        asks.withdraw(asked, by=merle)
    assert refused.value.code == "not_yours"
    assert asks.withdraw(asked, by=wren).state == "withdrawn", "the job is theirs"
    with pytest.raises(Refused, match="withdrawn already"):
        asks.answer(asked, True, by=merle)
    again = asks.ask(need, hers.lot, 1, by=robin)
    assert asks.answer(again, False, by=merle, note="I need them").answer == "I need them"
    assert not Reservation.objects.exists()


def test_what_needs_no_yes_is_not_asked_for_and_nothing_twice(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    asks.ask(need, hers.lot, 1, by=wren)
    own = NeedFactory(job=JobFactory(owner=merle), quantity=2)
    for wanted, lot, pieces, code in (
        (need, stock().lot, 1, "needs_no_ask"), (own, hers.lot, 1, "needs_no_ask"),
        (need, hers.lot, 1, "asked_already"), (need, hers.lot, 3, "need_is_met"),
        (NeedFactory(quantity=9), hers.lot, 4, "not_enough"),
        (NeedFactory(of=spec("resistor", "10k")), hers.lot, 1, "does_not_fit"),
        (NeedFactory(job=JobFactory(status="done")), hers.lot, 1, "job_closed"),
    ):  # fmt: skip
        with pytest.raises(Refused) as refused:
            asks.ask(wanted, lot, pieces, by=wren)
        assert refused.value.code == code
    change_person(merle, active=False)
    with pytest.raises(Refused, match="has left"):
        asks.ask(NeedFactory(), hers.lot, 1, by=wren)


def test_a_yes_for_more_than_is_left_reserves_nothing_and_stays_unanswered(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    asked = asks.ask(need, hers.lot, 2, by=wren)
    own = NeedFactory(job=JobFactory(owner=merle), quantity=2)
    reservations.reserve(own, hers, 2, by=merle)
    with pytest.raises(NotEnough) as short:
        asks.answer(asked, True, by=merle)
    assert short.value.facts["available"] == 1
    asked.refresh_from_db()
    hers.refresh_from_db()
    assert (asked.state, hers.promised) == ("asked", 2)


def test_a_yes_gathers_pieces_from_wherever_the_lot_lies(need: Need, merle: User, wren: User) -> None:
    here = stock(1)
    ledger.count(here.lot, Spot(here.place_id), 2, by=None)
    ledger.move(here.lot, Spot(here.place_id), Spot(PlaceFactory().pk), 1, by=None)
    ownership.give_lots([here.lot_id], merle, by=merle)
    asks.answer(asks.ask(need, here.lot, 2, by=wren), True, by=merle)
    assert sorted(Reservation.objects.values_list("quantity", flat=True)) == [1, 1]
    assert audit() == []


def test_a_yes_stands_for_so_many_pieces_until_it_is_taken_back(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    asked = asks.answer(asks.ask(need, hers.lot, 1, by=wren), True, by=merle)
    with pytest.raises(Refused, match="reserved or fitted"):
        asks.answer(asked, False, by=merle)
    with pytest.raises(Refused) as more:
        reservations.reserve(need, hers, 1, by=wren)
    assert more.value.code == "not_yours", "one was given, and not two"
    reservations.release(Reservation.objects.get())
    again = reservations.reserve(need, hers, 1, by=wren)
    assert again.ask == asked
    reservations.release(again)
    assert asks.answer(asked, False, by=merle).state == "declined"
    with pytest.raises(Refused):
        reservations.reserve(need, hers, 1, by=wren)


def test_what_the_owner_reserves_for_another_is_given(hers: Holding, need: Need, merle: User) -> None:
    made = reservations.reserve(need, hers, 1, by=merle)
    assert made.ask is not None
    assert (made.ask.state, made.ask.by) == ("agreed", merle)
    assert audit() == []


def test_another_neither_fits_nor_lends_nor_scraps_nor_gives_them_away(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    board, spot = need.job.board, Spot(hers.place_id)
    assert board is not None
    at_r1 = NeedFactory(job=need.job, ref="R1")
    someone = PlaceFactory(type="person")
    friend = Friend.objects.create(name="Fenland")
    elsewhere = BoardFactory(purpose="under_repair")

    def each(by: User) -> list[Any]:
        return [
            lambda: reservations.fit(hers.lot, spot, board, "R1", by=by),
            lambda: reservations.fit(hers.lot, spot, elsewhere, "", by=by),
            lambda: loans.lend(hers.lot, spot, someone, 1, by=by),
            lambda: ledger.scrap(hers.lot, spot, 1, by=by),
            lambda: giving.give(friend, hers.lot, 1, by=by),
        ]

    for act in each(wren):
        with pytest.raises(Refused) as refused:
            act()
        assert refused.value.code == "not_yours"
    hers.refresh_from_db()
    assert (hers.quantity, hers.promised) == (3, 0), "nothing was changed"
    ledger.move(hers.lot, spot, Spot(PlaceFactory().pk), 1, by=wren)  # to tidy up is not to take
    for act in each(merle)[:2]:
        act()
    assert PieceAsk.objects.get(need=at_r1).state == "agreed"
    assert audit() == []


def test_what_is_anothers_is_lifted_only_where_it_is_reserved(merle: User, wren: User) -> None:
    donor = BoardFactory(design=DesignFactory(positions={"R1": spec(), "R2": spec()}), owner=merle)
    tray = Spot(PlaceFactory().pk)
    with pytest.raises(Refused, match="merle's"):
        reservations.lift(donor, ["R1"], tray, by=wren)
    line = ledger.receive(
        ledger.Arrival(
            part=stock().lot.part, quantity=1, to=Spot(donor.place_id, "R1"),
            origin=ledger.Origin(source="board", board=donor, ref="R1"),
        ),
        by=None,
    )  # fmt: skip
    asks.answer(asks.ask(NeedFactory(job=JobFactory(owner=wren)), line.lot, 1, by=wren), True, by=merle)
    reservations.lift(donor, ["R1"], tray, by=wren)
    assert audit() == []
    reservations.lift(donor, ["R2"], tray, by=merle)
    assert Lot.objects.get(origin_ref="R2").owner == merle


def on_board(board: Board, ref: str, part: Part) -> Lot:
    """A surveyed piece, as the board came."""
    origin = ledger.Origin(source="board", board=board, ref=ref)
    arrival = ledger.Arrival(part=part, quantity=1, to=Spot(board.place_id, ref), origin=origin)
    return ledger.receive(arrival, by=None).lot


def refused_as_anothers(*acts: Callable[[], object]) -> None:
    for act in acts:
        with pytest.raises(Refused) as refused:
            act()
        assert refused.value.code == "not_yours"


def test_nobody_takes_a_piece_off_the_donor_of_another(merle: User, wren: User) -> None:
    hers, part, tray = BoardFactory(owner=merle), stock().lot.part, Spot(PlaceFactory().pk)
    shared = BoardFactory()
    on_board(hers, "R1", part)
    came_with_it = on_board(shared, "R1", part)
    ownership.give_lots([came_with_it.pk], merle, by=merle)
    JobFactory(board=hers)  # a job is no pretext: what is kept for its parts is not under repair
    refused_as_anothers(
        lambda: reservations.remove(hers, "R1", tray, by=wren),
        lambda: taking_off.take_off(hers, "R1", by=wren),
        lambda: reservations.remove(shared, "R1", tray, by=wren),
        lambda: ledger.lift(hers, ["R1"], tray, by=wren),  # as a sheet does
    )
    assert Holding.objects.filter(place__type="board", quantity=1).count() == 2
    for board in (hers, shared):
        reservations.remove(board, "R1", tray, by=merle)


def test_who_helps_at_a_job_takes_off_what_failed_and_the_chips(merle: User, wren: User) -> None:
    board = BoardFactory(purpose="under_repair", owner=merle)
    for ref in ("R1", "R2", "R3"):
        on_board(board, ref, stock().lot.part)
    refused_as_anothers(lambda: taking_off.take_off(board, "R1", by=wren))
    job = JobFactory(owner=merle, board=board)
    line = taking_off.take_off(board, "R1", by=wren)
    assert (line.to_lot or line.lot).owner == merle, "it stays hers, in the tray of what failed"
    bin_ = Place.scrap()
    refused_as_anothers(lambda: taking_off.take_off(board, "R2", by=wren, condition="good", to=bin_))
    Job.objects.filter(pk=job.pk).update(status="done")
    refused_as_anothers(lambda: taking_off.take_off(board, "R2", by=wren))


def test_what_was_given_and_fitted_to_ones_own_board_comes_off_it_again(
    hers: Holding, merle: User, wren: User
) -> None:
    board = BoardFactory(purpose="under_repair", owner=wren)
    reservations.fit(hers.lot, Spot(hers.place_id), board, "", by=merle)
    reservations.remove(board, "", Spot(hers.place_id), by=wren, lot=hers.lot)
    hers.refresh_from_db()
    assert hers.quantity == 3


def test_a_sheet_of_a_donor_lifts_nothing_of_anothers(merle: User, wren: User) -> None:
    design = DesignFactory(positions={"R1": spec()})
    donor = BoardFactory(name="Her Plover", owner=merle, design=design)
    on_board(donor, "R1", stock().lot.part)
    sheet = f"Board,Ref,State,To\nHer Plover,R1,lifted,{PlaceFactory().name}\n".encode()

    def bring_in(by: User | None) -> None:
        sheets.import_sheet(io.BytesIO(sheet), name="donors.csv", kind="donor", by=by)

    for other in (wren, None):
        with pytest.raises(sheets.BadRows) as bad:
            bring_in(other)
        assert "is merle's: R1 is lifted only with a yes" in str(bad.value.errors[0])
    bring_in(merle)
    assert Holding.objects.get(lot__origin_board=donor, quantity=1).ref == ""


def test_no_move_takes_what_is_anothers_out_of_the_drawers(hers: Holding, merle: User, wren: User) -> None:
    here, person = Spot(hers.place_id), PlaceFactory(type="person")
    apart_ = ledger.split(hers.lot, here, 1, condition="good", by=wren).to_lot
    assert apart_ is not None
    for there in (Place.scrap(), person):
        away = Spot(there.pk)
        refused_as_anothers(
            lambda away=away: reservations.move(hers.lot, here, away, 1, by=wren),
            lambda away=away: ledger.move(hers.lot, here, away, 1, by=None),
            lambda away=away: ledger.merge(hers.lot, apart_, here, away, 1, by=wren),
        )
    ledger.merge(hers.lot, apart_, here, Spot(PlaceFactory(type="tray").pk), 1, by=wren)
    ledger.move(hers.lot, here, Spot(person.pk), 1, by=merle)


def test_over_the_api_no_move_takes_what_is_anothers_out_of_the_drawers(hers: Holding, bench: Any) -> None:
    person = PlaceFactory(type="person")
    other = stock(1, part=hers.lot.part)
    ownership.give_lots([other.lot_id], hers.lot.owner, by=None)
    sent = {"kind": "move", "lot": hers.lot_id, "from": hers.place_id, "quantity": 1, "to": person.pk}
    for more in ({}, {"condition": "good"}, {"into": other.lot_id}):
        answer = bench.post("/api/v1/movements/", {**sent, **more}, format="json")
        assert (answer.status_code, answer.json()["code"]) == (409, "not_yours"), answer.json()
    assert Lot.objects.count() == 2, "and no lot was split off on the way"


def test_a_debt_is_not_paid_with_what_is_anothers(hers: Holding, need: Need, merle: User, wren: User) -> None:
    lender, tray = BoardFactory(purpose="working"), Spot(PlaceFactory().pk)
    on_board(lender, "R1", hers.lot.part)
    [line] = loans.borrow(lender, ["R1"], tray, by=wren)
    ledger.count(hers.lot, Spot(hers.place_id), 1, by=merle)
    made = reservations.reserve(need, hers, 1, by=merle)
    refused_as_anothers(lambda: loans.give_back(line.loan, by=wren, lot=hers.lot))
    made.refresh_from_db()
    assert made.status == "held", "and it is reserved still"
    loans.give_back(line.loan, by=merle, lot=hers.lot)


def test_what_is_reserved_of_anothers_is_not_lifted_as_failed_nor_to_the_bin(
    need: Need, merle: User, wren: User
) -> None:
    donor, tray = BoardFactory(owner=merle), Spot(PlaceFactory().pk)
    lot = on_board(donor, "R1", stock().lot.part)
    asks.answer(asks.ask(need, lot, 1, by=wren), True, by=merle)
    refused_as_anothers(
        lambda: reservations.lift(donor, ["R1"], tray, by=wren, condition="faulty"),
        lambda: reservations.lift(donor, ["R1"], tray, by=wren, condition="suspect"),
        lambda: reservations.lift(donor, ["R1"], Spot(Place.scrap().pk), by=wren),
        lambda: reservations.lift(donor, ["R1"], Spot(PlaceFactory(type="person").pk), by=wren),
    )
    assert Reservation.objects.get().status == "held"
    reservations.lift(donor, ["R1"], tray, by=wren)


def test_whose_it_is_is_read_as_it_is_scrapped_lent_or_given_away(merle: User, wren: User) -> None:
    held = stock(3)
    before = Lot.objects.select_related("owner", "part").get(pk=held.lot_id)
    ownership.give_lots([held.lot_id], merle, by=wren)
    here, person = Spot(held.place_id), PlaceFactory(type="person")
    refused_as_anothers(
        lambda: ledger.scrap(before, here, 1, by=wren),
        lambda: ledger.give_away(before, here, 1, by=wren),
        lambda: ledger.lend(before, here, person, 1, by=wren),
    )


def test_what_is_reserved_stays_so_when_a_lot_changes_hands_and_the_new_owner_is_asked(
    need: Need, merle: User, wren: User
) -> None:
    shared = stock(3)
    reservations.reserve(need, shared, 1, by=wren)
    SpareMark.objects.create(lot=shared.lot, quantity=1)
    ownership.give_lots([shared.lot_id], merle, by=merle)
    kept = Reservation.objects.get()
    assert kept.ask is not None
    assert kept.ask.answer == "it was reserved before it changed hands"
    assert not SpareMark.objects.exists(), "she ticked nothing"
    assert audit() == []
    robin = add_person("robin", role="owner")
    asked = asks.ask(need, shared.lot, 1, by=wren)
    ownership.give_lots([shared.lot_id], robin, by=merle)
    asked.refresh_from_db()
    assert (asked.state, asked.owner) == ("asked", robin)
    ownership.give_lots([shared.lot_id], None, by=robin)
    asked.refresh_from_db()
    assert asked.state == "withdrawn", "it is everybody's now: it is reserved, not asked for"


def test_a_job_that_holds_its_owners_own_is_handed_on_by_them_alone(
    hers: Holding, merle: User, wren: User
) -> None:
    need = NeedFactory(job=JobFactory(owner=merle), quantity=1)
    reservations.reserve(need, hers, 1, by=wren)
    job = need.job
    with pytest.raises(Refused, match="only merle hands it on"):
        jobs.change(job, version=job.version, by=wren, owner=wren)
    with pytest.raises(Refused, match="make it everybody's, and wren takes it"):
        jobs.change(job, version=job.version, by=merle, owner=wren)
    job = jobs.change(job, version=job.version, by=merle, owner=None)
    jobs.change(job, version=job.version, by=wren, owner=wren)
    assert Reservation.objects.get().ask is not None
    assert audit() == []


def test_a_job_becomes_somebodys_by_them_or_an_owner_of_the_bench_alone(
    hers: Holding, merle: User, wren: User
) -> None:
    robin, job = add_person("robin", role="owner"), JobFactory()
    for other in (wren, None):
        refused_as_anothers(
            lambda other=other: jobs.open_job(name="Pretext", owner=merle, by=other),
            lambda other=other: jobs.change(job, version=job.version, by=other, owner=merle),
        )
    job = jobs.change(job, version=job.version, by=merle, owner=merle)
    assert jobs.open_job(name="Hers", owner=merle, by=robin).owner == merle
    board = BoardFactory(purpose="under_repair")
    Job.objects.filter(pk=job.pk).update(board=board)
    need = NeedFactory(job=Job.objects.get(pk=job.pk))
    reservations.fit_promised(reservations.reserve(need, hers, 1, by=wren), by=wren)
    refused_as_anothers(lambda: jobs.change(job, version=job.version, by=wren, owner=wren))
    jobs.change(job, version=job.version, by=merle, owner=None)
    assert Reservation.objects.get().ask is not None, "what is fitted has her yes behind it"


def test_the_audit_finds_a_reservation_that_no_yes_is_behind(hers: Holding, need: Need, merle: User) -> None:
    made = reservations.reserve(need, hers, 1, by=merle)
    Reservation.objects.filter(pk=made.pk).update(ask=None)
    [finding] = audit()
    assert (
        finding == f"reservation {made.pk}: lot {hers.lot_id} is merle's, who said no yes to {need.job.name}"
    )
    Reservation.objects.filter(pk=made.pk).update(ask=made.ask, quantity=2)
    assert any("yes to 1 pieces, 2 are used" in each for each in audit())


def test_what_came_from_a_friend_for_somebodys_job_is_theirs(wren: User) -> None:
    friend, row = Friend.objects.create(name="Fenland"), NeedFactory(job=JobFactory(owner=wren))
    line = FriendLine.objects.create(friend=friend, line="L1", spec=row.spec, quantity=2, condition="good")
    for job, owner in ((row.job, wren), (None, None)):
        asked = exchange.move_on(exchange.ask(line, 1, job=job), "sent", by=wren)
        here = exchange.move_on(asked, "arrived", by=wren, to=Spot(PlaceFactory().pk))
        assert here.lot is not None
        assert here.lot.owner == owner


def test_over_the_api_it_is_asked_answered_and_listed_for_both(owner: Any, bench: Any, viewer: Any) -> None:
    robin, merle = User.objects.get(username="owner"), User.objects.get(username="bench")
    held = stock(2)
    ownership.give_lots([held.lot_id], merle, by=merle)
    need = NeedFactory(job=JobFactory(owner=robin), quantity=2)
    sent = {"need": need.pk, "lot": held.lot_id, "quantity": 1}
    taken = owner.post("/api/v1/reservations/", sent, format="json")
    assert (taken.status_code, taken.json()["code"], taken.json()["owner"]) == (409, "not_yours", "bench")
    assert viewer.post("/api/v1/asks/", sent, format="json").status_code == 403
    asked = owner.post("/api/v1/asks/", sent, format="json")
    assert (asked.status_code, asked.json()["owner"], asked.json()["state"]) == (201, "bench", "asked")
    address = f"/api/v1/asks/{asked.json()['id']}/"
    assert asked.headers["Location"].endswith(address)
    for client, query in ((bench, "owner=me"), (owner, "by=me"), (viewer, "owner=bench&state=asked")):
        assert client.get(f"/api/v1/asks/?{query}").json()["count"] == 1
    assert bench.get("/api/v1/asks/?by=me").json()["count"] == 0
    assert viewer.post(f"{address}answer/", {"yes": True}, format="json").status_code == 403
    assert owner.post(f"{address}answer/", {"yes": True}, format="json").json()["code"] == "not_yours"
    assert bench.post(f"{address}answer/", {"yes": "yes"}, format="json").status_code == 400
    stale = bench.post(f"{address}answer/", {"yes": True}, format="json", headers={"If-Match": '"9"'})
    assert stale.status_code == 412
    agreed = bench.post(f"{address}answer/", {"yes": True, "note": "yours"}, format="json")
    assert (agreed.status_code, agreed.json()["state"], agreed.json()["answered_by"]) == (
        200,
        "agreed",
        "bench",
    )
    assert owner.get(f"/api/v1/reservations/?need={need.pk}").json()["count"] == 1
    late = owner.post(f"{address}withdraw/", {}, format="json")
    assert (late.status_code, late.json()["code"]) == (409, "answered_already")


def test_a_yes_to_one_piece_gives_one_however_often_it_comes_off_again(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    at_r1 = NeedFactory(job=need.job, ref="R1")
    asked = asks.answer(asks.ask(at_r1, hers.lot, 1, by=wren), True, by=merle)
    reservations.fit_promised(Reservation.objects.get(), by=wren)
    board, spot = need.job.board, Spot(hers.place_id)
    assert board is not None
    off = reservations.remove(board, "R1", spot, by=wren)
    refused_as_anothers(lambda: reservations.reserve(at_r1, hers, 1, by=wren))
    reservations.reverse(off, by=wren)
    assert Reservation.objects.get().status == "fitted", "the very piece goes back by it"
    reservations.remove(board, "R1", spot, by=wren)
    assert asks.answer(asked, False, by=merle).state == "declined", "nothing of it is in use"
    assert audit() == []


def test_who_hands_lots_over_locks_in_the_order_of_whoever_reserves(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    asks.ask(need, hers.lot, 1, by=wren)
    with CaptureQueriesContext(connection) as asked:
        ownership.give_lots([hers.lot_id], None, by=merle)
    locking = [each["sql"] for each in asked if " ORDER BY " in each["sql"]]
    tables = [each.partition(' FROM "')[2].partition('"')[0] for each in locking]
    assert tables[:5] == [
        "repairs_job",
        "repairs_need",
        "repairs_pieceask",
        "inventory_holding",
        "inventory_lot",
    ]


def test_a_yes_of_which_nothing_is_in_use_ends_when_the_lot_changes_hands(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    robin = add_person("robin", role="owner")
    unused = asks.answer(asks.ask(need, hers.lot, 1, by=wren), True, by=merle)
    reservations.release(Reservation.objects.get())
    used = asks.answer(asks.ask(need, hers.lot, 1, by=wren), True, by=merle)
    ownership.give_lots([hers.lot_id], robin, by=merle)
    unused.refresh_from_db()
    assert (unused.state, unused.answer) == ("withdrawn", "the lot changed hands")
    [held] = Reservation.objects.filter(status="held")
    assert held.ask == used, "what is reserved stays reserved"
    reservations.release(held)
    refused_as_anothers(lambda: reservations.reserve(need, hers, 1, by=wren))
    assert audit() == []


def test_a_fit_that_is_undone_after_the_lot_changed_hands_has_a_yes_behind_it(
    need: Need, merle: User, wren: User
) -> None:
    shared = stock(1)
    line = reservations.fit_promised(reservations.reserve(need, shared, 1, by=wren), by=wren)
    ownership.give_lots([shared.lot_id], merle, by=wren)
    reservations.reverse(line, by=wren)
    kept = Reservation.objects.get()
    assert kept.ask is not None
    assert (kept.status, kept.ask.owner) == ("held", merle)
    assert audit() == []


def test_a_fit_that_is_undone_without_a_yes_by_now_is_not_reserved(need: Need, merle: User) -> None:
    shared = stock(1)
    line = reservations.fit_promised(reservations.reserve(need, shared, 1, by=None), by=None)
    Lot.objects.filter(pk=shared.lot_id).update(owner=merle)  # as older records may have it
    reservations.reverse(line, by=None)
    assert Reservation.objects.get().status == "released"
    assert audit() == []


def test_a_piece_goes_back_to_its_position_only_while_its_owner_agrees(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    board, spot = need.job.board, Spot(hers.place_id)
    assert board is not None
    at_r1 = NeedFactory(job=need.job, ref="R1")
    asked = asks.answer(asks.ask(at_r1, hers.lot, 1, by=wren), True, by=merle)
    reservations.fit_promised(Reservation.objects.get(), by=wren)
    off = reservations.remove(board, "R1", spot, by=wren)
    asks.answer(asked, False, by=merle)
    refused_as_anothers(lambda: reservations.reverse(off, by=wren))
    assert Reservation.objects.get().status == "released"


def test_what_is_a_persons_who_only_looks_on_by_now_is_an_owners_to_hand_over(
    hers: Holding, need: Need, merle: User, wren: User
) -> None:
    robin = add_person("robin", role="owner")
    change_person(merle, role="viewer")
    lot = Lot.objects.get(pk=hers.lot_id)
    with pytest.raises(Refused, match="does no work here any more: an owner of the bench hands it over"):
        asks.ask(need, lot, 1, by=wren)
    refused_as_anothers(lambda: ownership.give_lots([lot.pk], wren, by=wren))
    assert ownership.give_lots([lot.pk], wren, by=robin) == 1


def test_what_is_asked_ends_with_what_it_is_for(hers: Holding, merle: User, wren: User) -> None:
    def asked(**job: Any) -> PieceAsk:
        return asks.ask(NeedFactory(job=JobFactory(**job)), hers.lot, 1, by=wren)

    abandoned, dropped, became_hers, filled = (asked(**job) for job in ({"owner": wren},) * 2 + ({}, {}))
    jobs.set_status(abandoned.need.job, "abandoned")
    jobs.drop_need(dropped.need)
    job = became_hers.need.job
    jobs.change(job, version=job.version, by=merle, owner=merle)
    reservations.reserve(filled.need, stock(), 1, by=wren)
    states = PieceAsk.objects.order_by("id").values_list("state", "answer")
    assert list(states) == [
        ("withdrawn", "the job is abandoned"),
        ("withdrawn", "it is not wanted after all"),
        ("withdrawn", "no yes is needed any more"),
        ("withdrawn", "it was filled from elsewhere"),
    ]


def test_what_no_yes_could_reserve_is_not_asked_for(need: Need, merle: User, wren: User) -> None:
    donor, lender = (BoardFactory(owner=merle, purpose=each) for each in ("under_repair", "working"))
    part, tray = stock().lot.part, Spot(PlaceFactory().pk)
    faulty = stock(1, condition="faulty").lot
    failed = on_board(donor, "R1", part)
    reservations.remove(donor, "R1", tray, by=merle, condition="suspect")
    borrowed = on_board(lender, "R1", part)
    loans.borrow(lender, ["R1"], tray, by=merle)
    ownership.give_lots([faulty.pk], merle, by=None)
    for lot, code in ((faulty, "faulty"), (failed, "faulty"), (borrowed, "not_at_hand")):
        with pytest.raises(Refused) as refused:
            asks.ask(need, lot, 1, by=wren)
        assert refused.value.code == code
