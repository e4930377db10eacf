"""Reading a part at the page: typed, picked, or off a picture; and what one press does with it.

One file, since it is one page.
"""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageDraw

from inventory.models import Lot, Movement, Photo, Place
from inventory.pictures import photos, printed_text
from inventory.pictures.printed_text import WHAT_TO_TRY, Print, PrintProposal, judged
from inventory.pictures.recogniser import OcrNotInstalled
from repairs.audit import audit
from repairs.models import Job, Reservation
from tests.factories import BoardFactory, JobFactory, NeedFactory, PlaceFactory, photo, png, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]

# Paint of a 4k7 5 % resistor, IEC 60062: yellow, violet, red, gold; tones by daylight, from memory.
PAINTED = ((236, 204, 52), (118, 70, 142), (190, 40, 42), (180, 142, 66))


def resistor() -> Image.Image:
    """A beige body, level, from x 100 to x 300 of 400 x 200 white."""
    image = Image.new("RGB", (400, 200), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((100, 70, 300, 130), fill=(212, 182, 138))
    for place, tone in enumerate(PAINTED):
        left = 130 + 42 * place
        draw.rectangle((left, 70, left + 16, 130), fill=tone)
    return image


def values(answer: object) -> list[str]:
    return [each.value for each in answer.context["readings"]]  # type: ignore[attr-defined]


def send(client: Client, data: bytes, **fields: object) -> object:
    file = SimpleUploadedFile("part.png", data, "image/png")
    return client.post(reverse("add-photo"), {"file": file, **fields})


# --- typed and picked


def test_readings_come_with_reasons_and_what_to_check_next(sign_in: Enter) -> None:
    """100 is 10 pF by EIA's three figures and 100 pF as written: the decoder keeps both apart."""
    page = sign_in("viewer").get(reverse("read"), {"marking": "100", "kind": "capacitor"})
    assert {"10p", "100p"} <= set(values(page))
    assert page.context["answer"].next_check in page.content.decode()


def test_a_date_of_several_decades_is_shown_once(sign_in: Enter) -> None:
    """`104` may be week 4 of any year that ends in 1: year and week in three figures, common practice."""
    page = sign_in("bench").get(reverse("read"), {"marking": "104"})
    dates = [each for each in page.context["readings"] if each.made and not each.spec]
    assert len(dates) == len({each.reading.notation for each in dates}) >= 1
    assert len(dates[0].made) > 1
    assert "week 4 of 1981" in page.content.decode()
    assert "-W04" not in page.content.decode()


def test_what_qualifies_a_reading_is_no_warning_of_danger(sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("read"), {"marking": "104", "kind": "resistor"}).content.decode()
    assert "tolerance" in page
    assert 'class="caution"' not in page


def test_what_changes_as_one_types_comes_alone(sign_in: Enter) -> None:
    page = sign_in("viewer").get(reverse("read"), {"marking": "4k7", "part": "1"}).content.decode()
    assert "<html" not in page
    assert 'id="answer"' in page
    assert "4k7" in page


def test_beside_an_answer_what_more_was_told_is_folded_into_one_line(sign_in: Enter) -> None:
    """So the answer stands on the first screen of a phone; what is wrong there stays open."""
    client = sign_in("bench")
    fold = "<details open><summary>I know more about it"
    asked = client.get(reverse("read"), {"marking": "SN74LS00N", "body": "dip", "era": "1982"})
    page = asked.content.decode()
    assert fold not in page
    assert "dip, 1982" in page[page.index("I know more about it") :][:200]
    assert fold in client.get(reverse("read"), {"body": "dip"}).content.decode()
    wrong = client.get(reverse("read"), {"marking": "SN74LS00N", "era": "soon"})
    assert fold in wrong.content.decode()


def test_bands_are_picked_one_press_after_the_other_without_any_script(sign_in: Enter) -> None:
    """IEC 60062: yellow, violet, red, gold is 4.7 kΩ at 5 %."""
    client, bands = sign_in("viewer"), []
    for colour in ("yellow", "violet", "red", "gold"):
        page = client.get(reverse("read"), {"band": bands, "add": colour, "kind": "resistor"})
        bands = re.findall(r'name="band" value="([^"]+)"', page.content.decode())
    assert bands == ["yellow", "violet", "red", "gold"]
    assert values(page)[0] == "4k7"
    page = client.get(reverse("read"), {"band": bands, "drop": "4"})
    assert re.findall(r'name="band" value="([^"]+)"', page.content.decode()) == bands[:3]
    page = client.get(reverse("read"), {"band": bands, "turn-round": "1"})
    assert re.findall(r'name="band" value="([^"]+)"', page.content.decode()) == bands[::-1]


@pytest.mark.parametrize("name", ["black", "gold", "white"])
def test_every_swatch_carries_its_letters_and_its_name(sign_in: Enter, name: str) -> None:
    """Two letters of IEC 60757, as the drawings of `appearance` have them."""
    letters = {"black": "BK", "gold": "GD", "white": "WH"}[name]
    page = sign_in("viewer").get(reverse("read")).content.decode()
    assert f'swatch-{name}">{letters}</span>{name}<' in page


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"marking": "[3"}, "marking"), ({"marking": "4k7", "era": "last year"}, "era"),
        ({"marking": "4k7", "measured": "5"}, "measured"), ({"marking": "4k7", "kind": "spoon"}, "kind"),
        ({"band": ["mauve", "red"]}, "bands"), ({"marking": "4k7", "scheme": "tartan"}, "scheme"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_reported_at_its_field_and_kept(
    sign_in: Enter, fields: dict[str, str], field: str
) -> None:
    page = sign_in("viewer").get(reverse("read"), fields)
    assert page.status_code == 400
    assert list(page.context["asked"].wrong) == [field]
    if "marking" in fields:
        assert f'value="{fields["marking"]}"' in page.content.decode()


# --- put away, promised, fitted


@pytest.fixture
def wanted(db: None) -> object:
    """An open job at a board that wants a 4k7 at R7."""
    PlaceFactory(name="Drawer 1")
    board = BoardFactory(purpose="under_repair")
    return NeedFactory(job=JobFactory(board=board), ref="R7", of=spec("resistor", "4k7"))


def press(client: Client, suffix: str, **more: object) -> object:
    page = client.get(reverse("read"), {"marking": "4k7", "kind": "resistor"})
    readings = page.context["readings"]
    which = next(place for place, each in enumerate(readings, 1) if each.value == "4k7")
    once = re.search(
        r'name="once" value="(\w+)"', page.content.decode()[page.content.decode().find("put-away") :]
    )
    sent = {
        f"spec{which}": readings[which - 1].spec, "put": f"{which}{suffix}", "marking": "4k7",
        "tray": Place.objects.get(name="Drawer 1").pk, "once": once[1] if once else "", **more,
    }  # fmt: skip
    client.post(reverse("put-away"), sent)
    return client.post(reverse("put-away"), sent, follow=True)


def test_the_jobs_that_want_it_stand_beside_the_reading(wanted: object, sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("read"), {"marking": "4k7", "kind": "resistor"})
    first = page.context["readings"][0].wanting[0]
    assert (first.served.ref, first.board) == ("R7", wanted.job.board.name)  # type: ignore[attr-defined]
    assert f'value="1-{wanted.pk}-fit"' in page.content.decode()  # type: ignore[attr-defined]


def test_places_of_a_job_that_want_the_same_are_shown_together(sign_in: Enter) -> None:
    """The reasons stand once, the first place has the buttons at hand, and each of the others has its own."""
    job = JobFactory(name="Lamp on the slip")
    needs = [NeedFactory(job=job, of=spec("resistor", "4k7"), ref=ref) for ref in ("R1", "R2", "R9")]
    page = sign_in("bench").get(reverse("read"), {"marking": "4k7", "kind": "resistor"})
    (group,) = page.context["readings"][0].waiting
    assert (group.refs, group.first.served.ref) == ("R1, R2, R9", "R1")
    shown = page.content.decode()
    assert shown.count("wants it") + shown.count("want it") == 1
    for need in needs:
        assert f'value="1-{need.pk}"' in shown


def test_one_press_puts_it_in_the_drawer_and_the_second_does_nothing(wanted: object, sign_in: Enter) -> None:
    again = press(sign_in("bench"), "", quantity=3, measured="4.68k")
    lot = Lot.objects.get()
    assert (lot.holdings.get().quantity, lot.measured) == (3, 4_680_000_000)
    assert "already" in again.content.decode()  # type: ignore[attr-defined]


def test_one_press_promises_it(wanted: object, sign_in: Enter) -> None:
    press(sign_in("bench"), f"-{wanted.pk}")  # type: ignore[attr-defined]
    assert Reservation.objects.get().status == "held"
    assert Lot.objects.get().holdings.get().promised == 1


def test_a_promise_made_so_is_undone_in_one(wanted: object, sign_in: Enter) -> None:
    client = sign_in("bench")
    press(client, f"-{wanted.pk}")  # type: ignore[attr-defined]
    last = client.session["last"]
    client.post(reverse("undo"), {"line": last["lines"], "promise": last["promises"]})
    assert Reservation.objects.get().status == "released"
    assert not Lot.objects.get().holdings.filter(quantity__gt=0).exists()


def test_one_press_fits_it(wanted: object, sign_in: Enter) -> None:
    press(sign_in("bench"), f"-{wanted.pk}-fit")  # type: ignore[attr-defined]
    assert Reservation.objects.get().status == "fitted"
    assert Lot.objects.get().holdings.get(quantity=1).ref == "R7"


def undo(client: Client) -> str:
    """Press Undo as it stands on the page."""
    page = client.get(reverse("read")).content.decode()
    form = page[page.index(reverse("undo")) :].partition("</form>")[0]
    sent: dict[str, list[str]] = {}
    for name, number in re.findall(r'name="(line|promise)" value="(\d+)"', form):
        sent.setdefault(name, []).append(number)
    return client.post(reverse("undo"), {**sent, "next": reverse("read")}, follow=True).content.decode()


@pytest.mark.parametrize("closed", [False, True])
def test_what_was_fitted_from_a_reading_is_undone_with_its_promise_and_its_lot(
    wanted: Any, sign_in: Enter, closed: bool
) -> None:
    client = sign_in("bench")
    press(client, f"-{wanted.pk}-fit", quantity=3)
    if closed:
        Job.objects.filter(pk=wanted.job_id).update(status="done")
    assert "Undone: " in undo(client)
    wanted.refresh_from_db()
    assert (wanted.promised, wanted.fitted) == (0, 0)
    assert Reservation.objects.get().status == "released"
    assert not Lot.objects.get().holdings.filter(quantity__gt=0).exists()
    assert audit() == []
    assert 'action="/undo/"' not in client.get(reverse("read")).content.decode()


def test_where_the_fitted_part_has_gone_on_nothing_is_undone(wanted: Any, sign_in: Enter) -> None:
    client = sign_in("bench")
    press(client, f"-{wanted.pk}-fit")
    board = wanted.job.board
    sent = {"ref": "R7", "to": Place.objects.get(name="Drawer 1").pk}
    sign_in("bench", "wren").post(reverse("remove", args=[board.pk]), sent)
    lines = Movement.objects.count()
    assert 'role="alert"' in undo(client)
    assert Movement.objects.count() == lines
    assert audit() == []


@pytest.mark.parametrize("many", ["0", "", "-3", "a few", "99999999999"])
def test_how_many_is_never_guessed_and_what_was_typed_is_kept(
    wanted: object, sign_in: Enter, many: str
) -> None:
    client, other = sign_in("bench"), PlaceFactory(name="Tin on the sill")
    readings = client.get(reverse("read"), {"marking": "4k7"}).context["readings"]
    sent = {"spec1": readings[0].spec, "put": "1", "marking": "4k7", "tray": other.pk, "quantity": many}
    there = {"Referer": "http://testserver/read/?marking=4k7&measured=4.6k"}
    page = client.post(reverse("put-away"), sent, headers=there, follow=True)
    kept = page.content.decode()
    assert not Lot.objects.exists()
    assert "How many?" in kept
    assert page.context["quantity"] == many
    assert page.context["tray"].row == other
    assert page.context["asked"].hints["measured"] == "4.6k"


def test_the_drawer_last_used_is_offered_next(wanted: object, sign_in: Enter) -> None:
    client, other = sign_in("bench"), PlaceFactory(name="A first drawer")
    press(client, "")
    assert client.get(reverse("read")).context["tray"] == Place.objects.get(name="Drawer 1").pk != other.pk


def test_a_viewer_puts_nothing_away(wanted: object, sign_in: Enter) -> None:
    press(sign_in("viewer"), "")
    assert not Lot.objects.exists()


# --- a picture


def test_a_picture_is_sent_and_shown_at_once(sign_in: Enter) -> None:
    answer = send(sign_in("bench"), png(resistor()))
    kept = Photo.objects.get()
    assert answer.headers["Location"] == reverse("look", args=[kept.pk])  # type: ignore[attr-defined]
    assert kept.subject == ""


def test_one_tap_on_it_enlarges_and_brings_the_contrast_out(sign_in: Enter) -> None:
    """So it takes two taps from the shutter: the phone's own yes, and one on the marking."""
    kept = photo(resistor())
    page = sign_in("viewer").get(reverse("look", args=[kept.pk]), {"tap-x": "0.5", "tap-y": "0.5"})
    assert page.context["view"].zoom == 4
    assert "local_contrast=3" in page.context["source"]
    assert sign_in("viewer", "wren").get(page.context["source"]).status_code == 200


def test_bands_are_proposed_between_the_ends_that_were_dragged(sign_in: Enter) -> None:
    kept = photo(resistor())
    line = {"line": "1", "x1": 100 / 400, "y1": 0.5, "x2": 300 / 400, "y2": 0.5, "kind": "resistor"}
    page = sign_in("viewer").get(reverse("look", args=[kept.pk]), line)
    first = [band.split("|")[0] for band in page.context["asked"].bands]
    assert first == ["yellow", "violet", "red", "gold"]
    assert values(page)[0] == "4k7"


def test_bands_are_found_on_a_turned_picture_with_keys_alone(sign_in: Enter) -> None:
    """The part stands upright; a quarter turn lays it level, and it is read along the middle."""
    kept = photo(resistor().crop((95, 0, 305, 200)).rotate(90, expand=True))
    client, address = sign_in("viewer"), reverse("look", args=[kept.pk])
    turned = client.get(address, {"do": "quarter"}).context["view"]
    page = client.get(address, {"turn": turned.turn, "do": "bands", "kind": "resistor"})
    first = {band.split("|")[0] for band in page.context["asked"].bands}
    assert {"yellow", "violet", "red"} <= first
    assert "4k7" in values(page)


def test_print_is_proposed_where_the_extra_is_there(sign_in: Enter, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printed_text, "read_text", lambda *_: Print((PrintProposal("104K", 0.97, 90),)))
    page = sign_in("viewer").get(reverse("look", args=[photo().pk]), {"do": "print", "kind": "capacitor"})
    assert page.context["asked"].marking == "104K"
    assert values(page)[0] == "100n"


def test_no_print_found_says_what_helps(sign_in: Enter, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printed_text, "read_text", lambda *_: judged([]))
    page = sign_in("viewer").get(reverse("look", args=[photo().pk]), {"do": "print"}).content.decode()
    assert "No print found." in page
    assert all(advice in page for advice in WHAT_TO_TRY)


def test_several_pictures_sent_together_are_read_as_one(sign_in: Enter) -> None:
    client = sign_in("bench")
    files = [SimpleUploadedFile(f"{n}.png", png(resistor()), "image/png") for n in range(3)]
    address = client.post(reverse("add-photo"), {"file": files}).headers["Location"]
    first, *others = Photo.objects.order_by("pk")
    assert address == f"{reverse('look', args=[first.pk])}?also={others[0].pk}&also={others[1].pk}"
    page = client.get(f"{address}&line=1&x1=0.25&y1=0.5&x2=0.75&y2=0.5&kind=resistor")
    assert page.context["others"] == others
    assert values(page)[0] == "4k7"
    page = client.get(f"{address}&without={others[0].pk}")
    assert page.context["others"] == others[1:]


def test_a_picture_with_light_from_another_side_is_added_to_the_one_looked_at(sign_in: Enter) -> None:
    client, first = sign_in("bench"), photo(resistor())
    answer = send(client, png(resistor().rotate(1)), **{"with": first.pk})
    added = Photo.objects.latest("pk")
    assert answer.headers["Location"] == f"{reverse('look', args=[first.pk])}?also={added.pk}"  # type: ignore[attr-defined]


def test_without_the_extra_the_page_says_how_to_have_it(
    sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    def absent(data: bytes, fewest: int) -> Print:
        raise OcrNotInstalled

    monkeypatch.setattr(printed_text, "read_text", absent)
    page = sign_in("viewer").get(reverse("look", args=[photo().pk]), {"do": "print", "marking": "4k7"})
    assert ".[ocr]" in page.content.decode()
    assert "4k7" in values(page)


def test_the_picture_stays_with_the_lot_that_was_read_off_it(wanted: object, sign_in: Enter) -> None:
    kept = photo(resistor())
    press(sign_in("bench"), "", photo=kept.pk)
    kept.refresh_from_db()
    assert (kept.subject, kept.subject_id) == ("lot", Lot.objects.get().pk)


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff broken off", png()[:60]])
def test_what_is_no_picture_is_refused_and_the_note_kept(sign_in: Enter, data: bytes) -> None:
    lot = stock().lot
    answer = send(sign_in("bench"), data, subject="lot", subject_id=lot.pk, note="print side")
    assert answer.status_code == 400  # type: ignore[attr-defined]
    assert 'value="print side"' in answer.content.decode()  # type: ignore[attr-defined]
    assert not Photo.objects.exists()


def test_a_picture_sent_twice_is_kept_once(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), stock().lot
    for _press in range(2):
        send(client, png(), subject="lot", subject_id=lot.pk, once="a" * 32)
    assert Photo.objects.count() == 1


def test_a_viewer_adds_and_takes_off_no_picture(sign_in: Enter) -> None:
    client, lot = sign_in("viewer"), stock().lot
    kept = photo(subject="lot", subject_id=lot.pk)
    assert send(client, png()).status_code == 403  # type: ignore[attr-defined]
    assert client.post(reverse("detach-photo", args=[kept.pk])).status_code == 403
    assert Photo.objects.get().subject == "lot"


def test_a_picture_taken_off_is_put_back(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), stock().lot
    kept = photo(subject="lot", subject_id=lot.pk)
    page = client.post(reverse("detach-photo", args=[kept.pk]), follow=True)
    assert "Put it back" in page.content.decode()
    assert not Photo.objects.exclude(subject="").exists()
    client.post(reverse("attach-photo", args=[kept.pk]), {"subject": "lot", "subject_id": lot.pk})
    kept.refresh_from_db()
    assert (kept.subject, kept.subject_id) == ("lot", lot.pk)


HOSTILE = ("", "%00", "-1", "nan", "inf", "1e999", "9" * 40, "x", "💥")


@pytest.mark.parametrize(
    "name", ["x", "y", "zoom", "turn", "tap-x", "x1", "look", "channel", "do", "band", "add", "drop", "photo"]
)
def test_nothing_given_of_a_view_breaks_it(sign_in: Enter, name: str) -> None:
    client, address = sign_in("viewer"), reverse("look", args=[photo(resistor()).pk])
    views = {}
    for hostile in HOSTILE:
        page = client.get(address, {"line": "1", "zoom": "4", name: hostile})
        assert page.status_code in (200, 400), hostile
        views[page.context["source"]] = hostile
    assert {client.get(source).status_code for source in views} == {200}, views


def test_several_pictures_in_a_row_are_kept_and_each_that_is_none_is_named(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), stock(1).lot
    files = [
        SimpleUploadedFile("one.png", png(), "image/png"),
        SimpleUploadedFile("notes.png", b"no picture", "image/png"),
        SimpleUploadedFile("two.png", png(Image.new("RGB", (40, 30), "grey")), "image/png"),
    ]
    sent = {"file": files, "subject": "lot", "subject_id": lot.pk, "note": "both sides"}
    answer = client.post(reverse("add-photo"), sent)
    assert answer.headers["Location"].endswith("#file"), "the next is taken there"
    assert [photo.note for photo in photos.of("lot", lot.pk)] == ["both sides"] * 2
    page = client.get(reverse("lot", args=[lot.pk])).content.decode()
    assert "2 pictures are kept" in page
    assert "notes.png" in page


def test_pictures_beyond_what_is_taken_at_once_are_not_dropped_silently(
    sign_in: Enter, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("repairs.pages.photos.MAX_AT_ONCE", 1)
    client, lot = sign_in("bench"), stock(1).lot
    files = [
        SimpleUploadedFile(f"{at}.png", png(Image.new("RGB", (40, 30), (at, 0, 0))), "image/png")
        for at in range(3)
    ]
    client.post(reverse("add-photo"), {"file": files, "subject": "lot", "subject_id": lot.pk})
    assert len(photos.of("lot", lot.pk)) == 1
    assert "the last 2 were not taken" in client.get(reverse("lot", args=[lot.pk])).content.decode()
