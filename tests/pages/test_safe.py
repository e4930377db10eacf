"""Safe to switch on? through plain forms: what is recorded, what is refused, and what a second press does.

One file, since it is one page, whose checks open each other again.
"""

import io
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory.models import Board, Holding, Lot, Photo
from repairs.models import Job, Trial
from repairs.proving.ready import READY, judge
from repairs.proving_models import SwapTest
from tests.factories import BoardFactory, DesignFactory, JobFactory, PartFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def a_picture(name: str = "board.png") -> SimpleUploadedFile:
    data = io.BytesIO()
    Image.new("RGB", (60, 40), "darkgreen").save(data, "PNG")
    return SimpleUploadedFile(name, data.getvalue(), "image/png")


def with_rails() -> Board:
    boards = Board.objects.filter(purpose="under_repair").select_related("design")
    return next(board for board in boards if board.design and board.design.rails)


def fill(board: Board, ref: str) -> None:
    """A good piece of what the position asks for."""
    assert board.design is not None
    part = PartFactory(of=board.design.positions.get(ref=ref).spec.spec)
    stock(part=part, place=board.place, ref=ref)


def a_rail(board: Board, **more: Any) -> dict[str, Any]:
    name = board.design.rails[0]["name"] if board.design else ""
    return {"rail": name, "stage": "ohms", "key": f"ohms {name}", "reading": "1k2", **more}


def test_every_open_check_says_what_to_do(workshop: None, sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("safe", args=[with_rails().pk]))
    assert page.context["open"]
    steps = page.context["steps"]
    assert [step.now for step in steps] == [True] + [False] * (len(steps) - 1), "one is open, the rest folded"
    assert page.content.decode().count("To do:") == len(steps)
    assert {check.key for step in steps for check in step.checks} == {
        each.key for each in page.context["open"]
    }


def test_the_limits_stand_beside_the_box_in_the_rails_own_figures(workshop: None, sign_in: Enter) -> None:
    board = with_rails()
    page = sign_in("bench").get(reverse("safe", args=[board.pk]))
    shown = {(each.item.check, each.item.subject): each.expected for each in page.context["open"]}
    for rail in board.design.rails if board.design else ():
        assert shown["rail", rail["name"]].startswith(f"{rail['low']} to {rail['high']} V")
        assert shown["ohms", rail["name"]].startswith("10 Ω or more")
        assert f"should be <strong>{shown['rail', rail['name']]}" in page.content.decode()


def test_what_one_looked_at_before_a_part_was_moved_is_refused_at_its_check(
    workshop: None, sign_in: Enter
) -> None:
    client, board = sign_in("bench"), with_rails()
    stale = client.get(reverse("safe", args=[board.pk])).context["seen"]
    Board.objects.filter(pk=board.pk).update(version=stale + 1)
    answer = client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, seen=stale))
    assert answer.status_code == 409
    assert "changed since you looked" in answer.context["wrong"]
    assert (
        client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, seen=stale + 1)).status_code == 302
    )


def test_chips_go_out_and_back_by_one_button_each(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    assert board.design is not None
    protected = board.design.rails[0]["protects"] or board.design.rails[2]["protects"]
    board.design.positions.filter(ref__in=protected).update(socketed=True)
    for ref in protected:
        Holding.objects.filter(place=board.place, ref=ref, quantity=1).exists() or fill(board, ref)
    before = set(
        Holding.objects.filter(place=board.place, quantity=1).exclude(ref="").values_list("lot", "ref")
    )
    here, chips = reverse("safe", args=[board.pk]), reverse("safe-chips", args=[board.pk])
    assert set(protected) <= set(client.get(here).context["chips_in"])
    client.post(chips, {"chips": "out"})
    page = client.get(here)
    assert (page.context["chips_in"], set(protected) <= set(page.context["chips_out"])) == ([], True)
    name = board.design.rails[0]["name"]
    client.post(reverse("safe-rail", args=[board.pk]), a_rail(board))
    client.post(reverse("safe-check", args=[board.pk]), {"check": "inspection", "right": "yes"})
    waiting = client.get(here).context["steps"][-1]
    assert (waiting.title, waiting.now) == ("Chips back in", False)
    client.post(chips, {"chips": "in"})
    now = set(Holding.objects.filter(place=board.place, quantity=1).exclude(ref="").values_list("lot", "ref"))
    assert now == before
    passed = [each.item for each in client.get(here).context["passed"]]
    before = [item.subject for item in passed if item.check in ("ohms", "inspection")]
    assert sorted(before) == ["", name], "what came before is not reopened"
    assert client.post(chips, {"chips": "in"}).status_code == 409


def test_all_of_a_group_are_ticked_by_one_button(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    page = client.get(reverse("safe", args=[board.pk]))
    refs = next(each.item.refs for each in page.context["open"] if each.item.check == "orientation")
    client.post(reverse("safe-orientation", args=[board.pk]), {"all": "yes", "of": list(refs)})
    assert set(board.confirmations.values_list("ref", "right")) == {(ref, True) for ref in refs}


def test_the_caution_stands_at_the_step_that_can_hurt(workshop: None, sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("safe", args=[with_rails().pk]))
    hurting = [each for each in page.context["open"] if each.item.check in ("supply", "ohms", "rail", "pins")]
    assert hurting
    assert all(each.item.caution for each in hurting)


def test_a_rail_is_read_with_a_picture(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    sent = a_rail(board, picture=a_picture(), note="meter B")
    assert client.post(reverse("safe-rail", args=[board.pk]), sent).status_code == 302
    reading = board.rail_readings.latest("id")
    photo = Photo.objects.get(subject="board", subject_id=board.pk)
    assert (reading.text, reading.note) == ("1.2 kΩ", "meter B")
    assert "meter B" in photo.note


def test_a_file_that_is_no_picture_writes_nothing_and_keeps_what_was_typed(
    workshop: None, sign_in: Enter
) -> None:
    client, board = sign_in("bench"), with_rails()
    sent = a_rail(board, reading="4k7", picture=SimpleUploadedFile("notes.png", b"no picture at all"))
    answer = client.post(reverse("safe-rail", args=[board.pk]), sent)
    assert answer.status_code == 409
    assert 'value="4k7"' in answer.content.decode()
    assert not board.rail_readings.exists()
    assert not Photo.objects.filter(subject="board").exists()


@pytest.mark.parametrize("reading", ["five", "12F", "1k2, 3k3", "", "9" * 300])
def test_what_is_no_reading_is_reported_at_its_check_with_what_was_typed(
    workshop: None, sign_in: Enter, reading: str
) -> None:
    client, board = sign_in("bench"), with_rails()
    answer = client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, reading=reading))
    assert answer.status_code == 409
    assert answer.context["wrong_at"] == a_rail(board)["key"]
    assert answer.context["wrong"]
    assert not board.rail_readings.exists()


def test_the_second_press_writes_nothing(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    for _press in range(2):
        answer = client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, once="k1"), follow=True)
        assert answer.status_code == 200
    assert board.rail_readings.count() == 1
    assert "second press did nothing" in answer.content.decode()


def test_a_refused_form_may_be_mended_and_sent_again(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    for reading in ("five", "1k2"):
        client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, reading=reading, once="k2"))
    assert board.rail_readings.count() == 1


def test_an_exception_says_who_and_why_and_is_taken_back(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    sent = {"check": "supply", "subject": "", "why": "a bench supply with a limit"}
    client.post(reverse("safe-accept", args=[board.pk]), sent)
    row = board.exceptions.get()
    page = client.get(reverse("safe", args=[board.pk])).content.decode()
    assert "page-bench" in page
    assert "a bench supply with a limit" in page
    for message in ("Taken back", "withdrawn before"):
        answer = client.post(reverse("safe-withdraw", args=[row.pk]), follow=True)
        assert message in answer.content.decode()
    row.refresh_from_db()
    assert row.withdrawn is not None


@pytest.mark.parametrize(
    ("name", "sent"),
    [
        ("safe-link", {"link": "LK99", "setting": "A"}),
        ("safe-orientation", {"right": "yes"}),
        ("safe-orientation", {"ref": "ZZ9", "right": "yes"}),
        ("safe-check", {"check": "horoscope", "right": "yes"}),
        ("safe-rail", {"rail": "+99V", "stage": "ohms", "reading": "1k"}),
        ("safe-rail", {"rail": "+5V", "stage": "by ear", "reading": "1k"}),
        ("safe-accept", {"check": "supply", "subject": ""}),
        ("safe-accept", {"check": "supply", "why": "because"}),
        ("safe-accept", {"check": "design", "subject": "", "why": "because"}),
    ],
)
def test_what_cannot_be_is_refused_on_the_page(
    workshop: None, sign_in: Enter, name: str, sent: dict[str, str]
) -> None:
    answer = sign_in("bench").post(reverse(name, args=[with_rails().pk]), sent)
    assert answer.status_code == 409
    assert answer.context["wrong"]


@pytest.mark.parametrize(
    "name", ["safe-link", "safe-orientation", "safe-check", "safe-rail", "safe-accept", "memory", "try-board"]
)
def test_a_viewer_writes_nothing_down(workshop: None, sign_in: Enter, name: str) -> None:
    board = with_rails()
    assert sign_in("viewer").post(reverse(name, args=[board.pk]), a_rail(board)).status_code == 403
    assert not board.rail_readings.exists()


# --- trials


def in_a_drawer(**which: Any) -> Holding:
    return Holding.objects.filter(place__type="drawer", ref="", promised=0, **which).order_by("id")[0]


def test_a_part_is_tried_and_the_verdict_says_why(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    lot = in_a_drawer(lot__part__spec__kind="resistor", lot__part__spec__value=4_700_000_000).lot
    page = client.get(reverse("try-lot", args=[lot.pk]))
    assert "4.465 kΩ to 4.935 kΩ" in page.content.decode()  # 4k7 and 5 %: the marked tolerance
    answer = client.post(
        reverse("try-lot", args=[lot.pk]),
        {"method": "ohms", "reading": "4.71k", "measured_tolerance": "0,2"},
        follow=True,
    )
    trial = Trial.objects.latest("id")
    assert trial.verdict == "good"
    assert "± 0.2 %" in answer.content.decode()
    assert trial.record.reasons[0]["detail"] in answer.content.decode()


@pytest.mark.parametrize(
    "sent",
    [
        {"method": "ohms", "reading": "brown"},
        {"method": "ohms", "reading": ""},
        {"method": "divining", "reading": "4k7"},
        {"method": "", "reading": "4k7"},
        {"method": "ohms", "reading": "4k7", "verdict": "lovely"},
        {"method": "ohms", "reading": "4k7", "quantity": "3", "at": "0"},
        {"method": "ohms", "reading": "0", "quantity": "900000", "verdict": "faulty"},
        {"method": "ohms", "reading": "4k7", "measured_tolerance": "51"},
    ],
)
def test_a_trial_that_cannot_be_judged_keeps_what_was_typed(
    workshop: None, sign_in: Enter, sent: dict[str, str]
) -> None:
    here = in_a_drawer(lot__part__spec__kind="resistor", quantity__gt=3)
    before = Trial.objects.count()
    answer = sign_in("bench").post(reverse("try-lot", args=[here.lot_id]), {"at": str(here.pk), **sent})
    assert answer.status_code == 409
    assert f'value="{sent["reading"]}"' in answer.content.decode()
    assert Trial.objects.count() == before


def test_a_handful_is_sorted_out_by_verdict(workshop: None, sign_in: Enter) -> None:
    here = in_a_drawer(lot__condition="untested", quantity__gt=4)
    part, pieces = here.lot.part, here.quantity
    before = {lot.pk for lot in part.lots.all()}
    sent = {"at": here.pk, "good": 2, "faulty": 1, "method": "looked at", "once": "k3"}
    client = sign_in("bench")
    for _press in range(2):
        client.post(reverse("sort-out", args=[here.lot_id]), sent)
    here.refresh_from_db()
    apart = {lot.condition: lot.holdings.get().quantity for lot in part.lots.exclude(pk__in=before)}
    assert apart == {"good": 2, "faulty": 1}
    assert here.quantity == pieces - 3


@pytest.mark.parametrize("counts", [{}, {"good": "999999"}, {"good": "-1"}, {"good": "x"}])
def test_no_more_are_sorted_out_than_are_there(
    workshop: None, sign_in: Enter, counts: dict[str, str]
) -> None:
    here = in_a_drawer(lot__condition="untested", quantity__gt=4)
    lots = Lot.objects.count()
    answer = sign_in("bench").post(reverse("sort-out", args=[here.lot_id]), {"at": here.pk, **counts})
    assert answer.status_code == 409
    assert Lot.objects.count() == lots


def test_a_soak_of_the_board_is_judged_by_the_person(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    address = reverse("try-board", args=[board.pk])
    assert client.post(address, {"method": "soak", "reading": "8 hours"}).status_code == 409
    client.post(address, {"method": "soak", "reading": "8 hours", "verdict": "good"})
    assert board.trials.latest("id").reading == "8 hours"


def test_an_image_is_compared_with_its_label(workshop: None, sign_in: Enter) -> None:
    # CRC-32 of "123456789" is CBF43926, the check value of CRC-32/ISO-HDLC in the CRC catalogue of G. Cook.
    client, lot = sign_in("bench"), Lot.objects.filter(part__spec__kind="ic").order_by("id")[0]
    address = reverse("checksum", args=[lot.pk])
    image = SimpleUploadedFile("monitor.bin", b"123456789")
    client.post(address, {"image": image, "expected": "crc32 CBF43926"})
    assert Trial.objects.latest("id").verdict == "good"


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"image": SimpleUploadedFile("empty.bin", b"")},
        {"expected": "about nine"},
        {"list": "no colon here"},
        {"list": "\n".join(["monitor: sum 0001"] * 501)},
    ],
)
def test_an_image_that_cannot_be_compared_is_refused(
    workshop: None, sign_in: Enter, sent: dict[str, Any]
) -> None:
    lot = Lot.objects.filter(part__spec__kind="ic").order_by("id")[0]
    before = Trial.objects.count()
    if "expected" in sent or "list" in sent:
        sent = {**sent, "image": SimpleUploadedFile("monitor.bin", b"123456789")}
    answer = sign_in("bench").post(reverse("checksum", args=[lot.pk]), sent)
    assert answer.status_code == 409
    assert Trial.objects.count() == before


# --- which chip


def with_memory() -> Board:
    boards = Board.objects.filter(purpose="under_repair").select_related("design")
    return next(
        board for board in boards if board.design and any(bank.get("map") for bank in board.design.banks)
    )


def test_which_bits_live_where_is_shown_in_short(workshop: None, sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("memory", args=[with_memory().pk]))
    where = {(span.start, span.end): where for _bank, span, where in page.context["spans"]}
    assert where[0, 0x03FF] == "D0-D3: IC12, D4-D7: IC13"
    assert "D0-D3: IC12, D4-D7: IC13" in page.content.decode()


def test_a_wrong_bit_names_its_chip(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_memory()
    # The Tern's drawing: addresses 0000 to 03FF, D0 to D3 in IC12; 00 against 04 differ in D2.
    sent = {"address": "01C0", "wrote": "00", "read": "04", "once": "k4"}
    page = client.post(reverse("memory", args=[board.pk]), sent).content.decode()
    assert "IC12: D2 wrong at 1 address, first 01C0" in page
    client.post(reverse("memory", args=[board.pk]), sent)
    assert board.trials.filter(method="memory test").count() == 1


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"faults": "it froze"},
        {"address": "01C0"},
        {"address": "01C0", "wrote": "00", "read": "00"},
        {"faults": "01C0: wrote 00, read 04", "passed": "1"},
    ],
)
def test_what_is_no_fault_is_refused_and_kept(workshop: None, sign_in: Enter, sent: dict[str, str]) -> None:
    board = with_memory()
    answer = sign_in("bench").post(reverse("memory", args=[board.pk]), sent)
    assert answer.status_code == 409
    assert all(value in answer.content.decode() for value in sent.values())
    assert not board.trials.filter(method="memory test").exists()


# --- one suspect at a time


def a_fixture(client: Client) -> SwapTest:
    for board in Board.objects.filter(purpose="working").select_related("design", "place"):
        page = client.get(reverse("swaps", args=[board.pk]))
        if page.context["sockets"]:
            sent = {"ref": page.context["sockets"][0], "to": page.context["trays"][0][0]}
            client.post(reverse("swaps", args=[board.pk]), sent)
            return SwapTest.objects.latest("id")
    raise AssertionError("the demo has no working board with a socket")


def test_a_suspect_is_judged_between_two_baselines(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    test = a_fixture(client)
    address = reverse("swap", args=[test.pk])

    def step(**sent: Any) -> int:
        return client.post(address, sent).status_code

    position = test.board.design.positions.get(ref=test.ref)
    tray = Holding.objects.filter(place__type="tray").order_by("id")[0].place
    from inventory.ledger import Arrival, Origin, Spot, receive
    from inventory.models import Part

    suspects = receive(
        Arrival(
            part=Part.of(position.spec.spec), quantity=3, to=Spot(tray.pk), origin=Origin(source="unknown"),
            condition="untested",
        ),
        by=None,
    ).lot  # fmt: skip
    assert step(what="suspect", lot=suspects.pk, passed="yes") == 409  # no baseline yet
    assert step(what="baseline", passed="yes", reading="no fault in 20 min") == 302
    assert step(what="suspect", lot=suspects.pk, passed="no") == 409  # nobody took its ohms
    assert step(what="ohms", piece=suspects.holdings.get().pk, reading="640 Ω", shorted="no") == 302
    one = Lot.objects.latest("id")
    assert (one.split_from_id, one.condition) == (suspects.pk, "untested")
    assert step(what="suspect", lot=one.pk, passed="no", reading="01C0: wrote 00, read 04") == 302
    assert step(what="close") == 409  # the good one is not back yet
    assert step(what="baseline", passed="yes") == 302
    page = client.get(address)
    assert [(each.lot, each.row.verdict) for each in page.context["results"]] == [(one, "faulty")]
    message = one.trials.latest("id")
    assert (message.verdict, message.record.board) == ("faulty", test.board)
    assert not suspects.trials.exists()
    assert step(what="close") == 302
    assert Holding.objects.get(place=test.board.place, ref=test.ref).quantity == 1


@pytest.mark.parametrize(
    "sent", [{}, {"what": "nothing"}, {"what": "suspect"}, {"what": "ohms"}, {"what": "ohms", "piece": "1"}]
)
def test_a_step_that_is_none_is_refused(workshop: None, sign_in: Enter, sent: dict[str, str]) -> None:
    client = sign_in("bench")
    test = a_fixture(client)
    assert client.post(reverse("swap", args=[test.pk]), sent).status_code == 409
    assert not test.steps.exists()


# --- the report


def test_the_report_is_a_page_to_print_without_any_style_inside(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    job = Job.objects.filter(board__isnull=False).order_by("id")[0]
    page = client.get(reverse("job-report", args=[job.pk])).content.decode()
    assert "Symptom and cause" in page
    assert "style=" not in page
    assert "<style" not in page


def taken_back(client: Client, page: str) -> str:
    """What the page says after its Undo was pressed."""
    seen = re.findall(r'name="seen" value="([^"]+)"', page)
    assert seen
    return client.post(reverse("undo"), {"seen": seen}, follow=True).content.decode()


def test_what_was_written_down_by_mistake_is_taken_back_with_one_press(
    workshop: None, sign_in: Enter
) -> None:
    client, board = sign_in("bench"), with_rails()
    job = board.jobs.first() or JobFactory(board=board)
    sent = [
        ("safe-check", {"check": "inspection", "right": "yes"}),
        ("safe-rail", a_rail(board, reading="1k2")),
        ("safe-accept", {"check": "supply", "subject": "", "why": "a bench supply"}),
    ]
    for name, form in sent:
        before = client.get(reverse("safe", args=[board.pk])).context["open"]
        page = client.post(reverse(name, args=[board.pk]), form, follow=True)
        assert page.context["open"] != before, name
        assert "Undone" in taken_back(client, page.content.decode())
        assert client.get(reverse("safe", args=[board.pk])).context["open"] == before, name
    log = client.get(reverse("job-log", args=[job.pk])).content.decode()
    assert log.count("(taken back since)") == len(sent), "it stays on record"
    assert not board.rail_readings.filter(withdrawn=None).exists()


def test_a_link_is_taken_back(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    board = next(board for board in Board.objects.exclude(design=None) if board.design.links)
    link = board.design.links[0]
    form = {"link": link["name"], "setting": next(iter(link["settings"]))}
    page = client.post(reverse("safe-link", args=[board.pk]), form, follow=True).content.decode()
    made = board.link_settings.latest("id")
    assert made.withdrawn is None
    assert "Undone" in taken_back(client, page)
    made.refresh_from_db()
    assert made.withdrawn is not None


def test_which_way_round_is_taken_back_for_all_that_were_ticked(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    board, refs = next(
        (board, check.item.refs)
        for board in Board.objects.filter(purpose="under_repair").exclude(design=None)
        for check in client.get(reverse("safe", args=[board.pk])).context["open"]
        if check.item.check == "orientation"
    )
    page = client.post(
        reverse("safe-orientation", args=[board.pk]), {"ref": refs, "right": "yes"}, follow=True
    )
    assert board.confirmations.filter(withdrawn=None, ref__in=refs).count() == len(refs)
    assert "Undone" in taken_back(client, page.content.decode())
    assert not board.confirmations.filter(withdrawn=None, ref__in=refs).exists()
    again = client.post(reverse("undo"), {"seen": f"confirmation {board.confirmations.latest('id').pk}"})
    assert "withdrawn before" in client.get(again["Location"]).content.decode()


@pytest.mark.parametrize(
    "seen", ["", "confirmation", "confirmation x", "user 1", "railreading 99999999999999"]
)
def test_what_is_no_record_is_not_taken_back(workshop: None, sign_in: Enter, seen: str) -> None:
    assert sign_in("bench").post(reverse("undo"), {"seen": seen}).status_code == 302


def test_what_passes_is_corrected_when_it_is_not_so(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    client.post(reverse("safe-check", args=[board.pk]), {"check": "inspection", "right": "yes"})
    address = reverse("safe", args=[board.pk])
    assert "?again=inspection#check0" in client.get(address).content.decode()
    page = client.get(address, {"again": "inspection"})
    assert page.context["again"].item.state == "pass"
    assert "Found wrong" in page.content.decode().split("What stands in the way")[0]
    client.post(reverse("safe-check", args=[board.pk]), {"check": "inspection", "right": "no"})
    assert client.get(address).context["state"] == "stop"
    assert client.get(address, {"again": "horoscope"}).context["again"] is None


def test_at_the_pins_of_no_chip_nothing_is_asked_anew(workshop: None, sign_in: Enter) -> None:
    """That the chips are still out is what passes: there is nothing to measure at."""
    client = sign_in("bench")
    passed = [
        (board, check)
        for board in Board.objects.exclude(design=None)
        for check in client.get(reverse("safe", args=[board.pk])).context["passed"]
        if check.stage == "at_pins" and not check.item.refs
    ]
    assert passed
    for board, check in passed:
        page = client.get(reverse("safe", args=[board.pk]), {"again": check.key})
        assert page.context["again"] is None


def test_a_bad_reading_corrected_is_kept_at_its_check(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, reading="OL"))
    answer = client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, reading="banana"))
    assert answer.status_code == 409
    assert answer.context["again"] is not None
    assert 'value="banana"' in answer.content.decode()


def test_empty_places_lead_to_the_job_that_fills_them(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    job = Job.objects.get(name="Tern C rebuild")
    page = client.get(reverse("safe", args=[job.board.pk])).content.decode()
    assert f"{reverse('job', args=[job.pk])}?show=wanted#places" in page
    Job.objects.filter(pk=job.pk).update(status="parked")
    page = client.get(reverse("safe", args=[job.board.pk])).content.decode()
    assert f"{reverse('jobs')}?board={job.board.pk}#new" in page


def test_what_the_memory_test_reported_is_asked_before_what_to_try(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), Board.objects.get(name="Tern C, bare board")
    address = reverse("memory", args=[board.pk])
    page = client.get(address).content.decode()
    assert page.index('id="address"') < page.index("What to try next")
    answer = client.post(address, {"address": "01C0", "wrote": "00", "read": "04"}, follow=True)
    page = answer.content.decode()
    assert (
        page.index("says where to look first") < page.index("What to try next") < page.index('id="address"')
    )


def test_the_report_speaks_the_words_of_the_bench(workshop: None, sign_in: Enter) -> None:
    client, board = sign_in("bench"), with_rails()
    job = board.jobs.first()
    client.post(reverse("safe-rail", args=[board.pk]), a_rail(board, reading="1k2"))
    page = client.get(reverse("job-report", args=[job.pk])).content.decode()
    assert "ohms to ground" in page
    assert "Safe to switch on?" in page
    assert "data-print" in page
    for raw in ("chips_out", "at_pins", "Ready to power"):
        assert raw not in page


def test_many_places_are_written_as_one_writes_them(sign_in: Enter) -> None:
    design = DesignFactory(positions={f"R{number}": spec() for number in range(1, 41)})
    board = BoardFactory(design=design, purpose="under_repair")
    page = sign_in("viewer").get(reverse("safe", args=[board.pk])).content.decode()
    assert "R1-R40" in page


def test_a_picture_leads_back_to_the_page_it_was_added_on(workshop: None, sign_in: Enter) -> None:
    job, client = Job.objects.first(), sign_in("bench")
    assert job is not None
    log = reverse("job-log", args=[job.pk])

    def added(**came: str) -> str:
        sent = {"subject": "job", "subject_id": job.pk, "file": a_picture()}
        return client.post(reverse("add-photo"), sent, headers=came)["Location"].removesuffix("#file")

    assert added(referer=f"http://testserver{log}").endswith(log)
    assert added() == reverse("job", args=[job.pk])
    assert added(referer="http://elsewhere.example/x") == reverse("job", args=[job.pk])


def test_a_board_that_is_ready_leads_to_the_closing_of_its_job(
    workshop: None, sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, board = sign_in("bench"), with_rails()
    job = board.jobs.filter(status="open").first() or JobFactory(board=board)
    address = reverse("safe", args=[board.pk])
    assert reverse("job-close", args=[job.pk]) not in client.get(address).content.decode()
    monkeypatch.setattr("repairs.pages.safe.judge", lambda facts: replace(judge(facts), verdict=READY))
    assert reverse("job-close", args=[job.pk]) in client.get(address).content.decode()
