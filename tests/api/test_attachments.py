"""`attachments/`: a data sheet goes in, and comes out byte for byte as something to save, never to run."""

import io
from collections.abc import Callable
from email.message import Message
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from inventory import attachments
from inventory.models import Attachment
from tests.api.test_problems import refused
from tests.factories import DesignFactory, PartFactory, attachment, png

ATTACHMENTS = "/api/v1/attachments/"
# ISO 32000-1, 7.5.2 and 7.5.5: the header `%PDF-1.n` first, the marker `%%EOF` last.
PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog/OpenAction<</S/JavaScript/JS(app.alert\\(1\\))>>>>endobj\n%%EOF\n"


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Path) -> None:
    settings.HOME = tmp_path


def upload(client: Any, data: bytes, name: str = "sheet.pdf", **given: Any) -> Any:
    file = SimpleUploadedFile(name, data, "text/html")
    return client.post(ATTACHMENTS, {"file": file, **given}, format="multipart")


def files() -> list[Path]:
    return [path for path in (Path(settings.HOME) / "attachments").rglob("*") if path.is_file()]


def test_a_data_sheet_comes_back_byte_for_byte_to_be_saved(bench: Any, viewer: Any) -> None:
    part = PartFactory()
    made = upload(bench, PDF, "BC547 – Datenblatt.pdf", part=part.pk)
    assert made.status_code == 201
    row = made.json()
    assert (row["type"], row["size"]) == ("application/pdf", len(PDF))
    assert (row["part"], row["design"]) == (part.pk, None)
    assert row["sha256"] == sha256(PDF).hexdigest()
    got = viewer.get(row["download"])
    assert got.content == PDF
    assert got.headers["Content-Type"] == "application/pdf"
    assert got.headers["X-Content-Type-Options"] == "nosniff"
    assert got.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    # Read by a parser that is not ours; RFC 6266: `attachment` is saved, not shown.
    header = Message()
    header["Content-Disposition"] = got.headers["Content-Disposition"]
    assert header.get_content_disposition() == "attachment"
    assert header.get_filename() == "BC547 – Datenblatt.pdf"
    listed = viewer.get(f"{ATTACHMENTS}?part={part.pk}").json()["results"]
    assert [each["id"] for each in listed] == [row["id"]]


# What begins a file of each kind: ISO 32000-1 (PDF), ISO 10918-1 (JPEG), RFC 2083 (PNG), RFC 9649 (WebP).
KINDS: dict[str, tuple[Callable[[], bytes], str, str]] = {
    "pdf called html": (lambda: PDF, "application/pdf", "sheet.html.pdf"),
    "png called html": (lambda: png(), "image/png", "sheet.html.png"),
    "jpeg": (lambda: png(form="JPEG"), "image/jpeg", "sheet.html.jpg"),
    "webp": (lambda: png(form="WEBP"), "image/webp", "sheet.html.webp"),
    "text": (lambda: "Pin 1: Ω\n".encode(), "text/plain", "sheet.html.txt"),
    "a page": (lambda: b"<html><script>alert(1)</script>", "text/plain", "sheet.html.txt"),
    "a drawing with a script": (lambda: b"<svg onload='alert(1)'/>", "text/plain", "sheet.html.txt"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_file_is_goes_by_its_content_and_its_name_says_so(bench: Any, kind: str) -> None:
    make, media_type, name = KINDS[kind]
    row = upload(bench, make(), "sheet.html", design=DesignFactory().pk).json()
    assert (row["type"], row["name"]) == (media_type, name)
    got = bench.get(row["download"])
    assert got.headers["Content-Type"].partition(";")[0] == media_type
    assert got.headers["Content-Disposition"].startswith("attachment;")


REFUSED: dict[str, tuple[Callable[[], bytes], int, str]] = {
    "a program": (lambda: b"\x7fELF\x02\x01\x01\x00", 415, "another_kind_of_file"),
    "an archive": (lambda: b"PK\x03\x04\x14\x00\x00\x00", 415, "another_kind_of_file"),
    "a moving picture of another kind": (lambda: b"GIF89a\x01\x00\x01\x00\x00", 415, "another_kind_of_file"),
    "text of another encoding": (lambda: "Größe".encode("latin-1"), 415, "another_kind_of_file"),
    "nothing": (lambda: b"", 415, "another_kind_of_file"),
    "half a PDF": (lambda: PDF[:40], 422, "damaged"),
    "half a picture": (lambda: png(Image.effect_noise((64, 64), 90))[:200], 422, "damaged"),
    "too large": (lambda: b"%PDF-1.4" + b" " * attachments.MAX_BYTES, 413, "too_large"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_is_not_kept_is_said_and_leaves_nothing(bench: Any, kind: str) -> None:
    make, status, code = REFUSED[kind]
    assert refused(upload(bench, make(), part=PartFactory().pk), status)["code"] == code
    assert not Attachment.objects.exists()
    assert not files()


@pytest.mark.parametrize(
    ("asked", "kept"),
    [
        ("../../etc/passwd", "passwd.pdf"),
        ("C:\\Windows\\system.ini", "system.ini.pdf"),
        ("a\r\nSet-Cookie: x.pdf", "a Set-Cookie  x.pdf"),
        ("sheet\u202efdp.exe", "sheet fdp.exe.pdf"),
        (" .. ", "file.pdf"),
        ("x" * 300 + ".pdf", "x" * 116 + ".pdf"),
        ("Scan.PDF", "Scan.PDF"),
    ],
)
def test_a_name_is_one_that_any_system_can_save(bench: Any, asked: str, kept: str) -> None:
    row = upload(bench, PDF, part=PartFactory().pk).json()
    answer = bench.patch(f"{ATTACHMENTS}{row['id']}/", {"name": asked})
    assert answer.json()["name"] == kept
    assert len(kept) <= attachments.MAX_NAME
    assert "\n" not in bench.get(row["download"]).headers["Content-Disposition"]


def test_it_is_with_one_thing_and_once(bench: Any) -> None:
    part, design = PartFactory(), DesignFactory()
    refused(upload(bench, PDF), 400)
    refused(upload(bench, PDF, part=part.pk, design=design.pk), 400)
    first = upload(bench, PDF, part=part.pk).json()
    again = refused(upload(bench, PDF, "other name.pdf", part=part.pk), 409)
    assert (again["code"], again["attachment"]) == ("taken", first["id"])
    assert upload(bench, PDF, design=design.pk).status_code == 201, "the same file with something else"
    assert len(files()) == 1


def test_so_many_are_kept_with_one_part(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(attachments, "MAX_EACH", 2)
    part = PartFactory()
    for at in range(2):
        assert upload(bench, f"note {at}".encode(), part=part.pk).status_code == 201
    assert refused(upload(bench, b"note 3", part=part.pk), 409)["code"] == "too_many"


def test_what_is_taken_off_is_kept_and_put_back(
    bench: Any, owner: Any, django_capture_on_commit_callbacks: Any
) -> None:
    row = attachment()
    address = f"{ATTACHMENTS}{row.pk}/"
    off = bench.patch(address, {"part": None}, headers={"If-Match": '"1"'}).json()
    assert (off["part"], off["version"]) == (None, 2)
    assert bench.get(f"{ATTACHMENTS}?attached=false").json()["count"] == 1
    assert bench.get(off["download"]).status_code == 200
    refused(bench.patch(address, {"part": row.part_id}, headers={"If-Match": '"1"'}), 412)
    assert bench.patch(address, {"part": row.part_id}).json()["part"] == row.part_id
    refused(bench.delete(address), 403)
    with django_capture_on_commit_callbacks(execute=True):
        assert owner.delete(address).status_code == 204
    assert not files()


def test_the_file_goes_with_the_last_row_that_has_it(
    owner: Any, django_capture_on_commit_callbacks: Any
) -> None:
    one, other = attachment(), attachment(to=DesignFactory())
    with django_capture_on_commit_callbacks(execute=True):
        owner.delete(f"{ATTACHMENTS}{one.pk}/")
    assert owner.get(f"{ATTACHMENTS}{other.pk}/file").status_code == 200
    with django_capture_on_commit_callbacks(execute=True):
        owner.delete(f"{ATTACHMENTS}{other.pk}/")
    assert not files()


def test_a_design_with_files_is_not_removed_under_them(owner: Any) -> None:
    design = DesignFactory()
    attachment(to=design)
    assert refused(owner.delete(f"/api/v1/designs/{design.pk}/"), 409)["code"] == "in_use"


def test_a_file_that_somebody_removed_from_the_folder_is_missed(bench: Any) -> None:
    row = attachment()
    attachments.path_of(row.content).unlink()
    assert "missing" in refused(bench.get(f"{ATTACHMENTS}{row.pk}/file"), 404)["detail"]


def test_a_picture_keeps_its_bytes(bench: Any) -> None:
    """A scan of a data sheet is not made smaller, as pictures of parts are."""
    sent = png(Image.new("RGB", (30, 20), "white"))
    row = upload(bench, sent, "scan.png", part=PartFactory().pk).json()
    assert Image.open(io.BytesIO(bench.get(row["download"]).content)).format == "PNG"
    assert bench.get(row["download"]).content == sent
