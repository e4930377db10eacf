"""Whose a lot and a board is: everybody's unless said, changed by whoever it is, and by whom is kept."""

from typing import Any

import pytest
from django.contrib.auth.models import User

from inventory import boards, ledger, ownership
from inventory.ledger import Refused, Spot
from inventory.models import Board, HandOver, Lot
from inventory.people import add_person, change_person
from tests.factories import DesignFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db


def a_donor(owner: User | None, **positions: Any) -> Board:
    design = DesignFactory(positions=positions or {"R1": spec(), "R2": spec("resistor", "10k")})
    return boards.register(name="Dead Plover", purpose="donor", by=None, design=design, owner=owner)


def test_what_comes_off_a_board_is_whose_the_board_is(merle: User) -> None:
    donor = a_donor(merle)
    boards.survey(donor, by=None)
    assert set(Lot.objects.values_list("owner__username", flat=True)) == {"merle"}
    never_surveyed = boards.register(
        name="Another", purpose="donor", by=None, design=donor.design, owner=merle
    )
    (line,) = ledger.lift(never_surveyed, ["R1"], Spot(PlaceFactory().pk), by=merle)
    assert line.lot.owner == merle
    assert stock().lot.owner is None, "what comes in without a word is everybody's"


def test_pieces_parted_from_a_lot_stay_their_owners_and_join_no_other(merle: User, wren: User) -> None:
    held = stock(5)
    ownership.give_lots([held.lot_id], merle, by=merle)
    held.lot.refresh_from_db()
    spot = Spot(held.place_id)
    line = ledger.split(held.lot, spot, 2, condition="untested", by=wren)
    assert line.to_lot is not None
    assert line.to_lot.owner == merle
    other = stock(1, part=held.lot.part)
    with pytest.raises(Refused, match="differ in owner"):
        ledger.merge(other.lot, held.lot, Spot(other.place_id), spot, 1, by=wren)


def test_a_persons_own_is_changed_by_them_and_by_an_owner_once_they_left(merle: User, wren: User) -> None:
    robin, lot = add_person("robin", role="owner"), stock().lot
    assert ownership.give_lots([lot.pk], merle, by=wren) == 1, "what is everybody's anybody may give"
    for other in (wren, robin, None):
        with pytest.raises(Refused, match="merle's") as refused:
            ownership.give_lots([lot.pk], None, by=other)
        assert (refused.value.code, refused.value.facts["owner"]) == ("not_yours", "merle")
    assert ownership.give_lots([lot.pk], merle, by=wren) == 0, "it is hers already: nothing changes"
    change_person(merle, active=False)
    with pytest.raises(Refused, match="has left"):
        ownership.give_lots([lot.pk], wren, by=wren)
    assert ownership.give_lots([lot.pk], wren, by=robin) == 1
    kept = HandOver.objects.order_by("id").values_list("before", "after", "by__username")
    assert list(kept) == [("", "merle", "wren"), ("merle", "wren", "robin")]


def test_a_board_takes_its_owners_pieces_along_and_nobody_elses(merle: User, wren: User) -> None:
    donor = a_donor(merle)
    boards.survey(donor, by=None)
    (line,) = ledger.lift(donor, ["R1"], Spot(PlaceFactory().pk), by=merle)
    theirs = Lot.objects.get(origin_ref="R2")
    Lot.objects.filter(pk=theirs.pk).update(owner=wren)
    assert ownership.give_board(donor, None, by=merle) == 0
    assert Lot.objects.get(pk=line.lot_id).owner == merle, "it was lifted before: a lot of its own"
    assert Lot.objects.get(pk=theirs.pk).owner == wren


def test_all_of_a_person_who_left_is_handed_over_at_once(merle: User, wren: User) -> None:
    robin, donor = add_person("robin", role="owner"), a_donor(merle)
    boards.survey(donor, by=None)
    ownership.give_lots([stock().lot_id], merle, by=merle)
    with pytest.raises(Refused):
        ownership.hand_all_over(merle, wren, by=robin)
    assert Lot.objects.filter(owner=merle).count() == 3, "refused whole"
    change_person(merle, active=False)
    assert ownership.hand_all_over(merle, wren, by=robin) == (3, 1)
    assert not Lot.objects.filter(owner=merle).exists()
    assert Board.objects.get(pk=donor.pk).owner == wren


def test_over_the_api_lots_and_boards_are_given_and_asked_for_by_owner(owner: Any, wren: User) -> None:
    add_person("onlooker", role="viewer")
    me, lot, shared = User.objects.get(username="owner"), stock().lot, stock().lot
    given = owner.patch(f"/api/v1/lots/{lot.pk}/", {"owner": me.username}, format="json")
    assert (given.status_code, given.json()["owner"]) == (200, me.username)
    board = owner.post(
        "/api/v1/boards/", {"name": "Hers", "purpose": "donor", "owner": "wren"}, format="json"
    )
    assert board.json()["owner"] == "wren"
    for asked, found in (("me", [lot.pk]), ("shared", [shared.pk]), ("wren", []), (me.username, [lot.pk])):
        answer = owner.get(f"/api/v1/lots/?owner={asked}").json()
        assert [row["id"] for row in answer["results"]] == found
    assert owner.get("/api/v1/boards/?owner=wren").json()["count"] == 1
    refused = owner.patch(f"/api/v1/boards/{board.json()['id']}/", {"owner": None}, format="json")
    assert (refused.status_code, refused.json()["code"]) == (409, "not_yours")
    for nobody in ("onlooker", "gone", 7):
        wrong = owner.patch(f"/api/v1/lots/{lot.pk}/", {"owner": nobody}, format="json")
        assert (wrong.status_code, wrong.json()["errors"][0]["pointer"]) == (400, "#/owner")
    trace = owner.get(f"/api/v1/lots/{lot.pk}/trace/").json()["hand_overs"]
    assert [(line["before"], line["after"], line["by"]) for line in trace] == [("", me.username, me.username)]


def test_an_owner_who_may_no_longer_own_can_be_sent_back(owner: Any, wren: User) -> None:
    lot = stock().lot
    Lot.objects.filter(pk=lot.pk).update(owner=wren)
    change_person(wren, role="viewer")
    sent_back = owner.patch(f"/api/v1/lots/{lot.pk}/", {"owner": "wren", "note": "dusty"}, format="json")
    assert (sent_back.status_code, sent_back.json()["note"]) == (200, "dusty")


def test_over_the_api_all_of_somebody_who_left_is_handed_over(owner: Any, merle: User, wren: User) -> None:
    lot = stock().lot
    ownership.give_lots([lot.pk], merle, by=merle)
    a_donor(merle)
    address = f"/api/v1/people/{merle.pk}/hand-over/"
    assert owner.post(address, {"to": "wren"}, format="json").json()["code"] == "not_yours"
    change_person(merle, active=False)
    assert owner.post(address, {"to": "gone"}, format="json").status_code == 400
    assert owner.post(address, {}, format="json").status_code == 400
    done = owner.post(address, {"to": "wren"}, format="json")
    assert (done.status_code, done.json()) == (200, {"lots": 1, "boards": 1})
    assert Lot.objects.get(pk=lot.pk).owner == wren
