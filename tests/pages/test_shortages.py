"""Shortages: a line is promised where it stands, and what is to be lifted leads into a stripping session."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from inventory.models import Board, Holding, Lot, Movement, Place
from repairs.answers.shortages import Row
from repairs.models import Need, Reservation
from repairs.pages import harvest

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def lacking(client: Client) -> Row:
    """A line of the table of which the plan takes something that can be promised."""
    rows = client.get(reverse("shortages")).context["page"]
    return next(row for row in rows if row.to_promise)


def test_what_is_short_comes_first(workshop: None, sign_in: Enter) -> None:
    rows = sign_in("bench").get(reverse("shortages")).context["page"]
    short = [bool(each.short) for each in rows]
    assert short == sorted(short, reverse=True)
    assert short[0]
    assert not short[-1]


def test_a_line_is_promised_in_one_tap(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    line = lacking(client)
    held = Reservation.objects.filter(status="held").count()
    answer = client.post(reverse("reserve-line", args=[line.requirement]), follow=True)
    made = Reservation.objects.filter(status="held", need__spec=line.requirement)
    assert sum(promise.quantity for promise in made) >= line.to_promise
    assert Reservation.objects.filter(status="held").count() > held
    assert "reserved for" in answer.content.decode()


def test_the_second_press_promises_nothing_more(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    address = reverse("reserve-line", args=[lacking(client).requirement])
    client.post(address)
    made = Reservation.objects.count()
    assert "Nothing was left to reserve" in client.post(address, follow=True).content.decode()
    assert Reservation.objects.count() == made


def test_a_viewer_promises_nothing(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    made = Reservation.objects.count()
    assert client.post(reverse("reserve-line", args=[lacking(client).requirement])).status_code == 403
    assert Reservation.objects.count() == made


def test_a_line_says_what_would_settle_a_refusal(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    rows = client.get(reverse("shortages")).context["page"]
    open_questions = [(row.requirement, miss) for row in rows for miss in row.refused if miss.settled_by]
    assert open_questions  # the demo has pieces of which something is not known
    pk, miss = open_questions[0]
    page = client.get(reverse("shortage", args=[pk]))
    assert miss.settled in page.content.decode()
    assert miss.why


def test_what_nobody_requires_has_no_line(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    assert client.get(reverse("shortage", args=[987654])).status_code == 404
    assert client.post(reverse("reserve-line", args=[987654])).status_code == 302
    done = Need.objects.exclude(job__status="open").first()
    open_too = Need.objects.filter(job__status="open").values("spec")
    if done is not None and not open_too.filter(spec=done.spec).exists():
        assert client.get(reverse("shortage", args=[done.spec_id])).status_code == 404


def test_what_to_lift_leads_into_a_session_for_just_that(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    boards = client.get(reverse("harvest")).context["boards"]
    assert boards
    work = boards[0]["work"]
    wanted = [lift.ref for lift in work.lifts]
    tray = Place.objects.filter(type="tray").first()
    session = client.get(boards[0]["session"])
    assert session.context["left"] == len(wanted)
    lifted = []
    while session.context["here"] is not None:
        ref = session.context["here"].ref
        lifted.append(ref)
        sent = {"ref": ref, "judge": "untested", "tray": tray.pk, "only": wanted}
        session = client.post(reverse("strip", args=[work.board]), sent, follow=True)
    assert lifted == wanted
    assert Movement.objects.filter(kind="lift", to_place=tray, from_ref__in=wanted).count() == len(wanted)


def test_what_to_lift_is_asked_for_one_job(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    everything = client.get(reverse("harvest")).context
    job = everything["boards"][0]["work"].lifts[0].job
    some = client.get(reverse("harvest"), {"job": job}).context
    assert {lift.job for each in some["boards"] for lift in each["work"].lifts} == {job}
    assert some["lifts"] <= everything["lifts"]
    assert client.get(reverse("harvest"), {"job": 987654}).status_code == 400


def test_a_session_never_lifts_what_is_gone(workshop: None, sign_in: Enter) -> None:
    client, donor = sign_in("bench"), Board.objects.filter(purpose="donor").first()
    here = Holding.objects.filter(place=donor.place, quantity=1, promised=0).exclude(ref="").first()
    address = reverse("strip", args=[donor.pk])
    assert client.get(address, {"only": [here.ref, "NOT-THERE"]}).context["left"] == 1
    assert client.get(address, {"only": ["NOT-THERE"]}).context["here"] is None


def test_what_if_says_what_would_change_and_changes_nothing(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    address = reverse("what-if")
    jobs = list(client.get(address).context["jobs"])
    parked = client.get(address, {"park": jobs[0].pk}).context
    assert [words for _name, words in parked["assumed"]] == [f"{jobs[0]} is parked"]
    assert next(each for each, _ in parked["changes"] if each.job == jobs[0].pk).short_then is None
    jobs[0].refresh_from_db()
    assert jobs[0].status == "open"
    donor = client.get(address).context["donors"][0]
    both = client.get(address, {"suppose": f"park:{jobs[0].pk}", "strip": donor[0], "borrow": 1}).context
    assert len(both["assumed"]) == 3


def test_what_is_bought_is_not_short(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    plain = client.get(reverse("what-if")).context
    part = plain["parts"][0]
    then = client.get(reverse("what-if"), {"part": part.pk, "pieces": 100}).context
    assert then["changes"]
    assert len(then["still_short"]) < len(plain["still_short"])


@pytest.mark.parametrize(
    "asked",
    [
        {"suppose": "the moon"},
        {"park": 987654},
        {"part": 987654, "pieces": 1},
        {"suppose": ["park:x", "strip:y"]},
        {"suppose": "%00"},
        {"strip": "9" * 30},
    ],
)
def test_what_cannot_be_supposed_is_reported_and_left_out(
    workshop: None, sign_in: Enter, asked: dict
) -> None:
    answer = sign_in("bench").get(reverse("what-if"), asked)
    assert answer.status_code in (200, 400)
    assert answer.context["assumed"] == []
    assert (answer.status_code == 400) == bool(answer.context["wrong"])


def test_a_short_line_says_what_it_could_be_made_up_of(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    short = client.get(reverse("what-if")).context["still_short"]
    result = [client.get(reverse("shortage", args=[row.requirement])).context["made_up"] for row in short]
    assert all(each.refused or isinstance(each.ways, list) for each in result)
    assert any(each.refused for each in result)  # the demo lacks parts that are never made up: chips, fuses


def test_a_row_says_what_each_piece_is_and_where_it_lies(workshop: None, sign_in: Enter) -> None:
    """Neither what is taken nor what just does not do is told by the number of its lot alone."""
    client = sign_in("viewer")
    result = [
        piece
        for row in client.get(reverse("shortages"), {"all": 1}).context["page"]
        for piece in (*row.take, *row.refused)
        if piece.lot
    ]
    assert result
    for piece in result:
        assert piece.spec_text == Lot.objects.get(pk=piece.lot).part.spec.text
    missed = next(row for row in client.get(reverse("shortages")).context["page"] if row.refused)
    page = client.get(reverse("shortage", args=[missed.requirement])).content.decode()
    assert f"{escape(missed.refused[0].spec_text)}</a>" in page
    assert escape(missed.refused[0].where) in page


def test_what_would_be_stands_above_what_else_could_be_asked(workshop: None, sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("what-if"), {"borrow": 1}).content.decode()
    assert page.index("<h2>Then</h2>") < page.index("And one more")


def test_what_was_asked_in_vain_stays_in_the_form(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    part = client.get(reverse("what-if")).context["parts"][0]
    page = client.get(reverse("what-if"), {"part": part.pk, "pieces": "0"}).content.decode()
    assert f'<option value="{part.pk}" selected>' in page
    assert 'name="pieces" min="1" value="0"' in page


def test_every_line_is_one_link_away_and_back(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    few, every = client.get(reverse("shortages")), client.get(reverse("shortages"), {"all": "1"})
    assert 'href="?all=1"' in few.content.decode()
    assert "Only what is lacking" in every.content.decode()
    assert every.context["page"].paginator.count > few.context["page"].paginator.count


def test_what_is_worth_taking_of_many_alike_is_reported_once(workshop: None, sign_in: Enter) -> None:
    boards = sign_in("viewer").get(reverse("harvest")).context["boards"]
    with_extras = [board for board in boards if board["work"].extras]
    assert with_extras
    for board in with_extras:
        assert sum(map(len, board["alike"])) == len(board["work"].extras)
        rows = [(alike[0].spec_text, alike[0].because_text, alike[0].why) for alike in board["alike"]]
        assert max(map(rows.count, rows)) < 3
    assert any(len(alike) > 2 for board in with_extras for alike in board["alike"])


def test_of_a_long_list_of_lifts_the_first_are_shown(
    workshop: None, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(harvest, "MAX_SHOWN", 1)
    page = sign_in("viewer").get(reverse("harvest"))
    assert {len(each["shown"]) for each in page.context["boards"]} == {1}
    assert any(len(each["work"].lifts) > 1 for each in page.context["boards"])
    many = next(len(each["work"].lifts) for each in page.context["boards"] if len(each["work"].lifts) > 1)
    assert f"Listed are the first 1 of {many}." in page.content.decode()
    assert "come back here" not in page.content.decode()


def test_as_many_more_are_offered_as_go_into_one_session(
    workshop: None, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = sign_in("viewer")
    work = next(
        each["work"]
        for each in client.get(reverse("harvest")).context["boards"]
        if len(each["work"].lifts) > 1 and len(each["work"].extras) > 1
    )
    heading = f'id="board{work.board}"'

    def section() -> str:
        page = client.get(reverse("harvest")).content.decode()
        return page[page.index(heading) :].partition("</section>")[0]

    monkeypatch.setattr(harvest, "MAX_REFS", len(work.lifts) + 1)
    assert "1 more too</a>" in section()
    monkeypatch.setattr(harvest, "MAX_REFS", len(work.lifts))
    assert "more too" not in section()
    monkeypatch.setattr(harvest, "MAX_REFS", len(work.lifts) - 1)
    monkeypatch.setattr(harvest, "MAX_SHOWN", 1)
    assert f"After the first {len(work.lifts) - 1} are off, come back here for the others." in section()
