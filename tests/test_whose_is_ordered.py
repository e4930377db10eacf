"""At a bench of several: what is wanted and ordered for one person is neither taken, changed nor undone by
another."""

from typing import Any

import pytest
from django.contrib.auth.models import User

from inventory import ledger, ownership
from inventory.ledger import Spot
from inventory.models import Holding, Lot, Movement, Part
from inventory.people import add_person
from inventory.refusals import Refused
from repairs import asks, jobs, purchases, reservations
from repairs.answers.buy import OrderLine, order, to_buy
from repairs.models import Need, Purchase
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db


def lacking(quantity: int, owner: User | None) -> Need:
    return NeedFactory(job=JobFactory(owner=owner), quantity=quantity)


def part_of(need: Need) -> Part:
    return Part.of(need.spec.spec)


def on_order(need: Need, quantity: int) -> list[tuple[int, str]]:
    """What one order of so many makes: pieces, and whose."""
    made = order([OrderLine(part_of(need), quantity)])
    return sorted((each.quantity, each.owner.username if each.owner else "") for each in made)


def on_the_list() -> list[tuple[int, int, int]]:
    return [(line.needed, line.pieces, line.wanted) for line in to_buy().results]


# --- undoing


def arrival(lot: int) -> Movement:
    return Movement.objects.get(lot=lot, kind=Movement.Kind.RECEIVE)


def test_nobody_undoes_the_arrival_of_what_is_anothers(wren: User, merle: User) -> None:
    lot = stock(5).lot_id
    ownership.give_lots([lot], wren, by=wren)
    for by in (merle, add_person("robin", role="owner"), None):
        with pytest.raises(Refused, match="only with a yes; ask wren") as refused:
            reservations.reverse(arrival(lot), by=by)
        assert refused.value.code == "not_yours"
    assert Holding.objects.get(lot=lot, quantity__gt=0).quantity == 5
    reservations.reverse(arrival(lot), by=wren)
    assert not Holding.objects.filter(lot=lot, quantity__gt=0).exists()


def test_whoever_received_it_for_her_undoes_that_until_it_changes_hands(wren: User, merle: User) -> None:
    [bought, again] = [
        purchases.receive(each, Spot(PlaceFactory().pk), by=merle)
        for _ in range(2)
        for each in order([OrderLine(part_of(lacking(2, wren)), 2)])
    ]
    reservations.reverse(arrival(bought.lot_id or 0), by=merle)
    bought.refresh_from_db()
    assert (bought.state, bought.owner) == ("ordered", wren)
    ownership.give_lots([again.lot_id or 0], None, by=wren)
    ownership.give_lots([again.lot_id or 0], wren, by=wren)
    with pytest.raises(Refused):
        reservations.reverse(arrival(again.lot_id or 0), by=merle)


def test_what_left_the_bench_comes_back_but_hers_leaves_by_no_undo(wren: User, merle: User) -> None:
    held = stock(3)
    away = PlaceFactory(type="person")
    here, there = Spot(held.place_id), Spot(away.pk)
    ledger.move(held.lot, here, there, 3, by=wren)
    back = ledger.move(held.lot, there, here, 3, by=wren)
    ownership.give_lots([held.lot_id], wren, by=wren)
    with pytest.raises(Refused, match="ask wren"):
        reservations.reverse(back, by=merle)
    scrapped = ledger.scrap(held.lot, here, 1, by=wren)
    reservations.reverse(scrapped, by=merle)
    counted = ledger.count(held.lot, here, 4, by=merle)
    reservations.reverse(counted, by=merle)
    assert Holding.objects.get(lot=held.lot_id, place=held.place_id).quantity == 3


def test_a_lift_is_undone_by_no_other_onto_a_board_that_is_not_hers(wren: User, merle: User) -> None:
    board = BoardFactory(name="Tern")
    held = stock(1, place=board.place, ref="R1")
    drawer = Spot(PlaceFactory().pk)
    [line] = reservations.lift(board, ["R1"], drawer, by=wren)
    lifted = line.to_lot or line.lot
    ownership.give_lots([lifted.pk], wren, by=wren)
    with pytest.raises(Refused, match="ask wren"):
        reservations.reverse(line, by=merle)
    ownership.give_board(board, wren, by=wren)
    if lifted != held.lot:
        ownership.give_lots([held.lot_id], wren, by=wren)
    reservations.reverse(line, by=merle)
    assert Holding.objects.get(place=board.place, quantity=1).ref == "R1"


def test_undo_over_the_api(bench: Any, wren: User) -> None:
    held = stock(2)
    ownership.give_lots([held.lot_id], wren, by=wren)
    body = {"kind": "reverse", "movement": arrival(held.lot_id).pk}
    answer = bench.post("/api/v1/movements/", body)
    assert (answer.status_code, answer.json()["code"]) == (409, "not_yours")


# --- ordering


def test_what_is_ordered_beyond_a_wish_becomes_whose_it_is_bought_for(wren: User, merle: User) -> None:
    need = lacking(10, merle)
    Purchase.objects.create(part=part_of(need), quantity=1, owner=wren)
    assert on_the_list() == [(10, 11, 1)]
    assert on_order(need, 11) == [(1, "wren"), (10, "merle")]
    assert on_the_list() == []


def test_a_wish_of_one_person_serves_no_job_of_another(wren: User, merle: User) -> None:
    need = lacking(2, merle)
    wish = Purchase.objects.create(part=part_of(need), quantity=2, owner=wren)
    [line] = to_buy().results
    assert (line.needed, line.pieces, line.for_stock, line.wanted) == (2, 4, 2, 2)
    assert on_order(need, 2) == [(2, "merle")], "what the job lacks comes first"
    wish.refresh_from_db()
    assert wish.state == "wanted"
    assert on_the_list() == [(0, 2, 2)]


def test_a_wish_serves_the_jobs_of_whose_it_is_and_everybodys_all(wren: User, merle: User) -> None:
    need = lacking(3, wren)
    Purchase.objects.create(part=part_of(need), quantity=2, owner=wren)
    assert on_the_list() == [(3, 3, 2)]
    assert on_order(need, 3) == [(3, "wren")]
    other = NeedFactory(of=spec("resistor", "10k"), job=JobFactory(owner=merle), quantity=2)
    Purchase.objects.create(part=part_of(other), quantity=2)
    assert on_the_list() == [(2, 2, 2)]
    assert on_order(other, 2) == [(2, "")]


def test_of_a_pack_her_job_takes_what_it_lacks_and_the_rest_is_everybodys(wren: User, merle: User) -> None:
    need = lacking(1, wren)
    assert on_order(need, 100) == [(1, "wren"), (99, "")]
    NeedFactory(of=need.spec.spec, job=JobFactory(owner=merle), quantity=5)
    assert on_the_list() == [], "the next job counts on the rest"


def test_what_the_drawers_lack_beside_her_job_is_everybodys(wren: User) -> None:
    need = lacking(1, wren)
    Part.objects.filter(pk=part_of(need).pk).update(reorder_at=10)
    assert on_the_list() == [(1, 11, 0)]
    assert on_order(need, 11) == [(1, "wren"), (10, "")]


# --- changing


@pytest.fixture
def hers(wren: User) -> Purchase:
    [made] = order([OrderLine(part_of(lacking(3, wren)), 3)])
    return made


def test_nobody_else_changes_how_many_or_what_is_ordered_for_her(
    hers: Purchase, wren: User, merle: User
) -> None:
    changes: list[dict[str, Any]] = [
        {"quantity": 1}, {"state": "wanted"}, {"part": PartFactory(of=spec("resistor", "1k"))},
    ]  # fmt: skip
    for change in changes:
        with pytest.raises(Refused, match="only wren changes it") as refused:
            purchases.refuse_change(hers, by=merle, **change)
        assert refused.value.code == "not_yours"
        purchases.refuse_change(hers, by=wren, **change)
    robin = add_person("robin", role="owner")
    said: list[dict[str, Any]] = [{"price": 1}, {"bought_from": "Harbour Radio"}, {"note": "by post"}]
    for change in said:
        for by in (merle, None):
            with pytest.raises(Refused, match="only wren changes it") as refused:
                purchases.refuse_change(hers, by=by, **change)
            assert refused.value.code == "not_yours"
        purchases.refuse_change(hers, by=wren, **change)
        purchases.refuse_change(hers, by=robin, **change)
    with pytest.raises(Refused, match="only wren changes it"):
        purchases.refuse_change(hers, by=robin, price=1, quantity=1)
    purchases.refuse_change(hers, by=merle, price=hers.price, note=hers.note)


def test_over_the_api_nobody_else_says_what_hers_costs_or_orders_it_for_her(
    hers: Purchase, bench: Any, owner: Any
) -> None:
    at = f"/api/v1/purchases/{hers.pk}/"
    for change in ({"price": "99"}, {"from": "Nowhere"}, {"note": "mine now"}):
        late = bench.patch(at, change)
        assert (late.status_code, late.json()["code"]) == (409, "not_yours"), change
    hers.refresh_from_db()
    assert (hers.price, hers.bought_from, hers.note, hers.version) == (None, "", "", 1)
    assert owner.patch(at, {"price": "0.85", "note": "invoice 7"}).status_code == 200
    body = {"part": hers.part_id, "quantity": 2, "owner": "wren"}
    arrived = {**body, "state": "received", "to": PlaceFactory().pk}
    for sent in (body, {**body, "state": "ordered"}, arrived):
        refused = bench.post("/api/v1/purchases/", sent)
        assert (refused.status_code, refused.json()["code"]) == (409, "not_yours")
    assert Purchase.objects.count() == 1
    assert bench.post("/api/v1/purchases/", {**body, "owner": bench.person.username}).status_code == 201
    assert bench.post("/api/v1/purchases/", {**body, "owner": None}).status_code == 201
    assert owner.post("/api/v1/purchases/", body).json()["owner"] == "wren"


def test_over_the_api_another_receives_it_but_does_not_change_it(hers: Purchase, bench: Any) -> None:
    at = f"/api/v1/purchases/{hers.pk}/"
    late = bench.patch(at, {"state": "wanted", "quantity": 1})
    assert (late.status_code, late.json()["code"]) == (409, "not_yours")
    came = bench.patch(at, {"state": "received", "quantity": 2, "to": PlaceFactory().pk})
    assert (came.status_code, came.json()["owner"]) == (200, "wren")


def test_over_the_api_nobody_orders_in_anothers_name(bench: Any, owner: Any, wren: User) -> None:
    sent = {"part": {"kind": "ic", "number": "74LS245"}, "quantity": 4, "state": "ordered", "owner": "wren"}
    late = bench.post("/api/v1/purchases/", sent)
    assert (late.status_code, late.json()["code"], Purchase.objects.count()) == (409, "not_yours", 0)
    mine = bench.post("/api/v1/purchases/", {**sent, "owner": bench.person.username})
    assert (mine.status_code, mine.json()["owner"]) == (201, bench.person.username)
    assert owner.post("/api/v1/purchases/", sent).json()["owner"] == "wren"


def test_whose_an_order_becomes(hers: Purchase, wren: User, merle: User) -> None:
    robin = add_person("robin", role="owner")
    for by, to in ((merle, merle), (merle, None), (wren, merle), (None, None)):
        with pytest.raises(Refused) as refused:
            purchases.refuse_change(hers, by=by, owner=to)
        assert refused.value.code == "not_yours"
    purchases.refuse_change(hers, by=wren, owner=None)
    purchases.refuse_change(hers, by=robin, owner=merle)


def test_nobody_takes_what_is_on_order_for_everybodys_job(wren: User, merle: User) -> None:
    need = lacking(2, None)
    [shared] = order([OrderLine(part_of(need), 2)])
    with pytest.raises(Refused, match=f"on order for {need.job.name}") as refused:
        purchases.refuse_change(shared, by=merle, owner=merle)
    assert refused.value.code == "not_yours"
    spare = Purchase.objects.create(part=PartFactory(of=spec("resistor", "1k")), quantity=2, state="ordered")
    purchases.refuse_change(spare, by=merle, owner=merle)
    with pytest.raises(Refused, match="by wren alone"):
        purchases.refuse_change(spare, by=merle, owner=wren)


def test_what_came_meanwhile_is_not_cancelled(wren: User) -> None:
    [made] = order([OrderLine(part_of(lacking(2, None)), 2)])
    shown = Purchase.objects.get(pk=made.pk)
    purchases.receive(made, Spot(PlaceFactory().pk), by=wren)
    with pytest.raises(Refused) as refused:
        purchases.cancel(shown, by=wren)
    assert refused.value.code == "received_already"
    assert (Purchase.objects.count(), Lot.objects.count()) == (1, 1)


# --- others here before the shop


def at_others(need: Need) -> tuple[int, int, list[int], list[int]]:
    """Of the list where others come first: left off to be asked for and asked already, whom to ask for how
    many, and what is bought."""
    answer = to_buy(friends="first")
    ask = [each.quantity for each in answer.ask_others]
    return answer.totals.from_others, answer.totals.asked, ask, [line.pieces for line in answer.results]


def test_what_its_owner_refused_is_bought_after_all(wren: User, merle: User) -> None:
    held = stock(2)
    ownership.give_lots([held.lot_id], merle, by=merle)
    need = lacking(2, wren)
    assert at_others(need) == (2, 0, [2], [])
    asked = asks.ask(need, held.lot, 2, by=wren)
    assert at_others(need) == (0, 2, [], []), "asked for already"
    asks.answer(asked, False, by=merle)
    assert at_others(need) == (0, 0, [], [2])


def test_another_who_did_not_refuse_is_asked_instead(wren: User, merle: User) -> None:
    first, second = stock(2), stock(2)
    ownership.give_lots([first.lot_id], merle, by=merle)
    robin = add_person("robin")
    ownership.give_lots([second.lot_id], robin, by=robin)
    need = lacking(2, wren)
    asks.answer(asks.ask(need, first.lot, 2, by=wren), False, by=merle)
    [may] = to_buy(friends="first").ask_others
    assert (may.owner, may.lot, may.quantity) == ("robin", second.lot_id, 2)


def test_who_left_is_not_asked(wren: User, merle: User) -> None:
    ownership.give_lots([stock(2).lot_id], merle, by=merle)
    User.objects.filter(pk=merle.pk).update(is_active=False)
    assert at_others(lacking(2, wren)) == (0, 0, [], [2])


def test_an_order_goes_with_the_job_it_is_for(wren: User) -> None:
    need = lacking(2, wren)
    order([OrderLine(part_of(need), 2)])
    jobs.change(need.job, version=need.job.version, by=wren, owner=None)
    assert [each.owner for each in Purchase.objects.all()] == [None]
    assert to_buy().results == [], "nothing is bought twice"


def test_what_is_on_order_goes_on_with_the_things_of_one_who_leaves(wren: User, merle: User) -> None:
    order([OrderLine(part_of(lacking(2, wren)), 2)])
    ownership.hand_all_over(wren, merle, by=wren)
    assert [each.owner for each in Purchase.objects.all()] == [merle]
