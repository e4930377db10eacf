"""Jobs through their pages: fetched, fitted, taken off, promised by hand, compared, logged and closed.

One file, since a job is followed from its opening to its close.
"""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.ledger import piece_at
from inventory.models import Board, Movement, Photo, Place, StoredSpec
from repairs import jobs as work
from repairs import reservations
from repairs.models import Job, Need, Reservation
from repairs.pages.charts import completeness
from repairs.pages.need_rows import look, walking
from repairs.proving_models import BenchEntry
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    photo,
    spec,
    stock,
)

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def rebuild() -> Job:
    """An open job with a board, promised pieces in drawers and places still wanted."""
    return Job.objects.get(name="Tern C rebuild")


def wanted(job: Job) -> Need:
    return next(
        need
        for need in job.needs.filter(fitted=0, promised=0, status="open", quantity=1)
        if need.ref and need.spec.kind == "resistor"
    )


@pytest.mark.parametrize("name", ["fetch", "compare", "job-log", "job-change", "job-close"])
def test_every_page_of_every_job_answers(workshop: None, sign_in: Enter, name: str) -> None:
    client = sign_in("viewer")
    for job in Job.objects.all():
        assert client.get(reverse(name, args=[job.pk])).status_code == 200
    assert client.get(reverse(name, args=[987654])).status_code == 404


def test_every_need_of_a_job_has_its_page(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    needs = list(rebuild().needs.all()[:12]) + list(Need.objects.filter(ref="")[:3])
    assert {client.get(reverse("need", args=[need.pk])).status_code for need in needs} == {200}


def test_what_is_promised_is_fitted_one_after_the_other(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    address = reverse("fetch", args=[job.pk])
    left = client.get(address).context["to_fetch"]
    here = client.get(address).context["here"]
    sent = {"next": address}
    answer = client.post(reverse("fit-reserved", args=[here.promise.pk]), sent, follow=True)
    assert answer.context["to_fetch"] == left - 1
    assert answer.context["here"].need != here.need
    assert piece_at(job.board, here.need.ref).lot_id == here.promise.holding.lot_id
    again = client.post(reverse("fit-reserved", args=[here.promise.pk]), sent, follow=True)
    assert again.context["to_fetch"] == left - 1
    assert "already" in again.content.decode()


def test_once_all_is_in_place_the_list_leads_to_the_proving(workshop: None, sign_in: Enter) -> None:
    board = rebuild().board
    job = Job.objects.create(name="One more", board=board)
    need = Need.objects.create(job=job, ref="R1", spec=StoredSpec.objects.first(), quantity=1)
    address, client = reverse("fetch", args=[job.pk]), sign_in("bench")
    assert "what is still wanted" in client.get(address).content.decode()
    Need.objects.filter(pk=need.pk).update(fitted=1)
    page = client.get(address).content.decode()
    assert "Everything that it needs is in place" in page
    assert reverse("safe", args=[board.pk]) in page


def test_one_is_left_for_later(workshop: None, sign_in: Enter) -> None:
    client, address = sign_in("bench"), reverse("fetch", args=[rebuild().pk])
    first = client.get(address).context["here"]
    second = client.get(address, {"skip": first.promise.pk}).context["here"]
    assert second.promise != first.promise
    later = [first.promise.pk, second.promise.pk]
    assert client.get(address, {"skip": later}).context["here"].promise.pk not in later
    for hostile in ("-1", "x", "9" * 40, "%00"):
        assert client.get(address, {"skip": hostile}).status_code == 400


def test_the_pick_list_goes_by_drawers_and_says_what_to_look_for(workshop: None, sign_in: Enter) -> None:
    """Natural order of names: common practice, no source."""
    assert walking("Cabinet / Drawer 2") < walking("Cabinet / Drawer 10") < walking("Shelf 1")
    result = sign_in("bench").get(reverse("fetch", args=[rebuild().pk])).context
    later = [row for alike, _lift in result["later"] for row in alike.rows]
    order = [want.path for want in (result["here"], *later) if not want.on_a_board]
    assert order == sorted(order, key=walking)
    assert any(want.look.words for want in (result["here"], *later))
    for want in later:  # a list has one of each sort, the first of what the page of the part says
        assert want.look.in_short.count(" or ") <= 1
        assert want.look.words.startswith(want.look.in_short.partition(" or ")[0])
    assert "<svg" in result["here"].look.drawing


def test_a_piece_is_promised_by_hand_and_given_up_again(workshop: None, sign_in: Enter) -> None:
    client, need = sign_in("bench"), wanted(rebuild())
    page = client.get(reverse("need", args=[need.pk]))
    offer = next(each for each in page.context["offers"] if not each["borrow"])
    sent = {"need": need.pk, "holding": offer["holding"], "next": reverse("need", args=[need.pk])}
    client.post(reverse("reserve-one"), sent)
    promise = Reservation.objects.get(need=need, status="held")
    assert promise.holding_id == offer["holding"]
    answer = client.post(reverse("reserve-one"), sent, follow=True)
    assert Reservation.objects.filter(need=need, status="held").count() == 1
    assert "still wanted" in answer.content.decode()
    client.post(reverse("release", args=[promise.pk]))
    need.refresh_from_db()
    assert need.promised == 0


@pytest.mark.parametrize("sent", [{}, {"need": "x"}, {"holding": "0"}])
def test_a_promise_of_nothing_is_not_found(workshop: None, sign_in: Enter, sent: dict) -> None:
    need = wanted(rebuild())
    answer = sign_in("bench").post(
        reverse("reserve-one"), {"need": need.pk, "next": "/now/", **sent}, follow=True
    )
    assert "is not there any more. Nothing was changed." in answer.content.decode()


def test_a_fitted_piece_is_taken_off_and_its_place_is_open_again(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    need = job.needs.filter(fitted=1, status="open").exclude(ref="").first()
    tray = Place.objects.filter(type="tray").first()
    sent = {"ref": need.ref, "to": tray.pk, "next": reverse("need", args=[need.pk])}
    client.post(reverse("remove", args=[job.board.pk]), sent)
    need.refresh_from_db()
    assert need.fitted == 0
    assert Movement.objects.latest("id").to_place == tray
    lines = Movement.objects.count()
    client.post(reverse("remove", args=[job.board.pk]), sent)
    assert Movement.objects.count() == lines


def test_a_need_is_dropped_and_wanted_again(workshop: None, sign_in: Enter) -> None:
    client, need = sign_in("bench"), wanted(rebuild())
    client.post(reverse("drop-need", args=[need.pk]))
    need.refresh_from_db()
    assert need.status == "dropped"
    client.post(reverse("drop-need", args=[need.pk]), {"again": 1})
    need.refresh_from_db()
    assert need.status == "open"


def test_another_place_is_added_and_what_is_wrong_is_kept(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    board = Board.objects.filter(design__isnull=False).exclude(design__positions=None).first()
    job = Job.objects.create(name="Second look", board=board)
    ref = board.design.positions.first().ref
    client.post(reverse("add-needs", args=[job.pk]), {"refs": ref})
    assert list(job.needs.values_list("ref", flat=True)) == [ref]
    for typed in ("", "Z999", "R9-R1", ref):
        answer = client.post(reverse("add-needs", args=[job.pk]), {"refs": typed}, follow=True)
        assert answer.context["typed_refs"] == typed
    assert job.needs.count() == 1


def test_a_donor_is_compared_as_a_work_list(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), Job.objects.get(name="Second Tern from the donors")
    donor = Board.objects.filter(purpose="donor", name__startswith="Tern donor").first()
    result = client.get(reverse("compare", args=[job.pk]), {"from": donor.pk}).context
    assert result["answer"].moves
    assert result["session"].startswith(reverse("strip", args=[donor.pk]))
    assert client.get(reverse("compare", args=[job.pk]), {"from": 987654}).status_code == 400
    itself = client.get(reverse("compare", args=[job.pk]), {"from": job.board.pk})
    assert itself.status_code == 409
    assert "itself" in itself.context["refused"]


def test_the_log_keeps_notes_things_to_do_and_pictures(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    address = reverse("job-log", args=[job.pk])
    client.post(address, {"text": "hum on the +12 V", "kind": "note"})
    client.post(address, {"text": "make a heatsink", "kind": "task"})
    kept: Photo = photo(subject="job", subject_id=job.pk, note="under the lamp")
    result = client.get(address).context
    assert {"hum on the +12 V", "make a heatsink"} <= {each.line.text for each in result["lines"]}
    shown = [picture for each in result["lines"] for picture in each.line.photos]
    assert shown.count(kept) == 1, "and not once more in a line of its own"
    moments = [each.line.at for each in result["lines"]]
    assert moments == sorted(moments, reverse=True)
    assert client.get(address).content.decode().count("under the lamp") == 2, (
        "in its line, and for who sees none"
    )
    tried = [each for each in result["lines"] if each.line.kind == "trial"]
    assert tried
    assert {client.get(each.more).status_code for each in tried} == {200}
    task = BenchEntry.objects.get(text="make a heatsink")
    client.post(reverse("tick", args=[task.pk]))
    task.refresh_from_db()
    assert task.done is not None
    client.post(reverse("tick", args=[task.pk]), {"again": 1})
    task.refresh_from_db()
    assert task.done is None


def test_a_note_that_is_sent_twice_is_kept_once(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    for _press in range(2):
        client.post(reverse("job-log", args=[job.pk]), {"text": "once", "kind": "note", "once": "a" * 32})
    assert job.entries.filter(text="once").count() == 1


@pytest.mark.parametrize("text", ["", "   ", "x" * 2001])
def test_a_note_that_is_none_is_kept_on_the_page(workshop: None, sign_in: Enter, text: str) -> None:
    job = rebuild()
    answer = sign_in("bench").post(reverse("job-log", args=[job.pk]), {"text": text})
    assert answer.status_code == 400
    assert text.strip() in answer.content.decode()
    assert not job.entries.filter(text=text.strip() or "-").exists()


def test_a_job_is_changed_and_never_over_somebody_else(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    address = reverse("job-change", args=[job.pk])
    sent = {
        "name": job.name, "board": job.board_id, "priority": 1, "due": "2027-01-31", "symptom": "dead",
        "version": job.version,
    }  # fmt: skip
    assert client.post(address, sent).status_code == 302
    job.refresh_from_db()
    assert (job.priority, str(job.due)) == (1, "2027-01-31")
    stale = client.post(address, {**sent, "symptom": "hums"})
    assert stale.status_code == 400
    assert f"{job.name} was changed since you opened it. <a" in stale.content.decode()
    assert "hums" in stale.content.decode()


def test_a_change_that_is_refused_for_itself_is_not_offered_again(workshop: None, sign_in: Enter) -> None:
    job = rebuild()
    elsewhere = BoardFactory(purpose="working")
    sent = {"name": job.name, "board": elsewhere.pk, "priority": 1, "version": job.version}
    refused = sign_in("bench").post(reverse("job-change", args=[job.pk]), sent)
    assert refused.status_code == 400
    assert 'role="alert">' in refused.content.decode()
    assert "save again if yours is right" not in refused.content.decode()


@pytest.mark.parametrize("bad", [{"priority": 6}, {"due": "soon"}, {"name": ""}, {"version": "x"}])
def test_a_change_that_cannot_be_is_kept_on_the_page(workshop: None, sign_in: Enter, bad: dict) -> None:
    job = rebuild()
    sent = {"name": job.name, "priority": 2, "note": "as typed", "version": job.version, **bad}
    answer = sign_in("bench").post(reverse("job-change", args=[job.pk]), sent)
    assert answer.status_code == 400
    assert "as typed" in answer.content.decode()
    assert Job.objects.get(pk=job.pk).note == job.note


def test_a_job_is_closed_with_its_cause_and_a_refusal_says_the_next_step(
    workshop: None, sign_in: Enter
) -> None:
    client = sign_in("bench")
    job = Job.objects.create(name="Lamp that flickers", symptom="flickers")
    address = reverse("job-close", args=[job.pk])
    refused = client.post(address, {"symptom": "flickers", "cause": ""})
    assert refused.status_code == 409
    assert "say the cause" in refused.content.decode()
    task = BenchEntry.objects.create(job=job, kind="task", text="refit the case")
    refused = client.post(address, {"symptom": "flickers", "cause": "a dry joint"})
    assert reverse("job-log", args=[job.pk]) in refused.content.decode()
    assert "a dry joint" in refused.content.decode()
    client.post(reverse("tick", args=[task.pk]))
    client.post(address, {"symptom": "flickers", "cause": "a dry joint"})
    job.refresh_from_db()
    assert (job.status, job.cause) == ("done", "a dry joint")
    assert client.post(address, {"symptom": "flickers", "cause": "another"}).status_code == 409


def test_a_viewer_changes_nothing_of_a_job(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("viewer"), rebuild()
    need = wanted(job)
    promise = Reservation.objects.filter(status="held").first()
    of_job = ("job-change", "job-close", "job-log", "add-needs", "job-status", "reserve-plan")
    of_promise, of_board = ("fit-reserved", "release"), ("remove",)
    result = {
        **dict.fromkeys(of_job, job.pk),
        **dict.fromkeys(of_promise, promise.pk),
        **dict.fromkeys(of_board, job.board.pk),
        "drop-need": need.pk,
    }
    lines = Movement.objects.count()
    for name, pk in result.items():
        assert client.post(reverse(name, args=[pk]), {"text": "x", "refs": "R1"}).status_code == 403, name
    assert client.post(reverse("reserve-one")).status_code == 403
    assert Movement.objects.count() == lines


def test_a_job_comes_along_in_steps(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    before = completeness(job)
    promise = Reservation.objects.filter(need__job=job, status="held", holding__ref="").first()
    client.post(reverse("fit-reserved", args=[promise.pk]))
    fitted = completeness(job)
    assert fitted.days[-1][1] == before.days[-1][1] + promise.quantity
    assert f"{fitted.days[-1][1]} of {fitted.needed} now" in fitted.summary
    tray = Place.objects.filter(type="tray").first()
    client.post(reverse("remove", args=[job.board.pk]), {"ref": promise.need.ref, "to": tray.pk})
    assert completeness(job).days[-1][1] == before.days[-1][1]
    in_place = sum(job.needs.filter(status="open").values_list("fitted", flat=True))
    assert completeness(job).days[-1][1] == in_place
    assert completeness(Job.objects.create(name="Nothing wanted")) is None


def test_a_stale_version_is_refused(workshop: None) -> None:
    from inventory.ledger import Refused

    job = rebuild()
    with pytest.raises(Refused, match="changed since"):
        work.change(job, version=job.version + 1, by=None, note="late")


def test_the_log_tells_what_was_seen_before_on_the_design(workshop: None, sign_in: Enter) -> None:
    """The demo closed one job on a Tern; the next one on a Tern is told its symptom and cause."""
    closed = Job.objects.exclude(cause="").get()
    here = Job.objects.filter(board__design__name=closed.board.design.name).exclude(pk=closed.pk).first()
    client, address = sign_in("viewer"), reverse("job-log", args=[here.pk])
    assert list(client.get(address).context["seen"]) == [closed]
    page = client.get(address, {"like": closed.symptom.split()[0].upper()})
    assert list(page.context["seen"]) == [closed]
    assert "C24" in page.content.decode()
    for unlike in ("smoke", "%", "\0", "x " * 90):
        assert client.get(address, {"like": unlike}).status_code == 200
    assert list(client.get(address, {"like": "smoke"}).context["seen"]) == []
    assert list(client.get(reverse("job-log", args=[closed.pk])).context["seen"]) == []


def test_open_jobs_come_first_by_priority_and_closed_ones_last_newest_first(sign_in: Enter) -> None:
    moment = timezone.now()
    for name, status, priority, due, closed in (
        ("old", "done", 1, None, moment - timedelta(days=9)), ("gone", "abandoned", 5, None, moment),
        ("last", "open", 5, None, None), ("parked", "parked", 1, None, None),
        ("some day", "open", 1, None, None), ("soon", "open", 1, date(2027, 1, 2), None),
    ):  # fmt: skip
        Job.objects.create(name=name, status=status, priority=priority, due=due, closed=closed)
    page = sign_in("viewer").get(reverse("jobs"))
    assert [job.name for job in page.context["page"]] == ["soon", "some day", "last", "parked", "gone", "old"]


def test_many_jobs_and_boards_come_in_pages(sign_in: Enter) -> None:
    places = Place.objects.bulk_create(Place(name=f"Donor {n}", type="board") for n in range(61))
    Board.objects.bulk_create(Board(name=each.name, purpose="donor", place=each) for each in places)
    Job.objects.bulk_create(Job(name=f"Repair {n}") for n in range(61))
    client = sign_in("viewer")
    for name in ("jobs", "boards"):
        first, second = (client.get(reverse(name), {"page": number}) for number in (1, 2))
        assert (len(first.context["page"]), len(second.context["page"])) == (60, 1)
        assert "page 1 of 2" in first.content.decode()


# --- another part, by what it is


def test_a_job_without_a_drawing_says_what_it_needs(sign_in: Enter) -> None:
    client, job = sign_in("bench"), JobFactory(name="Radio that hums")
    page = client.get(reverse("job", args=[job.pk])).content.decode()
    address = reverse("another-need", args=[job.pk])
    assert f'action="{address}"' in page
    read = client.get(address, {"part": "2 x 4k7 5%"})
    assert read.context["line"].pieces() == 2
    sent = {"part": "2 x 4k7 5%", "pick": "0", "ref": "", "note": "both lamps"}
    answer = client.post(address, sent)
    need = job.needs.get()
    assert answer["Location"] == reverse("need", args=[need.pk])
    assert (need.ref, need.quantity, need.note) == ("", 2, "both lamps")
    assert need.spec.spec.value == 4_700_000_000
    assert client.get(answer["Location"]).status_code == 200


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ({"part": ""}, "Write what it needs"),
        ({"part": "no such type"}, "nothing is known that reads so"),
        ({"part": "0 x 4k7"}, "the count is zero"),
        ({"pick": "77"}, "Choose what it is"),
        ({"ref": "the left one"}, "not a reference such as R7"),
        ({"part": "3 x 4k7", "ref": "R7"}, "takes one piece"),
        ({"note": "x" * 401}, "400"),
        ({"ref": "R1"}, "has a need for R1 already"),
    ],
)
def test_a_part_that_cannot_be_wanted_is_refused_and_kept(
    sign_in: Enter, sent: dict[str, str], why: str
) -> None:
    job = JobFactory()
    NeedFactory(job=job, ref="R1")
    address = reverse("another-need", args=[job.pk])
    answer = sign_in("bench").post(address, {"part": "4k7", "pick": "0", "note": "by the lamp", **sent})
    assert answer.status_code == 400
    page = answer.content.decode()
    assert why in page
    assert "note" in sent or "part" in sent or "by the lamp" in page
    assert job.needs.count() == 1


def test_a_part_is_wanted_once_however_often_the_button_is_pressed(sign_in: Enter) -> None:
    client, job = sign_in("bench"), JobFactory()
    sent = {"part": "4k7", "pick": "0", "once": "0123456789abcdef0123456789abcdef"}
    for _press in range(2):
        client.post(reverse("another-need", args=[job.pk]), sent)
    assert job.needs.count() == 1


def test_a_line_names_its_own_references_and_every_word_of_it_is_kept(sign_in: Enter) -> None:
    client, job = sign_in("bench"), JobFactory()
    address = reverse("another-need", args=[job.pk])
    sent = {"part": "R1, R3 47k 5% 0.25W crumbly", "pick": "0", "note": "warm"}
    page = client.get(address, {"part": sent["part"]}).content.decode()
    assert '<span class="line-word wrong"><b>crumbly</b>' in page
    client.post(address, sent)
    assert [(need.ref, need.quantity, need.spec.text, need.note) for need in job.needs.order_by("id")] == [
        ("R1", 1, "47k 5 % 0.25 W resistor", "warm; not understood: crumbly"),
        ("R3", 1, "47k 5 % 0.25 W resistor", "warm; not understood: crumbly"),
    ]


def test_a_line_and_the_box_of_the_place_may_not_differ(sign_in: Enter) -> None:
    client, job = sign_in("bench"), JobFactory()
    sent = {"part": "R1 47k", "pick": "0", "ref": "R7"}
    answer = client.post(reverse("another-need", args=[job.pk]), sent)
    assert answer.status_code == 400
    assert "keep one of them" in answer.content.decode()


def test_a_closed_job_asks_for_nothing(sign_in: Enter) -> None:
    job = JobFactory(status="done")
    page = sign_in("bench").get(reverse("job", args=[job.pk])).content.decode()
    assert "It needed nothing." in page
    assert "Say below" not in page
    sent = {"part": "4k7", "pick": "0"}
    assert sign_in("bench", "wren").post(reverse("another-need", args=[job.pk]), sent).status_code == 400


def test_the_positions_of_a_job_are_grouped_by_status_and_what_is_settled_is_folded(
    workshop: None, sign_in: Enter
) -> None:
    answer = sign_in("viewer").get(reverse("job", args=[rebuild().pk]))
    groups = answer.context["groups"]
    assert [state for state, _title, _count, _rows in groups] == ["promised", "wanted", "in place"]
    for state, _title, count, parts in groups:
        rows = [alike for _letter, each in parts for alike in each]
        assert {want.state for alike in rows for want in alike} == {state}
        assert count == sum(len(alike) for alike in rows) > len(rows), "what is alike is one row"
        assert all(len({want.need.spec_id for want in alike}) == 1 for alike in rows)
    assert sum(count for _state, _title, count, _rows in groups) == len(answer.context["need_rows"])
    page = answer.content.decode()
    assert page.index("<details><summary>In place: ") > page.index("Still wanted: ")


def test_what_is_known_to_stand_on_a_piece_is_what_one_looks_for() -> None:
    film = spec("capacitor", "1u", dielectric="film", volts=Decimal(63))
    assert look(film, "1µ0 K 63").words == "1µ0 K 63"
    assert "1µ0 K 63" in look(film, "1µ0 K 63").drawing
    assert "brown" in look(film).words, "of another one nothing is known but what it may carry"
    ohms = spec("resistor", "100k", tolerance_percent=Decimal(1))
    seen = look(ohms, "brown black black orange brown")
    assert seen.words == "brown black black orange brown"
    assert "×10³" in seen.drawing or "orange" in seen.drawing
    assert look(ohms, "x" * 90).drawing == ""


def test_a_second_press_opens_no_second_job(sign_in: Enter) -> None:
    client = sign_in("bench")
    sent = {"name": "Horn that is hoarse", "priority": "3", "once": "0123456789abcdef0123456789abcdef"}
    for _press in range(2):
        answer = client.post(reverse("jobs"), sent, follow=True)
        assert answer.status_code == 200
    assert "second press did nothing" in answer.content.decode()
    assert Job.objects.count() == 1
    again = client.post(reverse("jobs"), {**sent, "once": "another", "symptom": "hoarse"})
    assert again.status_code == 400
    assert "There is a job of that name already" in again.content.decode()
    assert "hoarse" in again.content.decode()


def test_a_job_on_which_nothing_happened_shows_no_flat_line(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    address = reverse("job", args=[job.pk])
    assert "How it came along" not in client.get(address).content.decode()
    here = client.get(reverse("fetch", args=[job.pk])).context["here"]
    client.post(reverse("fit-reserved", args=[here.promise.pk]))
    assert "How it came along" in client.get(address).content.decode()


def test_a_place_that_still_holds_its_old_part_is_emptied_first(sign_in: Enter) -> None:
    client = sign_in("bench")
    design = DesignFactory(positions={"R1": spec("resistor", "4k7")})
    board = BoardFactory(design=design, purpose="under_repair")
    old = stock(place=board.place, ref="R1", condition="faulty", part=PartFactory(of=spec("resistor", "4k7")))
    job = JobFactory(board=board)
    need = NeedFactory(job=job, ref="R1", of=spec("resistor", "4k7"))
    new = stock(part=PartFactory(of=spec("resistor", "4k7")))
    reservations.reserve(need, new, 1, by=None)
    address, tray = reverse("fetch", args=[job.pk]), PlaceFactory(name="Failed tray", type="tray")
    page = client.get(address)
    assert page.context["old"].lot_id == old.lot_id
    assert "It is fitted" not in page.content.decode()
    sent = {"ref": "R1", "to": tray.pk, "next": address}
    page = client.post(reverse("remove", args=[board.pk]), sent, follow=True)
    assert page.context["old"] is None
    assert "It is fitted" in page.content.decode()
    client.post(reverse("fit-reserved", args=[need.reservations.get().pk]))
    assert piece_at(board, "R1").lot_id == new.lot_id


def test_a_piece_that_is_lifted_first_leads_back_to_the_pick_list(workshop: None, sign_in: Enter) -> None:
    client, job = sign_in("bench"), rebuild()
    client.post(reverse("reserve-plan", args=[job.pk]))
    promise = next(each for each in held_on_boards(job))
    holding = promise.holding
    tray = Place.objects.filter(type="tray").first()
    asked = {"only": holding.ref, "fetch": job.pk}
    page = client.get(reverse("strip", args=[holding.place.board.pk]), asked).content.decode()
    assert f'name="fetch" value="{job.pk}"' in page
    sent = asked | {"ref": holding.ref, "judge": "good", "tray": tray.pk}
    answer = client.post(reverse("strip", args=[holding.place.board.pk]), sent)
    assert answer.url == reverse("fetch", args=[job.pk])


def test_the_pick_list_counts_what_is_to_fetch_apart_from_what_is_to_lift(
    workshop: None, sign_in: Enter
) -> None:
    client, job = sign_in("bench"), rebuild()
    client.post(reverse("reserve-plan", args=[job.pk]))
    to_lift = len(held_on_boards(job))
    page = client.get(reverse("fetch", args=[job.pk])).content.decode()
    assert f"{to_lift} to lift first</h1>" in page
    of_job = client.get(reverse("job", args=[job.pk])).context
    assert f"{of_job['to_fetch']} to fetch and fit" in page
    assert of_job["to_lift"] == to_lift


def held_on_boards(job: Job) -> list[Reservation]:
    held = Reservation.objects.filter(need__job=job, status="held").exclude(holding__ref="")
    return list(held.select_related("holding__place__board"))
