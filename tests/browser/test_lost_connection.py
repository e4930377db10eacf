"""A pick list in a cellar: what was ticked without a connection is kept in the browser and done once."""

from playwright.sync_api import Page, Route, expect

from tests.browser.bench import PHONE, Bench
from tests.browser.conftest import Open

FITTED = """
from inventory.models import Movement
print(Movement.objects.filter(kind="fit", reversed_by=None).count())
"""

TAKE_THE_POSITION = """
from inventory.models import Holding
from repairs.models import Reservation
promise = Reservation.objects.select_related("need__job__board__place", "holding").get(pk={})
other = Holding.objects.filter(promised=0, quantity=1, ref="").exclude(lot=promise.holding.lot_id).first()
Holding.objects.filter(pk=other.pk).update(place=promise.need.job.board.place, ref=promise.need.ref)
"""

RESERVE_TWO_ALIKE = """
from itertools import groupby
from inventory.models import Part
from repairs.models import Need
from repairs.proving.orientation import note_at_fitting
from repairs.reservations import reserve
from tests.factories import PartFactory, PlaceFactory, stock
wanted = Need.objects.filter(job__name="Tern C rebuild", reservations=None).order_by("spec", "ref")
wanted = [need for need in wanted if not note_at_fitting(need.spec.spec, need.spec.spec, need.note)]
alike = next(two for _, rows in groupby(wanted, lambda need: need.spec_id) if len(two := list(rows)[:2]) == 2)
part = Part.objects.filter(spec=alike[0].spec).first() or PartFactory(of=alike[0].spec.spec)
bag = stock(2, part=part, place=PlaceFactory(name="Wall box"))
for need in alike:
    reserve(need, bag, 1, by=None)
"""
"""Two that go in either way round, of one bag: the demo's list has no such row."""


def fitted(bench: Bench) -> int:
    return int(bench.command("shell", "--no-imports", "-c", FITTED))


ALONE = ".walk .at-hand > form[action^='/reservations/']"
"""What is fitted by itself; what is alike is one row and another form."""


def pick_list(page: Page) -> None:
    page.goto("/jobs/")
    page.get_by_role("link", name="Tern C rebuild").first.tap()
    page.get_by_role("link", name="Fetch and fit").tap()
    page.wait_for_url("**/fetch/**")


def test_what_was_ticked_while_it_was_away_is_sent_when_it_is_back(own: Bench, look: Open) -> None:
    page, before = look(own, **PHONE), fitted(own)
    pick_list(page)
    page.context.set_offline(True)
    ticks = page.locator(f"{ALONE} button:visible")
    for tick in (ticks.nth(0), ticks.nth(1)):
        tick.tap()
        expect(tick).to_have_text("Kept in this browser")
    expect(page.locator("#kept")).to_contain_text("2 kept in this browser")
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("2 kept here were sent", timeout=30_000)
    assert fitted(own) == before + 2


def test_all_of_a_row_are_kept_as_one_tap_too(own: Bench, look: Open) -> None:
    own.command("shell", "--no-imports", "-c", RESERVE_TWO_ALIKE)
    page, before = look(own, **PHONE), fitted(own)
    pick_list(page)
    row = page.locator(".walk form[action$='/fitted/']").first
    pieces = row.locator("[name=reservation]").count()
    assert pieces > 1
    page.context.set_offline(True)
    row.get_by_role("button").tap()
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("1 kept here was sent", timeout=30_000)
    assert fitted(own) == before + pieces


def test_where_only_the_answer_was_lost_it_is_done_once(own: Bench, look: Open) -> None:
    page, before = look(own, **PHONE), fitted(own)
    pick_list(page)
    page.context.set_offline(True)
    tick = page.locator(f"{ALONE} button:visible").first
    tick.tap()
    expect(tick).to_have_text("Kept in this browser")

    def lose_the_answer(route: Route) -> None:
        route.fetch(max_redirects=0)
        route.abort("internetdisconnected")

    page.route("**/reservations/*/fit/", lose_the_answer)
    with page.expect_request("**/reservations/*/fit/", timeout=30_000):
        page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("1 kept in this browser")
    page.unroute_all(behavior="wait")
    page.goto("/")  # any page sends what is kept
    expect(page.locator("#kept")).to_contain_text("1 kept here was sent", timeout=30_000)
    assert fitted(own) == before + 1


def test_what_is_refused_or_is_not_there_any_more_is_not_told_as_sent(own: Bench, look: Open) -> None:
    page, before = look(own, **PHONE), fitted(own)
    pick_list(page)
    gone, taken = (page.locator(f"{ALONE}:visible").nth(at).get_attribute("action") for at in (0, 1))
    page.context.set_offline(True)
    for at in (0, 1):
        page.locator(f"{ALONE} button:visible").nth(at).tap()
        expect(page.locator(f"{ALONE} button:visible").nth(at)).to_have_text("Kept in this browser")
    own.command("shell", "--no-imports", "-c", TAKE_THE_POSITION.format(taken.split("/")[-3]))
    page.route(f"**{gone}", lambda route: route.fulfill(status=404, body="<main></main>"))
    page.context.set_offline(False)
    said = page.locator("#kept")
    expect(said).to_contain_text("2 kept here were refused: What it is about", timeout=30_000)
    expect(said).to_contain_text("holds")
    expect(said).not_to_contain_text("sent")
    assert fitted(own) == before
