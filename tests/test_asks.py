"""What is somebody else's is asked for: the owner's yes reserves it, and nothing reserves it without."""

from typing import Any

import pytest
from django.contrib.auth.models import User

from inventory import ledger, ownership
from inventory.ledger import NotEnough, Refused, Spot
from inventory.models import Holding, Lot
from inventory.people import add_person, change_person
from repairs import asks, jobs, loans, reservations
from repairs.audit import audit
from repairs.friends import exchange, giving
from repairs.models import Need, PieceAsk, Reservation
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
def merle() -> User:
    return add_person("merle")


@pytest.fixture
def wren() -> User:
    return add_person("wren")


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
    jobs.change(job, version=job.version, by=merle, owner=wren)
    assert Reservation.objects.get().ask is not None
    assert audit() == []


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
