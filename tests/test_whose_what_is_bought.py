"""At a bench of several: what is bought for the jobs of one person is theirs, on its way and here."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.urls import reverse

from inventory.ledger import Spot
from inventory.models import Lot, Part
from inventory.people import add_person
from inventory.refusals import Refused
from repairs import purchases
from repairs.answers.buy import OrderLine, order
from repairs.answers.shortages import shortages
from repairs.friends import exchange
from repairs.models import Need, Purchase
from repairs.sharing_models import FriendLine
from tests.factories import JobFactory, NeedFactory, PlaceFactory
from tests.sharing.test_friends import CHIP, friend_with

pytestmark = pytest.mark.django_db


def ordered(need: Need, quantity: int | None = None) -> Purchase:
    [made] = order([OrderLine(Part.of(need.spec.spec), quantity or need.quantity)])
    return made


def test_what_is_ordered_for_the_jobs_of_one_person_becomes_theirs(wren: User) -> None:
    need = NeedFactory(job=JobFactory(owner=wren), quantity=2)
    bought = ordered(need)
    assert bought.owner == wren
    half = purchases.receive(bought, Spot(PlaceFactory().pk), by=None, quantity=1)
    rest = Purchase.objects.get(state="ordered")
    assert (half.lot and half.lot.owner, rest.owner, rest.quantity) == (wren, wren, 1)
    [row] = shortages()
    assert (row.free, row.on_order, row.short) == (1, 1, 0), "hers on its way serves her job"


@pytest.mark.parametrize("second", [None, "merle"])
def test_what_serves_jobs_of_several_is_everybodys(wren: User, merle: User, second: str | None) -> None:
    need = NeedFactory(job=JobFactory(owner=wren))
    NeedFactory(of=need.spec.spec, job=JobFactory(owner=merle if second else None))
    bought = ordered(need)
    assert bought.owner is None
    purchases.receive(bought, Spot(PlaceFactory().pk), by=None)
    assert Lot.objects.get().owner is None


def test_what_somebody_wants_for_stock_is_everybodys(wren: User) -> None:
    need = NeedFactory(job=JobFactory(owner=wren))
    wanted = Purchase.objects.create(part=Part.of(need.spec.spec), quantity=2)
    assert [each.owner for each in order([OrderLine(wanted.part, 2)])] == [None]


def test_no_other_job_counts_on_what_is_bought_for_hers_and_nobody_is_asked_for_it(
    wren: User, merle: User
) -> None:
    need = NeedFactory(job=JobFactory(owner=wren))
    ordered(need)
    Need.objects.all().update(quantity=1)
    NeedFactory(of=need.spec.spec, job=JobFactory(owner=merle, priority=1))
    [row] = shortages()
    assert (row.on_order, row.short, row.at_others) == (1, 1, 0), (
        "one for her; the other is not here to ask for"
    )


def test_what_a_friend_sends_for_her_job_serves_no_other_on_its_way(wren: User, merle: User) -> None:
    from tests.factories import spec

    need = NeedFactory(of=spec("ic", None, number="4116"), job=JobFactory(owner=wren))
    friend_with(CHIP)
    asked = exchange.ask(FriendLine.objects.get(), 2, job=need.job, required=need.spec)
    exchange.move_on(asked, "confirmed", by=None)
    NeedFactory(of=need.spec.spec, job=JobFactory(owner=merle, priority=1))
    [row] = shortages()
    assert (row.on_order, row.short) == (1, 1)


def test_only_she_cancels_it_or_hands_it_on(wren: User, merle: User) -> None:
    bought = ordered(NeedFactory(job=JobFactory(owner=wren)))
    with pytest.raises(Refused) as refused:
        purchases.cancel(bought, by=merle)
    assert (refused.value.code, refused.value.facts["owner"]) == ("not_yours", "wren")
    with pytest.raises(Refused) as refused:
        purchases.refuse_change(bought, by=merle, owner=merle)
    assert refused.value.code == "not_yours"
    purchases.refuse_change(bought, by=wren, owner=None)
    purchases.cancel(bought, by=wren)
    assert not Purchase.objects.exists()


def test_over_the_api(owner: Any, bench: Any, wren: User) -> None:
    need = NeedFactory(job=JobFactory(owner=bench.person), quantity=3)
    part = Part.of(need.spec.spec)
    [made] = bench.post("/api/v1/buy/order/", {"lines": [{"part": part.pk, "quantity": 3}]}).json()[
        "purchases"
    ]
    assert made["owner"] == bench.person.username
    assert bench.get("/api/v1/purchases/?owner=me").json()["results"] == [made]
    assert bench.get("/api/v1/purchases/?owner=shared").json()["results"] == []
    at = f"/api/v1/purchases/{made['id']}/"
    assert bench.patch(at, {"owner": "nobody here"}).status_code == 400
    came = bench.patch(at, {"state": "received", "to": PlaceFactory().pk}).json()
    assert bench.get(f"/api/v1/lots/{came['lot']}/").json()["owner"] == bench.person.username
    late = bench.patch(at, {"owner": None})
    assert (late.status_code, late.json()["code"]) == (409, "received_already")
    Purchase.objects.all().update(owner=wren, state="ordered", lot=None)
    assert owner.delete(at).json()["code"] == "not_yours"


def test_on_the_page_and_by_command(client: Any, wren: User, merle: User, capsys: Any) -> None:
    bought = ordered(NeedFactory(job=JobFactory(name="Her Tern", owner=wren)))
    call_command("buy")
    assert "wren" in capsys.readouterr().out
    client.force_login(merle)
    page = client.get(reverse("buy")).content.decode()
    assert "for wren" in page
    assert "Only wren cancels it" in page
    assert reverse("buy-cancel", args=[bought.pk]) not in page
    client.force_login(wren)
    page = client.get(reverse("buy")).content.decode()
    assert ", yours" in page
    assert reverse("buy-cancel", args=[bought.pk]) in page
    tray = PlaceFactory()
    client.post(reverse("buy-receive", args=[bought.pk]), {"quantity": "2", "to": str(tray.pk)})
    assert Lot.objects.get().owner == wren


def test_who_it_is_bought_for_is_said_on_the_page(client: Any, wren: User, merle: User) -> None:
    bought = ordered(NeedFactory(job=JobFactory(owner=wren)))
    at = reverse("buy-hand-on", args=[bought.pk])
    client.force_login(merle)
    assert at not in client.get(reverse("buy")).content.decode()
    assert "only wren hands it on" in client.post(at, {"owner": "merle"}, follow=True).content.decode()
    client.force_login(wren)
    page = client.get(reverse("buy")).content.decode()
    assert at in page
    assert "merle" not in page.split(at)[1].split("</form>")[0], "she gives it to nobody for them"
    client.post(at, {"owner": "nobody here"})
    bought.refresh_from_db()
    assert bought.owner == wren
    told = client.post(at, {"owner": ""}, follow=True).content.decode()
    bought.refresh_from_db()
    assert (bought.owner, "bought for everybody now" in told) == (None, True)
    robin = add_person("robin", role="owner")
    client.force_login(robin)
    assert "merle" in client.get(reverse("buy")).content.decode().split(at)[1].split("</form>")[0]


def test_at_a_bench_of_one_nobody_is_asked_for_whom_it_is_bought(client: Any) -> None:
    bought = ordered(NeedFactory())
    client.force_login(add_person("robin", role="owner"))
    page = client.get(reverse("buy")).content.decode()
    assert reverse("buy-cancel", args=[bought.pk]) in page
    assert "For whom" not in page


def test_who_it_is_bought_for_is_said_by_command(wren: User, merle: User, capsys: Any) -> None:
    bought = ordered(NeedFactory(job=JobFactory(owner=wren)))
    with pytest.raises(CommandError, match="only wren hands it on"):
        call_command("whose", "order", str(bought.pk), "--to", "merle", "--by", "merle")
    with pytest.raises(CommandError, match="no purchase has the number 9999"):
        call_command("whose", "order", "9999", "--to", "wren")
    call_command("whose", "order", str(bought.pk), "--to", "everybody", "--by", "wren")
    bought.refresh_from_db()
    assert bought.owner is None
    assert "bought for everybody" in capsys.readouterr().out


@pytest.mark.parametrize("at", ["buy-receive", "buy-hand-on", "api"])
def test_what_another_cancels_at_the_same_moment_is_said_to_be_gone(
    client: Any, owner: Any, wren: User, at: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    bought, tray = ordered(NeedFactory()), PlaceFactory()
    locked = purchases._locked

    def cancelled_first(purchase: Purchase) -> Purchase:
        Purchase.objects.all().delete()
        return locked(purchase)

    monkeypatch.setattr(purchases, "_locked", cancelled_first)
    if at == "api":
        asked = owner.patch(f"/api/v1/purchases/{bought.pk}/", {"state": "received", "to": tray.pk})
        assert (asked.status_code, asked.json()["code"]) == (409, "gone")
    else:
        client.force_login(wren)
        form = {"quantity": "2", "to": str(tray.pk), "owner": "wren"}
        told = client.post(reverse(at, args=[bought.pk]), form, follow=True)
        assert "was cancelled meanwhile" in told.content.decode()
    assert not Lot.objects.exists()
