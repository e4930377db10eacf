"""What goes to a friend leaves the stock by a movement that says to whom; the swap is counted both ways."""

import json
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Holding, Lot, Movement, Place
from inventory.refusals import Refused
from repairs import loans, reservations
from repairs.friends import exchange, giving
from repairs.friends.match import friends
from repairs.friends.spare import spare_document, tick
from repairs.sharing_models import Friend, FriendGift, FriendLine
from tests.factories import (
    BoardFactory,
    DesignFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)  # fmt: skip
from tests.sharing.test_friends import CHIP, friend_with

pytestmark = pytest.mark.django_db


def test_what_is_given_leaves_the_stock_by_a_movement_that_says_to_whom() -> None:
    here, friend = stock(5), Friend.objects.create(name="Fenland")
    tick({here.lot_id: 3}, {}, {}, by=None)
    gift = giving.give(friend, here.lot, 2, by=None, note="for the lamp")
    line = gift.movement
    assert (line.kind, line.quantity, line.note) == ("move", 2, "given to Fenland. for the lamp")
    assert line.to_place == Place.outside()
    assert Holding.objects.get(pk=here.pk).quantity == 3
    assert ledger.differences() == []
    assert [each.quantity for each in spare_document().spare] == [1], "what went is not on the next list"
    assert friends().friends[0].got == {"resistor": 2}
    reservations.reverse(line, by=None)
    assert Holding.objects.get(pk=here.pk).quantity == 5
    assert ledger.differences() == []
    assert friends().friends[0].got == {}, "a gift that was undone counts no more"


def test_a_swap_is_counted_both_ways_by_kind() -> None:
    need = NeedFactory(of=spec("ic", None, number="4116"))
    friend = friend_with(CHIP)
    asked = exchange.ask(FriendLine.objects.get(), 1, job=need.job)
    exchange.move_on(asked, "arrived", by=None, to=Spot(PlaceFactory().pk))
    giving.give(friend, stock(5).lot, 4, by=None)
    giving.give(friend, stock(2, part=PartFactory(of=spec("resistor", "1k"))).lot, 1, by=None)
    told = friends().friends[0]
    assert (told.gave, told.got) == ({"ic": 1}, {"resistor": 5})
    assert told.swap == "gave 1 (1 ic), got 5 (5 resistor)"


def test_what_is_reserved_owed_faulty_or_hurts_is_not_given() -> None:
    friend = Friend.objects.create(name="Fenland")

    def refused(lot: Lot, quantity: int = 1) -> str:
        before = Movement.objects.count()
        with pytest.raises(Refused) as caught:
            giving.give(friend, lot, quantity, by=None)
        assert Movement.objects.count() == before
        return caught.value.code

    here = stock(3)
    reservations.reserve(NeedFactory(quantity=2), here, 2, by=None)
    assert refused(here.lot, 2) == "not_enough"
    assert refused(here.lot, 0) == "out_of_range"
    assert refused(stock(1, condition="faulty").lot) == "faulty"
    assert refused(stock(1, condition="suspect").lot) == "faulty"
    lithium = PartFactory(of=spec("other", None, number="lithium cell, Li-SOCl2"))
    assert refused(stock(1, part=lithium).lot) == "blocked"  # common practice, no source
    lender = BoardFactory(purpose="working", design=DesignFactory(positions={"R1": spec()}))
    stock(1, place=lender.place, ref="R1")
    [lifted] = loans.borrow(lender, ["R1"], Spot(PlaceFactory().pk), by=None)
    assert refused(lifted.to_lot or lifted.lot) == "open_loan"
    assert refused(stock(1, place=PlaceFactory(type="person")).lot) == "not_enough"
    assert not FriendGift.objects.exists()


def test_over_the_api_by_command_and_on_the_page(bench: Any, viewer: Any, sign_in: Any, capsys: Any) -> None:
    here, other = stock(9), PlaceFactory()
    friend = Friend.objects.create(name="Fenland")
    at = f"/api/v1/friends/{friend.pk}/gifts/"
    made = bench.post(at, {"lot": here.lot_id, "quantity": 2})
    assert (made.status_code, made.json()["quantity"]) == (201, 2)
    elsewhere = bench.post(at, {"lot": here.lot_id, "quantity": 1, "place": other.pk})
    assert (elsewhere.status_code, elsewhere.json()["code"]) == (409, "not_enough")
    [told] = viewer.get(at).json()["results"]
    assert (told["lot"], told["undone"]) == (here.lot_id, False)
    assert viewer.get(f"{at}?page_size=1").json()["count"] == 1
    assert viewer.get(f"{at}?page=2").status_code == 404
    assert viewer.get(f"{at}?page_size=lots").status_code == 400
    undone = bench.post("/api/v1/movements/", {"kind": "reverse", "movement": told["movement"]})
    assert undone.status_code == 201
    assert viewer.get(at).json()["results"][0]["undone"] is True
    call_command("friends", "give", "Fenland", str(here.lot_id), "--pieces", "3")
    capsys.readouterr()
    call_command("friends")
    assert "gave nothing, got 3 (3 resistor)" in capsys.readouterr().out
    call_command("friends", "--json")
    assert json.loads(capsys.readouterr().out)["friends"][0]["got"] == {"resistor": 3}
    for wrong in (["Fenland", "999"], ["Nobody", str(here.lot_id)]):
        with pytest.raises(CommandError):
            call_command("friends", "give", *wrong)
    capsys.readouterr()
    call_command("trace", str(here.lot_id))
    assert "given to Fenland" in capsys.readouterr().out
    client = sign_in("bench")
    form = {"lot": here.lot_id, "quantity": 1}
    assert sign_in("viewer").post(f"/friends/{friend.pk}/give/", form).status_code == 403
    assert client.post(f"/friends/{friend.pk}/give/", form).status_code == 302
    assert "gave nothing, got 4 (4 resistor)" in client.get("/friends/").content.decode()
    assert client.post(f"/friends/{friend.pk}/forget/").status_code == 403
    with pytest.raises(Refused) as refused:
        exchange.forget(friend)
    assert refused.value.code == "in_use"
