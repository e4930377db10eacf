"""The demo taken out again: all of it goes and nothing of one's own, or nothing goes."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory import ledger, ownership
from inventory.ledger import Arrival, Origin, Spot
from inventory.models import Board, Design, HandOver, Holding, Lot, Movement, Part, Photo, Place, StoredSpec
from inventory.people import add_person
from inventory.pictures import photos
from inventory.spec import Spec
from repairs import asks, demo, demo_removal, jobs, reservations
from repairs.audit import audit
from repairs.models import DemoLoad, Job, PieceAsk, Purchase, Reservation, Trial
from tests.factories import BoardFactory, JobFactory, NeedFactory, PlaceFactory, photo, stock

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db]
Enter = Callable[..., Client]


def rows() -> dict[str, list[Any]]:
    return {
        model._meta.label: list(model._base_manager.order_by("pk").values_list())
        for model in demo_removal.tables()
    }


def look(client: Client) -> Any:
    return client.get(reverse("remove-demo"))


def take_out(client: Client, message: str | None = None) -> Any:
    message = look(client).context["removal"].summary if message is None else message
    return client.post(reverse("remove-demo"), {"summary": message}, follow=True)


def in_drawer() -> Holding:
    """Pieces of the demo that are free, in a drawer."""
    free = Holding.objects.filter(place__type="drawer", quantity__gte=2, promised=0)
    return free.select_related("lot__part__spec", "place").order_by("id")[0]


def own_lot(place: Place, like: Spec) -> Lot:
    arrival = Arrival(Part.of(like), 3, Spot(place.pk), Origin(source="bought"), condition="good")
    return ledger.receive(arrival, by=None).lot


def test_the_bench_is_as_it_was_before_the_demo_came(
    sign_in: Enter, settings: Any, tmp_path: Any, django_capture_on_commit_callbacks: Any
) -> None:
    settings.MEDIA_ROOT = tmp_path
    client = sign_in("owner")
    drawer = PlaceFactory(name="My own drawer")
    before = rows()
    demo.load(by=None)
    assert list(tmp_path.rglob("*.jpg"))
    with django_capture_on_commit_callbacks(execute=True):
        answer = take_out(client)
    assert "The demo is taken out" in answer.content.decode()
    assert "Where do you begin?" in answer.content.decode()
    assert rows() == before
    assert list(tmp_path.rglob("*.jpg")) == []
    assert audit() == []
    drawer.delete()
    again = client.get("/").content.decode()
    assert reverse("load-demo") in again, "an empty workshop may have it again: see the tests of the entrance"


def test_what_changed_hands_and_was_asked_for_goes_too_and_is_counted(workshop: None, sign_in: Enter) -> None:
    client, merle, here = sign_in("owner"), add_person("merle"), in_drawer()
    ownership.give_lots([here.lot_id], merle, by=merle)
    need = NeedFactory(job=Job.objects.filter(status="open")[0], of=here.lot.part.spec.spec)
    asks.ask(need, here.lot, 1, by=None)
    removal = demo_removal.planned()
    assert removal is not None
    assert removal.since == ["1 need", "1 request", "1 change of hands"]
    take_out(client)
    assert not DemoLoad.objects.exists()


def test_with_a_persons_yes_the_pieces_and_all_that_is_theirs_of_it_go(
    workshop: None, sign_in: Enter
) -> None:
    client, merle, here = sign_in("owner"), add_person("merle"), in_drawer()
    donor = Board.objects.filter(purpose="donor")[0]
    ownership.give_board(donor, merle, by=merle)
    ownership.give_lots([here.lot_id], merle, by=merle)
    Purchase.objects.update(owner=merle)
    need = NeedFactory(job=Job.objects.filter(status="open")[0], of=here.lot.part.spec.spec)
    asks.answer(asks.ask(need, here.lot, 1, by=None), True, by=merle)
    take_out(client)
    left = [model.objects.count() for model in (Lot, PieceAsk, Reservation, HandOver, Purchase)]
    assert left == [0, 0, 0, 0, 0]
    assert audit() == []


def test_what_goes_is_listed_by_name_before(workshop: None, sign_in: Enter) -> None:
    page = look(sign_in("owner")).content.decode()
    for each in (*Board.objects.all(), *Design.objects.all(), *Job.objects.all()):
        assert str(each) in page
    assert f"{Lot.objects.count()}, with every movement" in page


def test_what_was_tried_with_the_demo_goes_too_and_is_counted(workshop: None, sign_in: Enter) -> None:
    client = sign_in("owner")
    here = in_drawer()
    tray = Place.objects.get(name="Tray 1")
    move = {"what": "move", "quantity": 1, "to": tray.pk}
    client.post(reverse("move-pieces", args=[here.pk]), move)
    jobs.add_need(Job.objects.filter(status="open")[0], spec=here.lot.part.spec.spec)
    before = Movement.objects.count()
    removal = demo_removal.planned()
    assert removal is not None
    assert removal.since == ["1 movement", "1 need"]
    assert len(removal.rows[Movement]) == before
    take_out(client)
    assert not Movement.objects.exists()
    assert not DemoLoad.objects.exists()
    assert audit() == []


def test_own_pieces_stay_with_their_drawer_and_their_part(workshop: None, sign_in: Enter) -> None:
    client = sign_in("owner")
    here = in_drawer()
    mine = own_lot(here.place, here.lot.part.spec.spec)
    trial = Trial.objects.create(lot=mine, method="ohms", verdict="good")
    cabinet = here.place.within
    assert here.place.name in look(client).content.decode()
    take_out(client)
    assert list(Lot.objects.all()) == [mine]
    assert list(Trial.objects.all()) == [trial]
    assert mine.part == Part.objects.get()
    assert mine.part.spec == StoredSpec.objects.get()
    kept = Place.objects.exclude(type__in=["outside", "scrap"])
    assert {here.place, cabinet} <= set(kept)
    assert all(place in (here.place, *above(here.place)) for place in kept)
    assert audit() == []


def above(place: Place) -> list[Place]:
    return [place.within, *above(place.within)] if place.within else []


def test_an_own_drawer_in_a_cabinet_of_the_demo_keeps_the_cabinet(workshop: None, sign_in: Enter) -> None:
    cabinet = Place.objects.get(name="Cabinet A")
    mine = PlaceFactory(name="My own drawer", within=cabinet)
    take_out(sign_in("owner"))
    assert set(Place.objects.exclude(type__in=["outside", "scrap"])) == {cabinet, mine}


def test_own_pictures_stay_and_show_nothing_named(
    workshop: None, sign_in: Enter, settings: Any, tmp_path: Any
) -> None:
    settings.MEDIA_ROOT = tmp_path
    mine = photo(subject="board", subject_id=Board.objects.first().pk)
    take_out(sign_in("owner"))
    [left] = Photo.objects.all()
    assert (left, left.subject) == (mine, "")
    assert photos.data_of(left)


# --- what of one's own would be lost


def a_job_on_its_board() -> None:
    JobFactory(name="My own job", board=Board.objects.first())


def a_board_to_its_drawing() -> None:
    BoardFactory(name="My own board", design=Design.objects.first())


def a_piece_of_it_on_my_board() -> None:
    here = in_drawer()
    ledger.fit(here.lot, Spot(here.place_id), BoardFactory(name="My own board"), "R1", by=None)


def a_piece_of_mine_on_its_board() -> None:
    holding = stock(1)
    free = Board.objects.get(name="Teleprinter interface, no drawing")
    ledger.fit(holding.lot, Spot(holding.place_id), free, "R99", by=None)


def a_piece_of_it_promised_to_my_job() -> None:
    here = in_drawer()
    need = jobs.add_need(JobFactory(name="My own job"), spec=here.lot.part.spec.spec)
    reservations.reserve(need, here, 1, by=None)


def a_piece_of_mine_promised_to_its_job() -> None:
    holding = stock(1)
    need = jobs.add_need(Job.objects.filter(status="open")[0], spec=holding.lot.part.spec.spec)
    reservations.reserve(need, holding, 1, by=None)


def pieces_put_together() -> None:
    here = in_drawer()
    mine = own_lot(here.place, here.lot.part.spec.spec)
    Lot.objects.filter(pk=mine.pk).update(
        **{name: getattr(here.lot, name) for name in ("condition", "origin_source", "origin_from", "marking")}
    )
    mine.refresh_from_db()
    ledger.merge(here.lot, mine, Spot(here.place_id), Spot(PlaceFactory().pk), 1, by=None)


@pytest.mark.parametrize(
    ("mine", "message"),
    [
        (a_job_on_its_board, "your job My own job is for one of its boards"),
        (a_board_to_its_drawing, "your board My own board is made to one of its drawings"),
        (a_piece_of_it_on_my_board, "a piece of the demo is or was on your board My own board"),
        (a_piece_of_mine_on_its_board, "is or was on one of its boards"),
        (a_piece_of_it_promised_to_my_job, "reserved for your job My own job"),
        (a_piece_of_mine_promised_to_its_job, "are reserved for the demo"),
        (pieces_put_together, "were put into your lot"),
    ],
)
def test_where_own_work_hangs_on_it_nothing_goes_and_the_reason_is_reported(
    workshop: None, sign_in: Enter, mine: Callable[[], None], message: str
) -> None:
    client = sign_in("owner")
    mine()
    before = rows()
    page = look(client)
    assert message in page.content.decode().replace("&#x27;", "'").lower().replace("my own", "My own")
    assert "Take the demo out</button>" not in page.content.decode()
    answer = take_out(client, page.context["removal"].summary)
    assert "stays" in answer.content.decode()
    assert rows() == before


def test_a_promise_that_was_given_up_holds_nothing_back(workshop: None, sign_in: Enter) -> None:
    a_piece_of_it_promised_to_my_job()
    reservations.release(Reservation.objects.get(need__job__name="My own job"))
    take_out(sign_in("owner"))
    assert [job.name for job in Job.objects.all()] == ["My own job"]
    assert audit() == []


def test_what_happened_since_the_person_looked_is_not_taken_along(workshop: None, sign_in: Enter) -> None:
    client = sign_in("owner")
    message = look(client).context["removal"].summary
    jobs.add_need(Job.objects.filter(status="open")[0], spec=in_drawer().lot.part.spec.spec)
    answer = take_out(client, message)
    assert "look again" in answer.content.decode()
    assert Board.objects.exists()


def test_a_second_press_does_nothing(workshop: None, sign_in: Enter) -> None:
    client = sign_in("owner")
    sent = {"summary": look(client).context["removal"].summary, "once": "0" * 32}
    client.post(reverse("remove-demo"), sent)
    mine = own_lot(PlaceFactory(), Spec(kind="resistor", value=1_000_000))
    client.post(reverse("remove-demo"), sent)
    assert list(Lot.objects.all()) == [mine]


@pytest.mark.parametrize("role", ["bench", "viewer"])
def test_only_the_owner_takes_it_out(workshop: None, sign_in: Enter, role: str) -> None:
    client = sign_in(role)
    assert "Take the demo out</button>" not in look(client).content.decode()
    assert client.post(reverse("remove-demo"), {"summary": ""}).status_code == 403
    assert Board.objects.exists()


def test_a_demo_whose_rows_were_not_noted_is_not_offered(workshop: None, sign_in: Enter) -> None:
    client = sign_in("owner")
    for name in ("now", "more"):
        assert reverse("remove-demo") in client.get(reverse(name)).content.decode()
    DemoLoad.objects.all().delete()
    for name in ("now", "more"):
        assert reverse("remove-demo") not in client.get(reverse(name)).content.decode()
    take_out(client, "")
    assert Board.objects.exists()


def test_the_ledger_forgets_no_lot_that_gave_pieces_to_one_that_stays() -> None:
    here = stock(3)
    line = ledger.split(here.lot, Spot(here.place_id), 1, condition="faulty", by=None)
    for lots in ([here.lot_id], [line.to_lot_id]):
        with pytest.raises(ledger.Refused):
            ledger.forget(lots)
    ledger.forget([here.lot_id, line.to_lot_id])
    assert not Movement.objects.exists()
    assert ledger.differences() == []
