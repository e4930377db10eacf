"""One of many is picked by a few letters; their names stand on the page once for all its boxes."""

from collections.abc import Callable

import pytest
from django.template import Context
from django.test import Client, RequestFactory
from django.urls import reverse

from inventory import ledger
from inventory.models import Board, Holding, Place, StoredSpec
from inventory.templatetags.bench import MANY, MANY_IN_EACH, pick
from repairs.loans import lend
from repairs.models import Job, Loan, Purchase, Reservation
from repairs.proving_models import SwapTest
from repairs.sharing_models import Friend, FriendAsk
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PersonFactory,
    spec,
    stock,
)

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def test_of_few_jobs_one_is_picked_of_a_list(sign_in: Enter) -> None:
    job = JobFactory(name="Kittiwake")
    page = sign_in("bench").get(reverse("harvest")).content.decode()
    assert f'<option value="{job.pk}">Kittiwake</option>' in page
    assert "<datalist" not in page


def test_of_2000_jobs_one_is_found_by_its_name(sign_in: Enter) -> None:
    Job.objects.bulk_create([Job(name=f"Gannet {at}") for at in range(2000)])
    job = Job.objects.get(name="Gannet 1234")
    client = sign_in("bench")
    page = client.get(reverse("harvest"), {"job": f"{job.pk} · {job.name}"})
    assert page.context["job"] == job
    html = page.content.decode()
    assert html.count("<select") == 0
    assert html.count("<datalist") == 1
    assert f'name="job" value="{job.pk} · Gannet 1234"' in html


def test_forty_loans_ask_for_one_of_600_drawers_and_name_them_once(sign_in: Enter) -> None:
    Place.objects.bulk_create(
        [Place(name=f"Cabinet drawer {at}", type="drawer") for at in range(max(600, MANY + 1))]
    )
    client, person = sign_in("bench"), Place.objects.create(name="Ülo", type="person")
    for _loan in range(5):
        held = stock(1)
        lend(held.lot, ledger.spot_of(held.place), person, 1, by=PersonFactory(), reason="", due=None)
    html = client.get(reverse("loans")).content.decode()
    assert html.count("Cabinet drawer 599") == 1
    assert html.count('name="to"') == 5
    assert html.count("<datalist") == 1


def test_a_what_if_that_is_refused_keeps_the_job_that_was_picked_of_many(sign_in: Enter) -> None:
    Job.objects.bulk_create([Job(name=f"Gannet {at}") for at in range(MANY + 1)])
    job = Job.objects.get(name="Gannet 123")
    part = PartFactory()
    asked = {"park": f"{job.pk} · {job.name}", "part": part.pk, "pieces": 0}
    refused = sign_in("bench").get(reverse("what-if"), asked)
    assert refused.status_code == 400
    assert f'name="park" value="{job.pk} · Gannet 123"' in refused.content.decode()


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ({"priority": "2 or so"}, "a priority from 1, the highest, to 5"),
        ({"pieces": "2 x"}, "how many pieces"),
    ],
)
def test_a_what_if_says_what_a_number_it_cannot_read_should_be(
    sign_in: Enter, typed: dict[str, str], expected: str
) -> None:
    asked = {"job": NeedFactory().job_id, "part": PartFactory().pk, "priority": "2", "pieces": "2", **typed}
    refused = sign_in("bench").get(reverse("what-if"), asked)
    assert refused.status_code == 400
    assert f"expected {expected}" in refused.content.decode()


def test_a_list_that_unfolds_leaves_the_names_to_the_box_that_needs_them() -> None:
    rows = [(at, f"Drawer {at}") for at in range(MANY_IN_EACH + 1)]
    context = Context({"request": RequestFactory().get("/")})
    few, many, again = (pick(context, "to", "to", rows, of=of) for of in ("", 7, 8))
    assert (few["few"], many["few"]) == (True, False)
    assert (many["first"], again["first"]) == (True, False)


def many_boards() -> list[Board]:
    names = [f"Hall {at}" for at in range(1, 2001)]
    places = Place.objects.bulk_create([Place(name=name, type="board") for name in names])
    return Board.objects.bulk_create(
        [Board(name=place.name, place=place, purpose="donor") for place in places]
    )


def test_a_job_is_opened_on_one_of_2000_boards(sign_in: Enter) -> None:
    board = many_boards()[1233]
    client = sign_in("bench")
    html = client.get(reverse("jobs"), {"board": board.pk}).content.decode()
    assert f'name="board" value="{board.pk} · Hall 1234"' in html
    opened = {"name": "Hum", "priority": 3, "board": f"{board.pk} · Hall 1234"}
    unknown = client.post(reverse("jobs"), opened | {"board": "Hall 1234"})
    assert unknown.status_code == 400
    assert "pick one of the boards" in unknown.content.decode()
    assert 'value="Hall 1234"' in unknown.content.decode()
    client.post(reverse("jobs"), opened)
    job = Job.objects.get()
    assert job.board == board
    changed = opened | {"version": job.version, "board": f"{board.pk + 1} · Hall 1235"}
    client.post(reverse("job-change", args=[job.pk]), changed)
    job.refresh_from_db()
    assert job.board_id == board.pk + 1


NOT_FOUND = "Not found. Type a few letters and pick one of the"


@pytest.mark.parametrize("name", ["Hall 1235", "Hall 12345", ""])
def test_a_name_that_was_changed_behind_its_number_is_not_passed_over(sign_in: Enter, name: str) -> None:
    board = many_boards()[1233]
    client = sign_in("bench")
    typed = f"{board.pk} · {name}"
    answer = client.post(reverse("jobs"), {"name": "Hum", "priority": 3, "board": typed})
    assert answer.status_code == 400
    html = answer.content.decode()
    assert NOT_FOUND in html
    assert f'value="{typed.strip()}"' in html or f'value="{typed}"' in html
    assert not Job.objects.exists()


@pytest.mark.parametrize("typed", ["Hall 3 · x", "999999 · x", "{pk} · Hall 3", "Hall 2"])
def test_a_what_if_of_a_board_that_is_none_says_so_and_keeps_what_was_typed(
    sign_in: Enter, typed: str
) -> None:
    board = many_boards()[1]
    typed = typed.format(pk=board.pk)
    answer = sign_in("bench").get(reverse("what-if"), {"strip": typed})
    assert answer.status_code == 400
    assert NOT_FOUND in answer.content.decode()
    assert f'name="strip" value="{typed}"' in answer.content.decode()


@pytest.mark.parametrize("typed", ["Tray 7 · x", "999999 · x", "{pk} · Tray 8", "Tray 7"])
def test_a_piece_stays_on_where_the_tray_that_was_typed_is_none(sign_in: Enter, typed: str) -> None:
    board = BoardFactory(name="Hall", purpose="under_repair")
    held = stock(1, place=board.place, ref="R1")
    tray = Place.objects.create(name="Tray 7", type="tray")
    client = sign_in("bench")
    page, asked = reverse("board", args=[board.pk]), {"ref": "R1", "condition": "good"}
    off = {**asked, "to": typed.format(pk=tray.pk), "next": page}
    answer = client.post(reverse("remove", args=[board.pk]), off, follow=True)
    assert NOT_FOUND in answer.content.decode()
    held.refresh_from_db()
    assert held.quantity == 1
    client.post(reverse("remove", args=[board.pk]), {**off, "to": f"{tray.pk} · Tray 7"})
    held.refresh_from_db()
    assert held.quantity == 0


def many_trays() -> Place:
    """Tray 7 of so many that a box with completion asks for one."""
    Place.objects.bulk_create([Place(name=f"Tray {at}", type="tray") for at in range(MANY + 1)])
    return Place.objects.get(name="Tray 7")


WRONG = ["Tray 7 · x", "999999 · x", "999999", "{pk} · Tray 8", "Tray 7"]


@pytest.mark.parametrize("typed", WRONG)
@pytest.mark.parametrize(
    ("name", "box", "more"),
    [
        ("print", "place", {"what": "places"}),
        ("read", "tray", {"marking": "104K"}),
        ("add-many", "place", {"lines": "4k7", "import": "1", "pick1": "0"}),
    ],
)
def test_a_tray_that_is_none_is_said_beside_its_box_and_kept_in_it(
    sign_in: Enter, name: str, box: str, more: dict[str, str], typed: str
) -> None:
    client, tray = sign_in("bench"), many_trays()
    ask = client.post if name == "add-many" else client.get
    typed = typed.format(pk=tray.pk)
    answer = ask(reverse(name), {**more, box: typed})
    html = answer.content.decode()
    assert answer.status_code == 400
    field = html.partition(f'name="{box}" value="{typed}" list=')[2].partition("</p>")[0]
    assert NOT_FOUND in field
    assert html.count(NOT_FOUND) == 1
    assert not Holding.objects.exists()
    right = ask(reverse(name), {**more, box: f"{tray.pk} · Tray 7"})
    assert right.status_code < 400
    assert NOT_FOUND not in right.content.decode()


@pytest.mark.parametrize("typed", ["Gannet 7 · x", "999999 · x", "999999", "{pk} · Gannet 8", "Gannet 7"])
def test_a_harvest_for_a_job_that_is_none_says_so_beside_the_box(sign_in: Enter, typed: str) -> None:
    Job.objects.bulk_create([Job(name=f"Gannet {at}") for at in range(MANY + 1)])
    typed = typed.format(pk=Job.objects.get(name="Gannet 7").pk)
    answer = sign_in("bench").get(reverse("harvest"), {"job": typed})
    assert answer.status_code == 400
    field = answer.content.decode().partition(f'name="job" value="{typed}" list=')[2].partition("</p>")[0]
    assert NOT_FOUND in field


@pytest.mark.parametrize("typed", ["Hall 3 · x", "999999 · x", "999999", "{pk} · Hall 3", "Hall 2"])
def test_a_job_is_compared_with_no_board_but_the_one_that_was_meant(sign_in: Enter, typed: str) -> None:
    board, job = many_boards()[1], JobFactory(board=BoardFactory(purpose="under_repair"))
    typed = typed.format(pk=board.pk)
    client = sign_in("bench")
    answer = client.get(reverse("compare", args=[job.pk]), {"from": typed})
    assert answer.status_code == 400
    field = answer.content.decode().partition(f'name="from" value="{typed}" list=')[2].partition("</p>")[0]
    assert NOT_FOUND in field
    right = client.get(reverse("compare", args=[job.pk]), {"from": f"{board.pk} · Hall 2"})
    assert right.context["donor"] == board


@pytest.mark.parametrize("typed", WRONG)
@pytest.mark.parametrize("what", ["receive", "parcel", "move", "swap", "strip", "skip", "put away"])
def test_nothing_goes_where_nobody_meant(sign_in: Enter, what: str, typed: str) -> None:
    client, tray, held = sign_in("bench"), many_trays(), stock(2)
    typed, needed = typed.format(pk=tray.pk), spec("ic", None, number="4116")
    board = BoardFactory(
        name="Hall", purpose="working" if what == "swap" else "donor",
        design=DesignFactory(positions={"IC1": needed}),
    )  # fmt: skip
    board.design.positions.update(socketed=True)
    stock(1, part=PartFactory(of=needed), place=board.place, ref="IC1")
    bought = Purchase.objects.create(part=held.lot.part, quantity=3, state="ordered")
    asked = FriendAsk.objects.create(
        friend=Friend.objects.create(name="Ina"), line="a", spec=StoredSpec.keep(needed), quantity=1,
        condition="good", state="sent",
    )  # fmt: skip
    strip = reverse("strip", args=[board.pk])
    page, address, box, sent = {
        "receive": ("buy", reverse("buy-receive", args=[bought.pk]), "to", {"quantity": 3}),
        "parcel": ("friends", reverse("move-asked", args=[asked.pk]), "to", {"state": "arrived"}),
        "move": ("", reverse("move-pieces", args=[held.pk]), "to", {"what": "move", "quantity": 1}),
        "swap": ("", reverse("swaps", args=[board.pk]), "to", {"ref": "IC1"}),
        "strip": (strip, strip, "tray", {"ref": "IC1", "judge": "good"}),
        "skip": (strip, strip, "tray", {"ref": "IC1", "judge": "skip"}),
        "put away": (
            f"{reverse('read')}?marking=104K", reverse("put-away"), "tray",
            {"marking": "104K", "put": "1", "spec1": '{"kind": "resistor", "value": "4k7"}', "quantity": 1},
        ),
    }[what]  # fmt: skip
    page = page and (page if page.startswith("/") else reverse(page))
    before = list(Holding.objects.order_by("id").values_list("id", "place", "ref", "quantity"))
    answer = client.post(address, {**sent, box: typed, "next": page}, follow=True)
    html = answer.content.decode()
    assert html.count(NOT_FOUND) == 1
    assert f'name="{box}" value="{typed}"' in html
    assert list(Holding.objects.order_by("id").values_list("id", "place", "ref", "quantity")) == before
    assert not SwapTest.objects.exists()
    client.post(address, {**sent, box: f"{tray.pk} · Tray 7", "next": page})
    after = list(Holding.objects.order_by("id").values_list("id", "place", "ref", "quantity"))
    assert (after == before) == (what == "skip")


def test_a_piece_that_comes_off_is_scrapped_by_the_whole_word_alone(sign_in: Enter) -> None:
    board = BoardFactory(name="Hall", purpose="under_repair")
    held = stock(1, place=board.place, ref="R1")
    client, asked = sign_in("bench"), {"ref": "R1", "condition": "faulty"}
    client.post(reverse("remove", args=[board.pk]), {**asked, "to": "scrap · the drawer of scraps"})
    held.refresh_from_db()
    assert held.quantity == 1


@pytest.mark.parametrize("need", ["999", "999 · x", "x"])
def test_a_loan_for_a_position_that_is_gone_is_refused_where_one_was(sign_in: Enter, need: str) -> None:
    board = BoardFactory(name="Hall", purpose="working")
    held, tray = stock(1, place=board.place, ref="R1"), Place.objects.create(name="Tray 1", type="tray")
    client, page = sign_in("bench"), reverse("board", args=[board.pk])
    sent = {"to": tray.pk, "need": need, "next": page}
    answer = client.post(reverse("borrow", args=[held.pk]), sent, follow=True)
    assert answer.status_code == 200
    assert "The position that it was to be reserved for is not there any more" in answer.content.decode()
    assert not Loan.objects.exists()


def test_how_many_is_a_number_or_refused_and_never_taken_for_one_or_for_all(sign_in: Enter) -> None:
    client, held, tray = sign_in("bench"), stock(5), Place.objects.create(name="Tray 1", type="tray")
    person = Place.objects.create(name="Wren", type="person")
    lend(held.lot, ledger.spot_of(held.place), person, 3, by=PersonFactory(), reason="", due=None)
    back = {"to": tray.pk, "quantity": "2 x"}
    client.post(reverse("return-loan", args=[Loan.objects.get().pk]), back)
    assert not Holding.objects.filter(place=tray, quantity__gt=0).exists()
    need = NeedFactory()
    client.post(reverse("reserve-one"), {"need": need.pk, "holding": held.pk, "quantity": "1 x"})
    gone = client.post(reverse("reserve-one"), {"need": 999, "holding": held.pk}, follow=True)
    assert "is not there any more" in gone.content.decode()
    assert not Reservation.objects.exists()


@pytest.mark.parametrize("name", ["jobs", "boards", "what-if"])
def test_no_page_unfolds_2000_boards(sign_in: Enter, name: str) -> None:
    many_boards()
    html = sign_in("bench").get(reverse(name)).content.decode()
    assert html.count('<option value="') < 2100, "each stands on the page once at most"
    assert "Hall 1999</option>" not in html


def test_boards_stand_as_one_counts(sign_in: Enter) -> None:
    for number in (100, 10, 2, 1):
        BoardFactory(name=f"Hall {number}")
    client = sign_in("bench")
    listed = [board.name for board in client.get(reverse("boards")).context["listed"]]
    offered = [name for _pk, name in client.get(reverse("jobs")).context["boards"]]
    assert listed == offered == ["Hall 1", "Hall 2", "Hall 10", "Hall 100"]


def test_a_drawer_goes_inside_one_of_many(sign_in: Enter) -> None:
    places = Place.objects.bulk_create([Place(name=f"Row {at}", type="drawer") for at in range(MANY + 1)])
    cabinet = places[150]
    client = sign_in("bench")
    made = client.post(
        reverse("make-place"), {"name": "Box", "type": "tray", "within": f"{cabinet.pk} · Row 150"}
    )
    assert made.status_code == 302
    assert Place.objects.get(name="Box").within == cabinet
    form = client.get(reverse("change-place", args=[cabinet.pk])).content.decode()
    assert "<datalist" in form


def test_a_piece_goes_on_from_a_drawer_to_one_of_many_not_to_its_own(sign_in: Enter) -> None:
    held = stock(3)
    other = Place.objects.create(name="Row 7", type="drawer")
    html = sign_in("bench").get(reverse("lot", args=[held.lot_id])).content.decode()
    assert f'<option value="{other.pk}"' in html
    assert f'<option value="{held.place_id}"' not in html
