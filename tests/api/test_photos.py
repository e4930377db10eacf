"""`photos/`: a picture goes in from a phone, and what comes out says nothing of where it was taken."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from PIL import Image, ImageDraw

from inventory.models import Photo
from inventory.pictures import taking_in
from inventory.pictures.photos import SIZES, SUBJECTS, path_of
from repairs.models import Trial
from repairs.proving_models import BenchEntry, Confirmation
from tests.api.test_problems import pointers, refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    PartFactory,
    PersonFactory,
    photo,
    png,
    spec,
    stock,
)

PHOTOS = "/api/v1/photos/"
GPS, ORIENTATION, MAKER, TAKEN = 0x8825, 0x0112, 0x010F, 0x0132


def upload(client: Any, data: bytes, *, name: str = "dsc0117.jpg", called: str = "file", **given: Any) -> Any:
    key = given.pop("key", None)
    headers = {"Idempotency-Key": key} if key else {}
    file = SimpleUploadedFile(name, data, "image/jpeg")
    return client.post(PHOTOS, {called: file, **given}, format="multipart", headers=headers)


def from_a_phone() -> bytes:
    """A JPEG that says where, when and with what it was taken, held sideways."""
    image = Image.new("RGB", (80, 40), "grey")
    ImageDraw.Draw(image).rectangle((0, 0, 39, 39), fill="red")
    exif = Image.Exif()
    exif[MAKER], exif[TAKEN], exif[ORIENTATION] = "Plover", "2026:11:20 20:15:00", 6
    place = exif.get_ifd(GPS)
    place[1], place[2], place[3], place[4] = "N", (52.0, 5.0, 7.0), "E", (4.0, 18.0, 11.0)
    return png(image, "JPEG", exif=exif, comment=b"at the bench in Marsh Lane", quality=95)


def test_a_picture_with_a_place_goes_in_and_comes_out_without(bench: Any) -> None:
    sent = from_a_phone()
    assert dict(Image.open(io.BytesIO(sent)).getexif().get_ifd(GPS)), "the place is in what is sent"
    assert b"Marsh Lane" in sent
    made = upload(bench, sent)
    assert made.status_code == 201
    got = bench.get(made.json()["image"])
    assert (got.status_code, got.headers["Content-Type"]) == (200, "image/jpeg")
    kept = Image.open(io.BytesIO(got.content))
    assert not dict(kept.getexif())
    assert not {"exif", "comment", "icc_profile", "xmp"} & kept.info.keys()
    for trace in (b"Exif", b"GPS", b"Plover", b"2026:11:20", b"Marsh Lane"):
        assert trace not in got.content
    # And nowhere else under the pictures does a file say so.
    for file in Path(settings.MEDIA_ROOT).rglob("*.*"):
        assert b"Exif" not in file.read_bytes()


def test_a_picture_taken_sideways_is_kept_upright(bench: Any) -> None:
    """Orientation 6 of the Exif standard: turn by a quarter clockwise to show it."""
    made = upload(bench, from_a_phone()).json()
    assert (made["width"], made["height"]) == (40, 80)
    upright = Image.open(io.BytesIO(bench.get(made["image"]).content)).convert("RGB")
    red, _green, blue = upright.getpixel((20, 10))  # type: ignore[misc]
    assert red > 200 > blue, "the left half is above now"


@pytest.mark.both_databases
def test_the_file_is_named_by_what_is_in_it_and_shared(
    bench: Any, owner: Any, django_capture_on_commit_callbacks: Any
) -> None:
    first, second = (upload(bench, png(), name=name).json() for name in ("../../etc/passwd", "b.jpg"))
    content = Photo.objects.values_list("content", flat=True).distinct().get()
    files = [file for file in Path(settings.MEDIA_ROOT).rglob("*") if file.is_file()]
    assert files == [path_of(content)]
    with django_capture_on_commit_callbacks(execute=True):
        assert owner.delete(f"{PHOTOS}{first['id']}/").status_code == 204
    assert bench.get(second["image"]).status_code == 200, "the other row still shows it"
    with django_capture_on_commit_callbacks(execute=True):
        assert owner.delete(f"{PHOTOS}{second['id']}/").status_code == 204
    assert not path_of(content).exists()


def test_only_an_owner_removes_a_picture(bench: Any, viewer: Any) -> None:
    kept = photo()
    for client in (bench, viewer):
        refused(client.delete(f"{PHOTOS}{kept.pk}/"), 403)
    refused(upload(viewer, png()), 403)
    assert path_of(kept.content).exists()


def test_a_picture_that_is_not_kept_leaves_no_file(bench: Any) -> None:
    refused(upload(bench, png(), lot=999), 400)
    assert not Photo.objects.exists()
    assert not Path(settings.MEDIA_ROOT).exists()


# --- what it shows


@pytest.fixture
def shown(db: None) -> dict[str, int]:
    """One of each thing that a photo may show."""
    design = DesignFactory(positions={"R7": spec("resistor", "4k7")})
    board = BoardFactory(design=design)
    trial = Trial.objects.create(board=board, method="soak", verdict=Trial.Verdict.GOOD, by=PersonFactory())
    job = JobFactory()
    entry = BenchEntry.objects.create(job=job, text="look")
    seen = Confirmation.objects.create(board=board, item="inspection", right=True, stamp=0)
    return {
        "log_entry": entry.pk, "confirmation": seen.pk, "part": PartFactory().pk,
        "lot": stock().lot_id, "design": design.pk, "board": board.pk,
        "position": design.positions.get().pk, "job": job.pk, "trial": trial.pk,
    }  # fmt: skip


@pytest.mark.both_databases
def test_a_photo_shows_any_of_these(bench: Any, shown: dict[str, int]) -> None:
    assert shown.keys() == SUBJECTS.keys()
    assert shown.keys() >= {"lot", "board", "job", "position", "trial"}, "the contract"
    for name, pk in shown.items():
        made = upload(bench, png(), **{name: pk})
        assert made.status_code == 201, made.content
        answer = made.json()
        assert {other: answer[other] for other in SUBJECTS} == {**dict.fromkeys(SUBJECTS), name: pk}
        listed = bench.get(PHOTOS, {name: pk}).json()
        assert [each["id"] for each in listed["results"]] == [answer["id"]]


def test_a_photo_shows_one_thing_at_most_and_may_wait_to_be_named(bench: Any, shown: dict[str, int]) -> None:
    both = upload(bench, png(), lot=shown["lot"], board=shown["board"])
    assert "one thing" in refused(both, 400)["detail"]
    loose = upload(bench, png()).json()
    assert bench.get(PHOTOS, {"attached": "false"}).json()["count"] == 1
    address = f"{PHOTOS}{loose['id']}/"
    named = bench.patch(address, {"board": shown["board"], "ref": "R7", "note": "seen"}).json()
    assert (named["board"], named["ref"], named["note"]) == (shown["board"], "R7", "seen")
    moved = bench.patch(address, {"job": shown["job"]}).json()
    assert (moved["board"], moved["job"], moved["ref"]) == (None, shown["job"], "")
    freed = bench.patch(address, {"job": None}).json()
    assert freed["job"] is None
    assert bench.get(PHOTOS, {"attached": "true"}).json()["count"] == 0


def test_a_position_is_named_with_its_board_or_a_design_that_has_it(
    bench: Any, shown: dict[str, int]
) -> None:
    assert upload(bench, png(), design=shown["design"], ref="R7").json()["ref"] == "R7"
    assert bench.get(PHOTOS, {"design": shown["design"], "ref": "R7"}).json()["count"] == 1
    assert pointers(refused(upload(bench, png(), design=shown["design"], ref="R8"), 400)) == {"#/ref"}
    assert pointers(refused(upload(bench, png(), lot=shown["lot"], ref="R7"), 400)) == {"#/ref"}
    assert pointers(refused(upload(bench, png(), ref="R7"), 400)) == {"#/ref"}
    assert pointers(refused(upload(bench, png(), board=shown["board"], ref="the top"), 400)) == {"#/ref"}


def test_the_whole_of_a_side_is_of_a_design_alone(bench: Any, shown: dict[str, int]) -> None:
    made = upload(bench, png(), design=shown["design"], side="top").json()
    assert made["side"] == "top"
    assert pointers(refused(upload(bench, png(), board=shown["board"], side="top"), 400)) == {"#/side"}
    both = upload(bench, png(), design=shown["design"], ref="R7", side="top")
    assert pointers(refused(both, 400)) == {"#/side"}
    assert pointers(refused(upload(bench, png(), design=shown["design"], side="edge"), 400)) == {"#/side"}
    moved = bench.patch(f"{PHOTOS}{made['id']}/", {"lot": shown["lot"]}).json()
    assert (moved["lot"], moved["side"]) == (shown["lot"], "")


@pytest.mark.both_databases
@pytest.mark.parametrize("columns", [{"subject": "lot"}, {"subject_id": 5}, {"ref": "R7"}])
def test_the_database_refuses_half_a_subject(db: None, columns: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Photo.objects.create(content="0" * 64, width=1, height=1, size=1, **columns)


# --- refusals


def test_what_is_no_picture_is_415_whatever_its_name(bench: Any) -> None:
    for data in (
        b"",
        b"%PDF-1.7",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + b"\x00" * 40,
        b"BM" * 40,
    ):
        assert refused(upload(bench, data), 415)["code"] == "not_a_picture"
    refused(bench.post(PHOTOS, {"file": "x"}), 415)


def test_a_picture_that_breaks_off_is_422(bench: Any) -> None:
    whole = png(Image.effect_noise((120, 90), 60), "JPEG")
    assert refused(upload(bench, whole[: len(whole) // 2]), 422)["code"] == "damaged"


def test_a_picture_beyond_the_limits_is_413(
    bench: Any, monkeypatch: pytest.MonkeyPatch, settings: Any
) -> None:
    monkeypatch.setattr(taking_in, "MAX_PIXELS_UNCODED", 1000)
    assert refused(upload(bench, png()), 413)["code"] == "too_large"
    settings.UPLOAD_BYTES = 100
    assert refused(upload(bench, png()), 413)["most"] == 100


def test_an_upload_without_a_file_or_with_unknown_members_says_so(bench: Any) -> None:
    assert pointers(refused(bench.post(PHOTOS, {"note": "x"}, format="multipart"), 400)) == {"#/file"}
    assert pointers(refused(upload(bench, png(), colour="red"), 400)) == {"#/colour"}
    assert pointers(refused(upload(bench, png(), lot="x"), 400)) == {"#/lot"}
    assert pointers(refused(upload(bench, png(), note="x" * 401), 400)) == {"#/note"}
    assert pointers(refused(bench.get(PHOTOS, {"drawer": "5"}), 400)) == {"#/drawer"}
    broken = bench.post(PHOTOS, b"--x\r\nnonsense", content_type="multipart/form-data; boundary=x")
    assert refused(broken, 400)


@pytest.mark.parametrize("called", ["file", "image", "photo", "picture"])
def test_the_part_of_the_upload_may_be_called_what_it_is(bench: Any, called: str) -> None:
    assert upload(bench, png(), called=called).status_code == 201


@pytest.mark.both_databases
def test_a_picture_sent_twice_under_one_key_is_kept_once(bench: Any) -> None:
    first, second = (upload(bench, png(), note="x", key="p1") for _ in range(2))
    assert first.status_code == second.status_code == 201
    assert first.json() == second.json()
    assert first.headers["Location"] == second.headers["Location"]
    assert Photo.objects.count() == 1
    other = png(Image.new("RGB", (64, 40), "blue"))
    assert refused(upload(bench, other, note="x", key="p1"), 422)["code"] == "key_reused"
    assert Photo.objects.count() == 1


def test_a_change_honours_the_version_that_was_read(bench: Any) -> None:
    kept = photo()
    address = f"{PHOTOS}{kept.pk}/"
    tag = bench.get(address).headers["ETag"]
    assert bench.patch(address, {"note": "one"}, headers={"If-Match": tag}).status_code == 200
    refused(bench.patch(address, {"note": "two"}, headers={"If-Match": tag}), 412)
    assert Photo.objects.get().note == "one"


def test_a_list_takes_the_same_few_queries_whatever_it_shows(bench: Any, shown: dict[str, int]) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert bench.get(PHOTOS, {"q": "board", "lot": shown["lot"]}).status_code == 200
        return len(caught)

    photo(subject="lot", subject_id=shown["lot"], note="board", by=bench.person)
    few = queries()
    for _ in range(8):
        photo(subject="lot", subject_id=shown["lot"], note="board", by=bench.person)
    assert queries() == few
    assert bench.get(PHOTOS).json()["count"] == 9


def test_a_picture_whose_file_somebody_took_away_is_not_there(bench: Any) -> None:
    kept = photo()
    path_of(kept.content).unlink()
    for inner in ("image", "enlarge.png"):
        assert "missing" in refused(bench.get(f"{PHOTOS}{kept.pk}/{inner}"), 404)["detail"]


def test_a_browser_may_keep_a_picture_and_nothing_else(bench: Any) -> None:
    kept = photo()
    assert bench.get(f"{PHOTOS}{kept.pk}/image").headers["Cache-Control"].startswith("private, max-age")
    assert bench.get(f"{PHOTOS}{kept.pk}/").headers["Cache-Control"] == "private, no-store"


def test_what_pages_show_is_made_once_and_goes_with_the_picture(
    bench: Any, owner: Any, django_capture_on_commit_callbacks: Any
) -> None:
    kept = photo(Image.effect_noise((1600, 1200), 60))
    whole = path_of(kept.content)
    address = f"{PHOTOS}{kept.pk}/image"
    assert bench.get(address, {"longest": 500, "kilobytes": 50}).status_code == 200
    assert [*whole.parent.iterdir()] == [whole], "a size that no page shows is not kept"
    for longest, kilobytes in SIZES.values():
        asked = {"longest": longest, "kilobytes": kilobytes}
        first = bench.get(address, asked).content
        made = whole.with_name(f"{kept.content}.{longest}-{kilobytes}.jpg")
        assert made.read_bytes() == first
        made.write_bytes(b"as it was kept")
        assert bench.get(address, asked).content == b"as it was kept"
    with django_capture_on_commit_callbacks(execute=True):
        assert owner.delete(f"{PHOTOS}{kept.pk}/").status_code == 204
    assert [*whole.parent.iterdir()] == []
