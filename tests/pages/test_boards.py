"""Boards: registered and said anew, looked at, and stripped one reference after the other."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.boards import survey
from inventory.ledger import differences
from inventory.models import Board, Lot, Movement, Place
from repairs import reservations
from repairs.audit import audit
from repairs.models import Reservation
from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PlaceFactory, spec

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


@pytest.fixture
def donor(db: None) -> Board:
    design = DesignFactory(positions={ref: spec("resistor", "4k7") for ref in ("R1", "R2", "R47")})
    made: Board = BoardFactory(design=design)
    survey(made, by=None)
    made.refresh_from_db()  # any movement on it is another version
    return made


def piece(board: Board, ref: str) -> Lot:
    return Lot.objects.get(origin_board=board, origin_ref=ref)


def judge(client: Client, board: Board, ref: str, judgement: str, tray: Place) -> str:
    sent = {"ref": ref, "judge": judgement, "tray": tray.pk}
    return client.post(reverse("strip", args=[board.pk]), sent, follow=True).content.decode()


@pytest.mark.parametrize("known", ["faulty", "suspect", "good"])
def test_a_piece_that_is_only_lifted_stays_what_it_was_known_to_be(
    donor: Board, sign_in: Enter, known: str
) -> None:
    Lot.objects.filter(pk=piece(donor, "R1").pk).update(condition=known)
    message = judge(sign_in("bench"), donor, "R1", "untested", PlaceFactory(name="Tray 7", type="tray"))
    assert piece(donor, "R1").condition == known
    assert f"R1 is in Tray 7, {known}." in message


def test_undo_takes_the_judgement_back_with_the_lift(donor: Board, sign_in: Enter) -> None:
    client = sign_in("bench")
    Lot.objects.filter(pk=piece(donor, "R1").pk).update(condition="faulty")
    judge(client, donor, "R1", "good", PlaceFactory(type="tray"))
    assert piece(donor, "R1").condition == "good"
    client.post(reverse("undo"), {"line": Movement.objects.latest("id").pk})
    assert piece(donor, "R1").condition == "faulty"


def test_undo_leaves_what_was_judged_since(donor: Board, sign_in: Enter) -> None:
    client = sign_in("bench")
    judge(client, donor, "R1", "good", PlaceFactory(type="tray"))
    Lot.objects.filter(pk=piece(donor, "R1").pk).update(condition="suspect")
    client.post(reverse("undo"), {"line": Movement.objects.latest("id").pk})
    assert piece(donor, "R1").condition == "suspect"


def test_a_promised_piece_that_turns_out_bad_is_promised_no_more(donor: Board, sign_in: Enter) -> None:
    need = NeedFactory(of=spec("resistor", "4k7"), ref="R9", job=JobFactory(board=BoardFactory()))
    promise = reservations.reserve(need, piece(donor, "R2").holdings.get(), 1, by=None)
    message = judge(sign_in("bench"), donor, "R2", "bad", PlaceFactory(name="Tray 7", type="tray"))
    assert "R2 is in Tray 7, faulty, and not reserved any more." in message
    promise.refresh_from_db()
    need.refresh_from_db()
    assert (promise.status, need.promised) == (Reservation.Status.RELEASED, 0)
    assert piece(donor, "R2").holdings.get(quantity=1).promised == 0


def test_a_promised_piece_that_is_good_keeps_its_promise(donor: Board, sign_in: Enter) -> None:
    need = NeedFactory(of=spec("resistor", "4k7"), ref="R9", job=JobFactory(board=BoardFactory()))
    reservations.reserve(need, piece(donor, "R2").holdings.get(), 1, by=None)
    judge(sign_in("bench"), donor, "R2", "good", PlaceFactory(type="tray"))
    assert piece(donor, "R2").holdings.get(quantity=1).promised == 1


def test_what_is_borrowed_is_judged_like_what_is_lifted(donor: Board, sign_in: Enter) -> None:
    Board.objects.filter(pk=donor.pk).update(purpose="working")
    judge(sign_in("bench"), donor, "R1", "good", PlaceFactory(type="tray"))
    assert Movement.objects.latest("id").borrow
    assert piece(donor, "R1").condition == "good"


def test_another_one_is_found_however_it_is_typed(donor: Board, sign_in: Enter) -> None:
    answer = sign_in("viewer").get(reverse("strip", args=[donor.pk]), {"ref": " r47 "})
    assert answer.context["here"].ref == "R47"


def test_what_is_not_there_to_be_lifted_is_reported_with_where_it_went(donor: Board, sign_in: Enter) -> None:
    client, address = sign_in("bench"), reverse("strip", args=[donor.pk])
    judge(client, donor, "R2", "good", PlaceFactory(name="Tray 7", type="tray"))
    assert f"R2 is not on {donor.name} any more: now in Tray 7." in client.get(
        address, {"ref": "r2"}
    ).content.decode().replace("&#x27;", "'")
    assert f"{donor.name} has no position R99." in client.get(address, {"ref": "R99"}).content.decode()


def test_a_survey_says_what_is_not_there_and_what_broke_and_each_is_undone(
    donor: Board, sign_in: Enter
) -> None:
    client, tray = sign_in("bench"), PlaceFactory(name="Tray 7", type="tray")
    assert "R1 is not on the board." in judge(client, donor, "R1", "gone", tray)
    assert not piece(donor, "R1").holdings.filter(quantity__gt=0).exists()
    client.post(reverse("undo"), {"line": client.session["last"]["lines"]})
    assert piece(donor, "R1").holdings.get(quantity=1).ref == "R1"
    assert "R2 broke off and is scrapped." in judge(client, donor, "R2", "broken", tray)
    broken = piece(donor, "R2")
    assert (broken.condition, broken.holdings.get(quantity=1).place) == ("faulty", Place.scrap())
    client.post(reverse("undo"), {"line": client.session["last"]["lines"]})
    assert piece(donor, "R2").holdings.get(quantity=1).ref == "R2"
    assert differences() == []


def test_what_is_gone_is_reserved_for_nobody_any_more(donor: Board, sign_in: Enter) -> None:
    held = piece(donor, "R1").holdings.get()
    reservations.reserve(NeedFactory(of=spec("resistor", "4k7")), held, 1, by=None)
    page = judge(sign_in("bench"), donor, "R1", "gone", PlaceFactory(type="tray"))
    assert "not reserved any more" in page
    assert not held.reservations.filter(status="held").exists()


def test_another_part_than_the_design_says_is_written_down_as_it_is_lifted(
    donor: Board, sign_in: Enter
) -> None:
    client, tray = sign_in("bench"), PlaceFactory(name="Tray 7", type="tray")
    sent = {"ref": "R1", "judge": "other", "tray": tray.pk, "line": "5k6 1%"}
    page = client.post(reverse("strip", args=[donor.pk]), sent, follow=True).content.decode()
    assert "R1 is 5k6 1 % resistor, in Tray 7, untested." in page
    assert piece(donor, "R1").part.spec.text == "5k6 1 % resistor"
    refused = client.post(
        reverse("strip", args=[donor.pk]), {**sent, "ref": "R2", "line": "5k6 wobbly"}, follow=True
    )
    assert "Not understood: wobbly" in refused.content.decode()
    assert piece(donor, "R2").holdings.get(quantity=1).ref == "R2"


@pytest.mark.parametrize(
    ("pressed", "condition"), [("untested", "untested"), ("good", "good"), ("bad", "faulty")]
)
def test_what_was_typed_of_another_part_holds_whichever_button_is_pressed(
    donor: Board, sign_in: Enter, pressed: str, condition: str
) -> None:
    """Enter in a box presses the first button of its form (HTML Living Standard, implicit submission)."""
    sent = {"ref": "R1", "judge": pressed, "tray": PlaceFactory(type="tray").pk, "line": "5k6 1%"}
    sign_in("bench").post(reverse("strip", args=[donor.pk]), sent)
    lot = piece(donor, "R1")
    assert (lot.part.spec.text, lot.condition) == ("5k6 1 % resistor", condition)


def test_a_donor_without_a_design_gets_one_as_one_goes_along(sign_in: Enter) -> None:
    client, tray = sign_in("bench"), PlaceFactory(name="Tray 7", type="tray")
    board = BoardFactory(name="Unknown radio", purpose="donor")
    for line in ("R12 4k7 5%", "Q3 BC547B", "R12 10k"):
        client.post(reverse("found-on", args=[board.pk]), {"line": line, "tray": tray.pk})
    board.refresh_from_db()
    asked = {row.ref: row.spec.text for row in board.design.positions.select_related("spec")}
    assert asked["R12"] == "4k7 5 % resistor", "what is known of a position stays"
    assert "Q3" in asked
    assert {lot.origin_ref for lot in Lot.objects.filter(origin_board=board)} == {"R12", "Q3"}
    client.post(reverse("found-on", args=[board.pk]), {"line": "wobbly", "tray": tray.pk})
    assert Lot.objects.filter(origin_board=board).count() == 2


def test_a_donor_of_which_nothing_was_said_is_not_called_stripped(sign_in: Enter) -> None:
    design = DesignFactory(positions={"R1": spec("resistor", "4k7")})
    board = BoardFactory(design=design, purpose="donor")
    client, page = sign_in("bench"), reverse("strip", args=[board.pk])
    html = client.get(page).content.decode()
    assert "Nobody has said yet what is on it" in html
    assert reverse("board-change", args=[board.pk]) in html
    assert "Nothing is left" not in html
    survey(board, by=None)
    judge(client, board, "R1", "good", PlaceFactory(type="tray"))
    assert "Nothing is left to lift" in client.get(page).content.decode()


def test_what_one_donor_has_besides_does_not_change_the_design_of_others(
    donor: Board, sign_in: Enter
) -> None:
    client, tray = sign_in("bench"), PlaceFactory(name="Tray 7", type="tray")
    before = set(donor.design.positions.values_list("ref", flat=True))
    sent = {"line": "C9 100n", "tray": tray.pk}
    html = client.post(reverse("found-on", args=[donor.pk]), sent, follow=True).content.decode()
    assert set(donor.design.positions.values_list("ref", flat=True)) == before
    assert f"{donor.design} stays as it is: C9 is kept with {donor.name} alone." in html
    assert piece(donor, "C9").part.spec.text == "100n capacitor"
    assert "C9" in client.get(reverse("board", args=[donor.pk])).content.decode()
    assert audit() == []


def test_one_that_is_not_on_the_list_leaves_the_list_as_it_is(donor: Board, sign_in: Enter) -> None:
    client, tray, job = sign_in("bench"), PlaceFactory(type="tray"), JobFactory()
    asked = {"only": ["R1", "R2"], "skip": "R1", "fetch": job.pk, "tray": tray.pk}
    html = client.get(reverse("strip", args=[donor.pk]), asked).content.decode()
    form = html.partition(reverse("found-on", args=[donor.pk]))[2].partition("</form>")[0]
    sent: dict[str, list[str]] = {"line": ["R12 4k7 5%"]}
    for name, value in re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form):
        sent.setdefault(name, []).append(value)
    page = client.post(reverse("found-on", args=[donor.pk]), sent, follow=True)
    assert page.context["only"] == ["R1", "R2"]
    assert page.context["skipped"] == ["R1"]
    assert page.context["fetch"] == job.pk


def test_nothing_goes_lost_off_a_working_board_in_passing(donor: Board, sign_in: Enter) -> None:
    Board.objects.filter(pk=donor.pk).update(purpose="working")
    judge(sign_in("bench"), donor, "R1", "gone", PlaceFactory(type="tray"))
    assert piece(donor, "R1").holdings.get(quantity=1).ref == "R1"


# --- registered, and said anew


def changed(client: Client, board: Board, **changes: object) -> tuple[int, str]:
    as_it_is = {
        "name": board.name,
        "purpose": board.purpose,
        "design": board.design_id or "",
        "note": board.note,
        "version": board.version,
    }
    answer = client.post(reverse("board-change", args=[board.pk]), {**as_it_is, **changes})
    return answer.status_code, answer.content.decode()


def test_a_board_that_was_mended_is_declared_working(donor: Board, sign_in: Enter) -> None:
    status, _page = changed(sign_in("bench"), donor, purpose="working", name="Plover 9", note="new fuse")
    donor.refresh_from_db()
    assert (status, donor.purpose, donor.name, donor.note) == (302, "working", "Plover 9", "new fuse")
    assert donor.place.name == "Plover 9"


def test_a_drawing_found_later_tells_what_is_on_a_board(sign_in: Enter) -> None:
    client, board = sign_in("bench"), BoardFactory()
    design = DesignFactory(positions={"R1": spec(), "R2": spec()})
    at = client.get(reverse("board", args=[board.pk])).content.decode()
    assert reverse("board-change", args=[board.pk]) in at
    changed(client, board, design=design.pk, surveyed="on")
    assert client.get(reverse("board", args=[board.pk])).context["filled"] == 2


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"name": ""}, "required"),
        ({"name": "x" * 121}, "120"),
        ({"name": "Shelf 4"}, "There is a board or a place of that name already."),
        ({"purpose": "lost"}, "lost"),
        ({"note": "x" * 4001}, "4000"),
        ({"design": "", "surveyed": "on"}, "Without a design nobody knows what is on it"),
        ({"version": 99}, "was changed since you opened it. <a"),
        ({"version": ""}, ""),
    ],
)
def test_what_cannot_be_true_of_a_board_is_refused_and_kept(
    donor: Board, sign_in: Enter, changes: dict[str, object], why: str
) -> None:
    PlaceFactory(name="Shelf 4")
    before = donor.version
    status, page = changed(sign_in("bench"), donor, **{"note": "kept as typed", **changes})
    assert status == 400
    assert why in page
    assert "note" in changes or "kept as typed" in page
    donor.refresh_from_db()
    assert donor.version == before


def test_a_board_is_registered_with_what_happened_to_it(sign_in: Enter) -> None:
    sent = {"name": "Plover, wet", "purpose": "donor", "design": "", "note": "fell in the harbour"}
    sign_in("bench").post(reverse("boards"), sent)
    assert Board.objects.get(name="Plover, wet").note == "fell in the harbour"


def test_a_board_to_mend_leads_to_its_job_or_to_opening_one(donor: Board, sign_in: Enter) -> None:
    client = sign_in("bench")
    Board.objects.filter(pk=donor.pk).update(purpose="under_repair")
    page = client.get(reverse("board", args=[donor.pk])).content.decode()
    assert f"{reverse('jobs')}?board={donor.pk}#new" in page
    form = client.get(reverse("jobs"), {"board": donor.pk}).content.decode()
    assert f'<option value="{donor.pk}" selected>' in form
    job = JobFactory(board=donor, name="Plover hums")
    page = client.get(reverse("board", args=[donor.pk])).content.decode()
    assert reverse("job", args=[job.pk]) in page
    assert "Open a job for it" not in page


def test_boards_to_mend_come_first(sign_in: Enter) -> None:
    for purpose in ("scrapped", "working", "donor", "under_repair"):
        BoardFactory(purpose=purpose)
    listed = [board.purpose for board in sign_in("viewer").get(reverse("boards")).context["listed"]]
    assert listed == ["under_repair", "donor", "working", "scrapped"]


def test_a_working_board_lends_and_says_so(donor: Board, sign_in: Enter) -> None:
    Board.objects.filter(pk=donor.pk).update(purpose="working")
    page = sign_in("bench").get(reverse("strip", args=[donor.pk])).content.decode()
    assert "owed back" in page
    assert ">Borrow</button>" in page


def test_a_board_without_a_drawing_is_stripped_by_writing_down_what_comes_off(sign_in: Enter) -> None:
    board = BoardFactory()
    page = sign_in("bench").get(reverse("strip", args=[board.pk])).content.decode()
    assert f"{reverse('add-many')}?board={board.pk}" in page


def test_the_board_of_a_job_that_is_done_may_be_declared_working(donor: Board, sign_in: Enter) -> None:
    client, job = sign_in("bench"), JobFactory(board=donor, status="done")
    address = reverse("job", args=[job.pk])
    Board.objects.filter(pk=donor.pk).update(purpose="under_repair")
    assert f"Say that {donor.name} works" in client.get(address).content.decode()
    Board.objects.filter(pk=donor.pk).update(purpose="working")
    assert f"Say that {donor.name} works" not in client.get(address).content.decode()
