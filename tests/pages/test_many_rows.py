"""Every list with no row, one, a board of 18, one of 150, and 2,000: it answers and stays short."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.boards import survey
from inventory.ledger import Arrival, Spot, receive_all
from inventory.models import Design
from inventory.pages import designing, drawers
from repairs import benchlog
from repairs.pages import boards, fetching, job_log, jobs
from repairs.proving_models import BenchEntry
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
)

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
ROWS = (0, 1, 18, 150, 2000)
OF_A_JOB = 150


@pytest.mark.parametrize("rows", ROWS)
def test_the_pages_of_a_design_its_board_and_its_job(sign_in: Enter, rows: int) -> None:
    client = sign_in("bench")
    design: Design = DesignFactory(positions={f"R{at}": spec(value=str(at)) for at in range(1, rows + 1)})
    board = BoardFactory(design=design, purpose="under_repair")
    job = JobFactory(board=board)
    for position in design.positions.select_related("spec")[:OF_A_JOB]:
        NeedFactory(job=job, of=position.spec.spec, ref=position.ref)
    for name, pk in (("positions", design.pk), ("board", board.pk), ("job", job.pk), ("job-report", job.pk)):
        assert client.get(reverse(name, args=[pk])).status_code == 200, name
    for name in ("shortages", "buy", "harvest", "designs", "boards", "jobs", "now", "plots", "loans"):
        assert client.get(reverse(name)).status_code == 200, name
    page = client.get(reverse("positions", args=[design.pk]))
    assert len(page.context["page"].object_list) == min(rows, designing.ROWS)
    last = client.get(
        reverse("positions", args=[design.pk]), {"page": page.context["page"].paginator.num_pages}
    )
    assert not rows or f'id="R{rows}"' in last.content.decode()


def test_a_board_and_a_job_of_450_positions_are_read_a_page_at_a_time(sign_in: Enter) -> None:
    client = sign_in("bench")
    # No two alike, or they would be one line of the job.
    design = DesignFactory(positions={f"R{at}": spec(value=str(at)) for at in range(1, 451)})
    board = BoardFactory(design=design, purpose="under_repair")
    job = JobFactory(board=board)
    for position in design.positions.select_related("spec"):
        NeedFactory(job=job, of=position.spec.spec, ref=position.ref)
    for name, pk, of_each, row in (
        ("board", board.pk, boards.ON_A_PAGE, 'id="ref-R{}"'),
        ("job", job.pk, jobs.LINES_ON_A_PAGE, ">R{}</a></th>"),
    ):
        address = reverse(name, args=[pk])
        seen: list[int] = []
        pages = -(-450 // of_each)
        for leaf in range(1, pages + 1):
            page = client.get(address, {"page": leaf}).content.decode()
            here = [at for at in range(1, 451) if row.format(at) in page]
            assert len(here) <= of_each
            assert f"page {leaf} of {pages}" in page
            assert "450" in page, "a heading counts what is on all pages"
            seen += here
        assert seen == list(range(1, 451)), name


def test_a_board_of_2000_parts_no_two_alike_is_surveyed_traced_and_compared(owner: Any) -> None:
    """SQLite takes no expression deeper than 1,000 ("Limits in SQLite", its documentation); Django makes
    one of as many rows as are prefetched by a foreign key."""
    first, second = (
        DesignFactory(positions={f"R{at}": spec(value=str(at)) for at in range(1, 2001)}) for _ in range(2)
    )
    made = owner.post(
        "/api/v1/boards/", {"name": "Gannet", "design": first.pk, "purpose": "donor", "survey": True}
    )
    assert made.status_code == 201, made.content
    board = made.json()["id"]
    for address in (
        f"/api/v1/designs/{first.pk}/",
        f"/api/v1/designs/{first.pk}/compare/?with={second.pk}",
        f"/api/v1/boards/{board}/trace/",
        f"/api/v1/lots/?board={board}&page_size=500",
        "/api/v1/shortages/",
    ):
        assert owner.get(address).status_code == 200, address
    client = Client()
    client.force_login(owner.person)
    for name in ("board", "strip"):
        assert client.get(reverse(name, args=[board])).status_code == 200, name


def test_2000_drawers_and_what_2000_parts_of_a_donor_are_for_are_read_a_page_at_a_time(
    sign_in: Enter,
) -> None:
    client = sign_in("bench")
    for at in range(1, 301):
        PlaceFactory(name=f"Drawer {at}")
    seen: list[str] = []
    for leaf in range(1, -(-300 // drawers.BRANCHES_ON_A_PAGE) + 1):
        page = client.get(reverse("drawers"), {"page": leaf})
        assert len(page.context["tree"]) <= drawers.BRANCHES_ON_A_PAGE
        seen += [
            each.place.name for each, _deeper in page.context["tree"] if each.place.name.startswith("Drawer")
        ]
    assert seen == [f"Drawer {at}" for at in range(1, 301)]
    design = DesignFactory(positions={f"R{at}": spec(value=str(at)) for at in range(1, 201)})
    job = JobFactory(board=BoardFactory(design=design, purpose="under_repair"))
    for position in design.positions.select_related("spec"):
        NeedFactory(job=job, of=position.spec.spec, ref=position.ref)
    donor = BoardFactory(design=design, purpose="donor")
    survey(donor, by=None)
    refs: list[str] = []
    for leaf in range(1, -(-200 // fetching.LINES_ON_A_PAGE) + 1):
        page = client.get(reverse("compare", args=[job.pk]), {"from": donor.pk, "page": leaf})
        refs += [
            move.ref for _stage, _count, same in page.context["stages"] for alike in same for move in alike
        ]
        assert "200 moves" in page.content.decode()
    assert sorted(refs) == sorted(position.ref for position in design.positions.all())


def test_a_position_of_a_large_board_is_found_on_whatever_page_it_is(sign_in: Enter) -> None:
    client = sign_in("bench")
    board = BoardFactory(design=DesignFactory(positions={f"R{at}": spec() for at in range(1, 501)}))
    page = client.get(reverse("board", args=[board.pk]), {"ref": "r450"})
    assert 'id="ref-R450"' in page.content.decode()
    assert page.context["here"].trace.ref == "R450"


@pytest.mark.parametrize("rows", ROWS)
def test_a_drawer_of_many_lots(sign_in: Enter, rows: int) -> None:
    client, drawer = sign_in("bench"), PlaceFactory(name="Drawer 1")
    part = PartFactory(of=spec())
    receive_all([Arrival(part, 1, Spot(drawer.pk), marking=f"bag {at}") for at in range(rows)], by=None)
    page = client.get(reverse("drawers"), {"place": drawer.pk})
    assert page.context["page"].paginator.count == rows
    assert len(page.context["labels"]) == min(rows, drawers.ON_A_PAGE)


def test_like_lots_in_one_place_are_one_row_that_opens_to_each(sign_in: Enter) -> None:
    client, drawer = sign_in("viewer"), PlaceFactory(name="Drawer 1")
    part = PartFactory(of=spec())
    lines = receive_all([Arrival(part, 1, Spot(drawer.pk)) for _bag in range(5)], by=None)
    page = client.get(reverse("drawers"), {"place": drawer.pk})
    assert [len(group) for group in page.context["alike"]] == [5]
    for line in lines:
        assert reverse("lot", args=[line.lot_id]) in page.content.decode()


@pytest.mark.parametrize("rows", ROWS)
def test_what_was_done_lately_and_the_log_of_a_job(sign_in: Enter, rows: int) -> None:
    client, drawer, job = sign_in("viewer"), PlaceFactory(name="Drawer 1"), JobFactory()
    part = PartFactory(of=spec())
    receive_all([Arrival(part, 1, Spot(drawer.pk), marking=f"bag {at}") for at in range(rows)], by=None)
    BenchEntry.objects.bulk_create(BenchEntry(job=job, kind="note", text=f"note {at}") for at in range(rows))
    for address, lines in ((reverse("lately"), 2 * rows + 1), (reverse("job-log", args=[job.pk]), rows + 1)):
        page = client.get(address).context["page"]
        assert page.paginator.count == min(lines, benchlog.MAX_LINES if "log" in address else lines)
        assert len(page.object_list) == min(lines, job_log.ON_A_PAGE)
        assert client.get(address, {"page": page.paginator.num_pages}).status_code == 200
