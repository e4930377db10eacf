"""Friends as a tier of the plan: behind donors and orders, before buying, and never without their yes."""

import random
from dataclasses import replace
from decimal import Decimal
from io import StringIO
from itertools import product
from math import ceil
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory.models import StoredSpec
from repairs.answers.buy import asking, to_buy
from repairs.answers.make_up import made_up_for_short
from repairs.friends import exchange, parcels
from repairs.friends.parcels import Buyable, CostLack, Give, Offered, cheapest
from repairs.models import Need, Purchase
from repairs.sharing_models import Friend, FriendAsk, FriendLine
from repairs.supply_and_demand import planned
from tests.factories import JobFactory, NeedFactory, PartFactory, spec, stock
from tests.sharing.test_friends import CHIP, RESISTOR, friend_with

NEEDED = {"tolerance_percent": Decimal(5), "watts": Decimal("0.25")}


def resistors(quantity: int = 1, **given: Any) -> Need:
    need: Need = NeedFactory(of=spec(**NEEDED), quantity=quantity, **given)
    return need


# --- behind donors and orders, before buying


@pytest.mark.django_db
def test_a_piece_of_a_friend_fills_what_stays_short_of_the_first_job_in_line(viewer: Any) -> None:
    first, second = JobFactory(priority=1), JobFactory(priority=2)
    resistors(2, job=second)
    resistors(2, job=first)
    stock(1)
    friend_with(RESISTOR)  # two pieces
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    assert (row["free"], row["short"], row["at_friends"], row["asked"]) == (1, 3, 2, 0)
    tiers = ("fitted", "promised", "free", "on_donors", "on_order", "short")
    assert row["needed"] == sum(row[tier] for tier in tiers)
    [may] = row["friends"]
    assert (may["grade"], may["why"], may["would"], may["quantity"]) == ("same", [], 2, 2)
    asked = {each["job"]: each["quantity"] for each in viewer.get("/api/v1/buy/").json()["ask_friends"]}
    assert asked == {first.pk: 1, second.pk: 1}, "the drawer's piece and theirs, in the order of the jobs"


@pytest.mark.django_db
def test_a_friends_lesser_piece_carries_its_reason_and_one_in_question_is_not_counted_on(viewer: Any) -> None:
    NeedFactory(of=spec("capacitor", "100n", volts=Decimal(63), dielectric="film"))
    friend_with(
        {"kind": "capacitor", "value": "100n", "volts": "100", "dielectric": "film"},
        {"kind": "capacitor", "value": "100n", "dielectric": "film"},
        {"kind": "capacitor", "value": "100n", "volts": "16", "dielectric": "film"},
    )
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    told = [(each["grade"], each["would"]) for each in row["friends"]]
    assert told == [("drop_in", 1), ("ask", 0)], "volts not less: practice.md 1; not marked is never assumed"
    assert all(each["why"] for each in row["friends"])


@pytest.mark.django_db
def test_what_was_asked_for_is_neither_promised_nor_bought_and_a_yes_is_on_its_way(viewer: Any) -> None:
    need = resistors()
    friend_with(RESISTOR)
    asked = exchange.ask(FriendLine.objects.get(), 1, job=need.job, required=need.spec)
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    assert [row[name] for name in ("short", "asked", "at_friends", "on_order")] == [1, 1, 0, 0]
    [line] = viewer.get("/api/v1/buy/").json()["results"]
    assert (line["needed"], line["asked"]) == (1, 1)
    first = viewer.get("/api/v1/buy/?friends=first").json()
    assert (first["results"], first["totals"]["asked"]) == ([], 1), "it waits for their answer"
    exchange.move_on(asked, "confirmed", by=None)
    [row] = viewer.get("/api/v1/shortages/").json()["results"]
    assert [row[name] for name in ("short", "asked", "on_order")] == [0, 0, 1]
    assert viewer.get("/api/v1/buy/").json()["results"] == []
    exchange.move_on(asked, "cancelled", by=None)
    assert planned().plan.short, "they took it back: it is short again"


@pytest.mark.django_db
def test_what_comes_from_a_friend_adds_to_what_was_ordered_of_the_part() -> None:
    need = resistors(3)
    Purchase.objects.create(part=PartFactory(of=spec(**NEEDED)), quantity=1, state="ordered")
    friend_with(RESISTOR)
    asked = exchange.ask(FriendLine.objects.get(), 2, job=need.job, required=need.spec)
    exchange.move_on(asked, "sent", by=None)
    assert not planned().plan.short


@pytest.mark.django_db
def test_of_what_may_be_made_up_a_friend_who_has_it_is_named() -> None:
    resistors()
    friend_with(RESISTOR)
    [value] = made_up_for_short()
    assert [each.label for each in value.friends] == ["Fenland has 2: same"]


# --- before buying, or by cost


@pytest.mark.django_db
def test_the_buy_list_leaves_off_what_friends_could_give_or_says_that_they_have_it(viewer: Any) -> None:
    resistors(3)
    NeedFactory(of=spec("ic", None, number="4116"))
    PartFactory(of=spec(**NEEDED), price="1.50")
    PartFactory(of=spec("ic", None, number="4116"), price="9")
    friend_with(RESISTOR, CHIP)
    anyway = viewer.get("/api/v1/buy/").json()
    assert [line["needed"] for line in anyway["results"]] == [3, 1]
    told = [each["friend_name"] for line in anyway["results"] for each in line["friends"]]
    assert told == ["Fenland", "Fenland"]
    assert (anyway["totals"]["from_friends"], anyway["totals"]["saved"]) == (0, None)
    first = viewer.get("/api/v1/buy/?friends=first&postage=3.00").json()
    assert [line["needed"] for line in first["results"]] == [1]
    # 9 + 4.50 + 3 for the whole; 1.50 + 3 for the rest, and a parcel of 4.20
    assert (first["totals"]["from_friends"], first["totals"]["saved"]) == (3, "7.8")


@pytest.mark.django_db
def test_by_cost_a_parcel_dearer_than_the_part_is_not_asked_for(viewer: Any) -> None:
    resistors(2)
    part = PartFactory(of=spec(**NEEDED), price="1.00")
    friend = friend_with(RESISTOR)  # a parcel costs 4.20
    by_cost = "/api/v1/buy/?friends=cost"
    assert viewer.get(by_cost).json()["ask_friends"] == [], "2.00 is less than 4.20"
    with_postage = viewer.get(f"{by_cost}&postage=3.00").json()
    assert (with_postage["results"], with_postage["totals"]["saved"]) == ([], "0.8"), "5.00 is more"
    friend.postage = None
    friend.save(update_fields=["postage"])
    assert viewer.get(f"{by_cost}&postage=3.00").json()["ask_friends"] == [], "it cannot be weighed"
    friend.postage = Decimal(4)
    friend.save(update_fields=["postage"])
    part.price = None
    part.save(update_fields=["price"])
    [asked] = viewer.get(by_cost).json()["ask_friends"]
    assert asked["quantity"] == 2, "what a shop would ask nobody knows"


@pytest.mark.django_db
def test_unknown_ways_to_treat_friends_are_refused(viewer: Any) -> None:
    refused = viewer.get("/api/v1/buy/?friends=never")
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["code"] == "invalid_choice"
    with pytest.raises(CommandError, match="first, anyway, cost"):
        call_command("buy", "--friends", "never")


@pytest.mark.django_db
def test_page_and_command_and_sheet_say_it(sign_in: Any, tmp_path: Any) -> None:
    need, bench = resistors(), sign_in("bench")
    friend_with(RESISTOR)
    page = bench.get("/shortages/buy/?friends=first").content.decode()
    assert "Ask for these" in page
    assert "left off the list" in page
    assert "a friend has it" in bench.get("/shortages/buy/").content.decode()
    wrong = bench.get("/shortages/buy/?friends=cost&postage=lots").content.decode()
    assert "expected an amount such as 3.50" in wrong
    asked = bench.post(
        "/friends/ask/",
        {"line": FriendLine.objects.get().pk, "quantity": 1, "job": need.job_id, "requirement": need.spec_id},
    )
    assert asked.status_code == 302
    assert "1 asked of friends" in bench.get("/shortages/").content.decode()
    out = StringIO()
    call_command("buy", "--friends", "first", stdout=out)
    assert "asked of friends already: 1 piece" in out.getvalue()
    exchange.move_on(FriendAsk.objects.get(), "confirmed", by=None)
    assert "Fenland: confirmed" in bench.get("/shortages/buy/").content.decode()
    call_command("buy", "--friends", "first", "--out", str(tmp_path / "buy.xlsx"), stdout=out)
    assert (tmp_path / "buy.xlsx").exists()


@pytest.mark.django_db
def test_a_list_left_to_friends_is_not_called_covered(sign_in: Any) -> None:
    need, bench = resistors(), sign_in("bench")
    friend_with(RESISTOR)
    address = "/shortages/buy/?friends=first"
    assert "if your friends say yes; until then it is short" in bench.get(address).content.decode()
    exchange.ask(FriendLine.objects.get(), 1, job=need.job, required=need.spec)
    asked = bench.get(address).content.decode()
    assert "if your friends say yes; until then it is short" in asked
    assert "Friends have nothing more" not in asked


@pytest.mark.django_db
def test_no_line_completes_a_job_that_waits_for_a_friend_too() -> None:
    need = resistors(3)
    PartFactory(of=spec(**NEEDED), price="1.50")
    friend_with(RESISTOR)  # two pieces
    rest = to_buy(friends="first")
    assert [(line.needed, line.completes) for line in rest.results] == [(1, [])]
    assert (rest.completions, rest.totals.completes) == ([], 0)
    exchange.ask(FriendLine.objects.get(), 2, job=need.job, required=need.spec)
    assert to_buy(friends="cost").completions == [], "they may say no"
    assert [each.jobs for each in to_buy().completions] == [[need.job_id]], "all three are on this list"


@pytest.mark.django_db
def test_a_line_is_ordered_from_the_list_that_was_shown(sign_in: Any) -> None:
    low, high = (spec("capacitor", "100n", volts=Decimal(each), dielectric="film") for each in (63, 100))
    NeedFactory(of=low, quantity=1)
    NeedFactory(of=high, quantity=2)
    friend_with({"kind": "capacitor", "value": "100n", "volts": "100", "dielectric": "film"})
    assert [line.spec for line in to_buy().results] == [high], "bought for both"
    job = Need.objects.get(quantity=2).job
    job.priority = 1
    job.save(update_fields=["priority"])
    bench, line = sign_in("bench"), StoredSpec.hash_of(low)
    shown = "friends=first&postage=3.00"
    assert (
        f"/shortages/buy/order/?{shown.replace('&', '&amp;')}"
        in bench.get(f"/shortages/buy/?{shown}&page=1").content.decode()
    )
    wrong = bench.post(f"/shortages/buy/order/?{shown}", {"line": line, "quantity": "0"})
    assert wrong.status_code == 400
    assert "left off the list" in wrong.content.decode(), "the list as it was, not the one of everything"
    bench.post(f"/shortages/buy/order/?{shown}", {"line": line, "quantity": "1"})
    assert [(each.part.spec.spec, each.quantity) for each in Purchase.objects.all()] == [(low, 1)]


@pytest.mark.django_db
def test_what_two_lines_serve_is_asked_for_and_named_once() -> None:
    job, wanted = JobFactory(), spec("capacitor", "100n", volts=Decimal(63), dielectric="film")
    for number in range(1, 5):
        need = NeedFactory(job=job, of=wanted, ref=f"C{number}")
    PartFactory(of=wanted, price="0.10")
    better = PartFactory(of=replace(wanted, volts=Decimal(100)), price="0.30")
    Purchase.objects.create(part=better, quantity=2)
    friend_with({"kind": "capacitor", "value": "100n", "volts": "100", "dielectric": "film"})
    FriendLine.objects.update(quantity=3)
    exchange.ask(FriendLine.objects.get(), 3, job=job, required=need.spec)
    lines = to_buy().results
    assert [line.needed for line in lines] == [2, 2]
    assert sorted(line.asked for line in lines) == [1, 2]
    assert sorted(ref for line in lines for served in line.jobs for ref in served.refs) == [
        "C1", "C2", "C3", "C4",
    ]  # fmt: skip


@pytest.mark.django_db
def test_of_named_jobs_only_theirs_is_to_be_asked_for() -> None:
    first, second = resistors(job=JobFactory(priority=1)), resistors(3, job=JobFactory(priority=2))
    friend_with(RESISTOR)
    for friends in ("anyway", "first"):
        rest = to_buy([second.job_id], friends=friends)
        assert [(each.job, each.quantity) for each in rest.ask_friends] == [(second.job_id, 1)]
    assert [line.friends for line in rest.results] == [[]], "the other goes to the first job"
    assert first.job_id not in [each.job for each in rest.ask_friends]


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
@pytest.mark.both_databases
def test_a_friend_is_asked_where_no_request_holds_a_transaction() -> None:
    need = resistors()
    friend_with(RESISTOR)
    asked = exchange.ask(FriendLine.objects.get(), 1, job=need.job, required=need.spec)
    assert asked.state == "asked"


@pytest.mark.django_db
def test_a_search_cut_short_gives_nothing_that_is_dearer(monkeypatch: Any, sign_in: Any) -> None:
    resistors(2)
    PartFactory(of=spec(**NEEDED), price="1.00")
    friend_with(RESISTOR)  # a parcel costs 4.20
    monkeypatch.setattr(asking, "cheapest", lambda lacks, lines, offers, *_: (
        [Give(lacks[0].id, offers[0].id, 2)], False,
    ))  # fmt: skip
    found = to_buy(friends="cost")
    assert ([line.needed for line in found.results], found.ask_friends) == ([2], [])
    assert (found.totals.truncated, found.totals.saved, found.totals.from_friends) == (True, 0, 0)
    assert "search was cut short" in sign_in("bench").get("/shortages/buy/?friends=cost").content.decode()


def test_of_too_many_ways_none_is_weighed(monkeypatch: Any) -> None:
    monkeypatch.setattr(parcels, "MAX_COLUMNS", 2)
    assert cheapest(*case(1)) == ((), False)


@pytest.mark.django_db
def test_the_command_says_what_asking_costs() -> None:
    resistors(2)
    PartFactory(of=spec(**NEEDED), price="0.05")
    friend_with(RESISTOR)  # a parcel costs 4.20
    out = StringIO()
    call_command("buy", "--friends", "first", stdout=out)
    assert "2 pieces, which costs more by 4.10" in out.getvalue()


@pytest.mark.django_db
def test_a_friend_added_while_the_list_is_read_is_told_the_next_time(monkeypatch: Any) -> None:
    resistors()
    friend_with(RESISTOR)
    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(Friend.objects, "in_bulk", dict)
        assert to_buy().ask_friends == []
    assert [each.friend_name for each in to_buy().ask_friends] == ["Fenland"]


@pytest.mark.django_db
def test_every_line_of_a_long_parcel_is_asked_for(sign_in: Any) -> None:
    friend_with(RESISTOR)
    FriendLine.objects.update(quantity=101)
    line = FriendLine.objects.get().pk
    sign_in("bench").post("/friends/ask/", {"line": [line] * 101, "quantity": [1] * 101, "job": [""] * 101,
                                            "requirement": [""] * 101})  # fmt: skip
    assert FriendAsk.objects.count() == 101


@pytest.mark.django_db
def test_a_made_up_value_asked_for_by_its_row_names_friends_too(viewer: Any) -> None:
    need = resistors()
    friend_with(RESISTOR)
    [value] = viewer.get(f"/api/v1/made-up/?requirement={need.spec_id}").json()["results"]
    assert (value["short"], value["jobs"]) == (1, [need.job_id])
    assert [each["friend_name"] for each in value["friends"]] == ["Fenland"]


# --- what costs least, against a referee that tries everything

Case = tuple[list[CostLack], list[Buyable], list[Offered], dict[Any, int | None], int]


def case(seed: int) -> Case:
    drawn = random.Random(seed)
    lines = [
        Buyable(
            number, drawn.choice((1, 1, 3)), drawn.choice((20, 45, 110)), drawn.choice((0, 0, 1)),
            drawn.choice((0, 0, 1)),
        )
        for number in range(2)
    ]  # fmt: skip
    lacks = [CostLack(f"d{each}", drawn.randint(1, 2), each % 2) for each in range(3)]
    offers = [
        Offered(f"o{each}", f"f{each % 2}", drawn.randint(1, 2),
                frozenset(lack.id for lack in lacks if drawn.random() < 0.6))
        for each in range(3)
    ]  # fmt: skip
    postage = {"f0": drawn.choice((30, 90)), "f1": drawn.choice((50, 200))}
    return lacks, lines, offers, postage, drawn.choice((0, 60))


def cost_of(gives: Any, lacks: Any, lines: Any, offers: Any, postage: Any, shop: int) -> int:
    """What all of it costs, by the rules of packs and parcels."""
    friend_of = {each.id: each.friend for each in offers}
    line_of = {lack.id: lack.line for lack in lacks}
    total = sum(postage[friend] for friend in {friend_of[offered] for _, offered, pieces in gives if pieces})
    bought = 0
    for line in lines:
        wanted = line.beside + sum(lack.quantity for lack in lacks if lack.line == line.id)
        wanted -= sum(pieces for lack, _, pieces in gives if line_of[lack] == line.id)
        packs = max(line.least, ceil(wanted / line.pack_size))
        total += packs * line.price
        bought += packs
    return int(total + (shop if bought else 0))


@pytest.mark.parametrize("seed", range(40))
def test_nothing_that_could_be_asked_for_costs_less(seed: int) -> None:
    lacks, lines, offers, postage, shop = case(seed)
    gives, proven = cheapest(lacks, lines, offers, postage, shop)
    assert proven
    pairs = [(lack, offered) for offered in offers for lack in lacks if lack.id in offered.fills]
    best = cost_of((), lacks, lines, offers, postage, shop)
    for pieces in product(*(range(min(lack.quantity, offered.quantity) + 1) for lack, offered in pairs)):
        tried = [(lack.id, offered.id, n) for (lack, offered), n in zip(pairs, pieces, strict=True)]
        filled = all(sum(n for d, _, n in tried if d == lack.id) <= lack.quantity for lack in lacks)
        given = all(sum(n for _, o, n in tried if o == each.id) <= each.quantity for each in offers)
        if filled and given:
            best = min(best, cost_of(tried, lacks, lines, offers, postage, shop))
    assert cost_of(gives, lacks, lines, offers, postage, shop) == best


@pytest.mark.django_db
def test_the_list_that_remains_is_the_one_for_what_friends_do_not_give() -> None:
    job = JobFactory()
    resistors(3, job=job)
    friend_with(RESISTOR)
    rest = to_buy([job.pk], friends="first")
    assert [line.needed for line in rest.results] == [1]
    assert rest.totals.from_friends == 2
    assert rest.results[0].friends == [], "both of theirs are to be asked for: none is left for the third"
