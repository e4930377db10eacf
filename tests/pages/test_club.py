"""Several people at one bench: whose things are is said and changed where they are seen, and asked for."""

from html import unescape
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from inventory import ownership
from inventory.models import Board, Holding, Lot
from inventory.people import add_person, change_person
from inventory.refusals import Code, Refused
from repairs import asks
from repairs.models import Need, PieceAsk, Reservation
from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def wren(sign_in: Any) -> Client:
    browser: Client = sign_in("bench", "wren")
    return browser


@pytest.fixture
def merle(sign_in: Any) -> Client:
    browser: Client = sign_in("bench", "merle")
    return browser


def person(name: str) -> User:
    return User.objects.get(username=name)


@pytest.fixture
def hers(merle: Client) -> Holding:
    held = stock(3)
    ownership.give_lots([held.lot_id], person("merle"), by=person("merle"))
    return held


def text(browser: Client, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def said(answer: Any) -> str:
    return unescape(answer.content.decode())


def test_at_a_bench_of_one_nobody_is_asked_whose_it_is(sign_in: Any) -> None:
    browser, lot, board = sign_in("owner"), stock().lot, BoardFactory()
    for address in (f"/lots/{lot.pk}/", f"/boards/{board.pk}/", "/drawers/?q=4k7", "/boards/", "/jobs/", "/"):
        page = text(browser, address)
        for word in ("Whose", "verybody's", "sked of you", "mine"):
            assert word not in page.partition("<main")[2], (address, word)


def test_a_lot_and_a_board_become_somebodys_on_their_pages(wren: Client, merle: Client) -> None:
    lot, board = stock().lot, BoardFactory()
    assert wren.post("/own/", {"lot": lot.pk, "owner": "wren"}).status_code == 302
    assert wren.post("/own/", {"board": board.pk, "owner": "wren"}).status_code == 302
    assert (Lot.objects.get().owner, Board.objects.get().owner) == (person("wren"),) * 2
    page = text(wren, f"/lots/{lot.pk}/")
    assert "<strong>Yours</strong>" in page
    assert "from everybody to wren, by wren" in page
    page = text(merle, f"/lots/{lot.pk}/")
    assert "wren's</strong>: what you need of it is asked for" in page
    refused = said(merle.post("/own/", {"lot": lot.pk, "owner": "merle"}, follow=True))
    assert "is wren's: only wren hands it on" in refused
    wrong = said(wren.post("/own/", {"lot": lot.pk, "owner": "nobody"}, follow=True))
    assert "nobody does no work here" in wrong
    assert Lot.objects.get().owner == person("wren")


def test_lists_are_narrowed_to_what_is_mine_or_everybodys(wren: Client, hers: Holding) -> None:
    shared = stock(1, part=stock().lot.part)
    mine = JobFactory(name="Mend the Tern", owner=person("wren"))
    BoardFactory(name="Her Plover", owner=person("merle"))
    BoardFactory(name="Our Plover")
    assert f"/lots/{hers.lot_id}/" in text(wren, "/drawers/?owner=merle")
    assert f"/lots/{hers.lot_id}/" not in text(wren, "/drawers/?owner=shared")
    assert f"/lots/{shared.lot_id}/" in text(wren, "/drawers/?owner=shared")
    boards = text(wren, "/boards/?owner=merle")
    assert "Her Plover" in boards
    assert "donor, merle's" in boards
    assert "Our Plover" not in boards
    assert mine.name in text(wren, "/jobs/?owner=me")
    assert mine.name not in text(wren, "/jobs/?owner=shared")


def test_what_is_anothers_is_asked_for_on_the_page_of_the_need_and_answered_on_now(
    wren: Client, merle: Client, hers: Holding
) -> None:
    need = NeedFactory(job=JobFactory(name="Mend the Tern", owner=person("wren")), quantity=2)
    page = text(wren, f"/needs/{need.pk}/")
    assert "Ask merle</button>" in page
    assert "Reserve it</button>" not in page
    sent = {"need": need.pk, "lot": hers.lot_id, "quantity": 2, "note": "for Saturday"}
    assert wren.post("/asks/new/", sent).status_code == 302
    asked = PieceAsk.objects.get()
    assert "You asked merle for 2" in text(wren, "/")
    assert "Take it back" in text(wren, f"/needs/{need.pk}/")
    now = text(merle, "/")
    assert "wren asks you for 2" in now
    assert "for Saturday" in now
    assert "Yes, reserve them" in text(merle, f"/lots/{hers.lot_id}/")
    cheat = said(wren.post(f"/asks/{asked.pk}/answer/", {"yes": "1"}, follow=True))
    assert "is merle's" in cheat
    assert not Reservation.objects.exists()
    merle.post(f"/asks/{asked.pk}/answer/", {"yes": "1"})
    assert Reservation.objects.get().quantity == 2
    assert "Asked of you" not in text(merle, "/")


def test_a_no_is_told_to_whoever_asked_and_what_was_asked_is_taken_back(
    wren: Client, merle: Client, hers: Holding
) -> None:
    need = NeedFactory(job=JobFactory(owner=person("wren")), quantity=2)
    first = asks.ask(need, hers.lot, 1, by=person("wren"))
    merle.post(f"/asks/{first.pk}/answer/", {"yes": "0", "note": "I need them"})
    assert "They said no: I need them" in text(wren, "/")
    second = asks.ask(need, hers.lot, 1, by=person("wren"))
    wren.post(f"/asks/{second.pk}/withdraw/")
    second.refresh_from_db()
    assert second.state == "withdrawn"


def test_from_a_shortage_all_needs_of_a_job_are_asked_for_at_once(wren: Client, hers: Holding) -> None:
    job = JobFactory(owner=person("wren"))
    for _each in range(2):
        NeedFactory(job=job, quantity=1)
    requirement = Need.objects.values_list("spec", flat=True)[0]
    page = text(wren, f"/shortages/{requirement}/")
    assert "Ask merle for 2" in page
    assert "Others here have 2: ask them" in text(wren, "/shortages/")
    assert "somebody here has it" in text(wren, "/shortages/buy/")
    sent = {"job": job.pk, "requirement": requirement, "lot": hers.lot_id, "quantity": 2}
    wren.post("/asks/new/", sent)
    assert list(PieceAsk.objects.values_list("quantity", flat=True)) == [1, 1]
    again = said(wren.post("/asks/new/", sent, follow=True))
    assert "asked for already" in again
    assert "2 to ask of others here" in text(wren, "/")


def test_from_a_shortage_no_more_is_asked_for_than_is_free_and_all_of_it_or_nothing(
    wren: Client, hers: Holding
) -> None:
    job = JobFactory(owner=person("wren"))
    for _each in range(3):
        NeedFactory(job=job, quantity=2)
    requirement = Need.objects.values_list("spec", flat=True)[0]
    sent = {"job": job.pk, "requirement": requirement, "lot": hers.lot_id, "quantity": 6}
    wren.post("/asks/new/", sent)
    assert list(PieceAsk.objects.order_by("id").values_list("quantity", flat=True)) == [2, 1], "3 are free"
    PieceAsk.objects.all().delete()
    change_person(person("merle"), role="viewer")
    refused = said(wren.post("/asks/new/", sent, follow=True))
    assert "does no work here any more" in refused
    assert not PieceAsk.objects.exists()


def test_what_is_asked_for_several_needs_at_once_is_asked_whole_or_not_at_all(
    wren: Client, hers: Holding, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = JobFactory(owner=person("wren"))
    for _each in range(2):
        NeedFactory(job=job, quantity=1)
    really, refusing = asks.ask, Need.objects.latest("id")

    def someone_was_first(need: Need, *rest: Any, **named: Any) -> PieceAsk:
        if need == refusing:
            raise Refused(Code.ASKED_ALREADY, "merle was asked just now")
        return really(need, *rest, **named)

    monkeypatch.setattr(asks, "ask", someone_was_first)
    sent = {"job": job.pk, "requirement": refusing.spec_id, "lot": hers.lot_id, "quantity": 2}
    assert "asked just now" in said(wren.post("/asks/new/", sent, follow=True))
    assert not PieceAsk.objects.exists()


def test_who_looks_on_may_not_ask_or_answer(sign_in: Any, hers: Holding) -> None:
    viewer, need = sign_in("viewer"), NeedFactory()
    asked = asks.ask(need, hers.lot, 1, by=None)
    for address, sent in (
        ("/asks/new/", {"need": need.pk, "lot": hers.lot_id}), (f"/asks/{asked.pk}/answer/", {"yes": "1"}),
        (f"/asks/{asked.pk}/withdraw/", {}), ("/own/", {"lot": hers.lot_id, "owner": ""}),
    ):  # fmt: skip
        assert viewer.post(address, sent).status_code == 403
    assert "Ask merle</button>" not in text(viewer, f"/needs/{need.pk}/")


def test_what_was_a_persons_who_left_is_handed_over_in_one_press(
    sign_in: Any, wren: Client, hers: Holding
) -> None:
    robin: Client = sign_in("owner", "robin")
    merle = person("merle")
    BoardFactory(owner=merle)
    address = f"/people/{merle.pk}/"
    page = text(robin, address)
    assert "1 lot</a>" in page
    assert "1 board</a>" in page
    assert "Hand it over" not in page, "she is still here"
    refused = said(robin.post(f"{address}hand-over/", {"owner": "wren"}, follow=True))
    assert "only merle hands it on" in refused
    change_person(merle, active=False)
    assert "it stays theirs until you hand it over" in text(robin, address)
    assert wren.post(f"{address}hand-over/", {"owner": "wren"}).status_code == 403
    done = said(robin.post(f"{address}hand-over/", {"owner": "wren"}, follow=True))
    assert "1 lots and 1 boards" not in done
    assert "1 lot and 1 board are wren's now" in done
    assert (Lot.objects.get(pk=hers.lot_id).owner, Board.objects.get().owner) == (person("wren"),) * 2


def test_ones_own_jobs_stand_first_and_those_of_others_are_folded(wren: Client) -> None:
    add_person("merle")
    JobFactory(name="Mine", owner=person("wren"))
    JobFactory(name="Hers", owner=person("merle"))
    stock()
    page = text(wren, "/")
    assert page.index("Mine") < page.index("<summary>") < page.index("Hers")


def test_on_anothers_lot_nothing_is_offered_that_would_be_refused_and_it_is_asked_for(
    wren: Client, merle: Client, hers: Holding
) -> None:
    need = NeedFactory(job=JobFactory(name="Mend the Tern"))
    at = f"/lots/{hers.lot_id}/"
    seen, own = text(wren, at), text(merle, at)
    for only_hers in ('value="scrap"', "Lend it to somebody", "Say so"):
        assert only_hers in own
        assert only_hers not in seen
    assert 'value="move"' in seen, "to tidy is open to everybody"
    assert "merle alone lends it, scraps it or gives it away" in seen
    assert f'<a href="/needs/{need.pk}/">Ask merle for it: Mend the Tern' in seen
    assert "Only merle hands it on" in seen
    assert "Ask merle" not in own


def test_on_anothers_donor_only_what_is_reserved_is_lifted(wren: Client, merle: Client) -> None:
    donor = BoardFactory(name="Her Plover", owner=person("merle"))
    kept, other = (stock(1, place=donor.place, ref=ref, source="board", board=donor) for ref in ("R1", "R2"))
    ownership.give_lots([kept.lot_id, other.lot_id], person("merle"), by=None)
    at = f"/boards/{donor.pk}/"
    assert "Lift parts, one after the other" in text(merle, at)
    seen = text(wren, at)
    assert "Lift parts" not in seen
    assert "Ask merle for what a job is short of" in seen
    assert "Lift what is reserved" not in seen
    need = NeedFactory(job=JobFactory(owner=person("wren")))
    asked = asks.ask(need, Lot.objects.get(pk=kept.lot_id), 1, by=person("wren"))
    asks.answer(asked, True, by=person("merle"))
    assert f'href="/boards/{donor.pk}/strip/?only=R1">Lift what is reserved' in text(wren, at)


def test_anothers_working_board_lends_nothing_without_them(wren: Client, merle: Client) -> None:
    board = BoardFactory(
        purpose="working", owner=person("merle"), design=DesignFactory(positions={"R1": spec()})
    )
    PlaceFactory()
    stock(1, place=board.place, ref="R1", source="board", board=board)
    Lot.objects.update(owner=person("merle"))
    at = f"/boards/{board.pk}/?ref=R1"
    assert "Borrow R1" in text(merle, at)
    assert "Borrow" not in text(wren, at).partition("<main")[2]
