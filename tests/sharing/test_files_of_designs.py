"""Data sheets and files go with a design where they are ticked, and come in as they went out."""

import io
import json
import zipfile
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import transaction
from PIL import Image

from inventory import attachments
from inventory.models import Attachment, Design, Photo
from inventory.pictures import photos
from inventory.pictures.taking_in import take_in
from inventory.refusals import Refused
from repairs import design_files
from repairs.design_files import archive, keeping
from repairs.friends.files import BadFile
from tests.factories import BoardFactory, DesignFactory, attachment, photo, png, spec

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n1 0 obj <</JS (app.alert(1))>> endobj\n%%EOF\n"
TEXT = b"8000 to 9FFF: the ROM <script>alert(1)</script>\n"


@pytest.fixture
def plover() -> Design:
    design: Design = DesignFactory(name="Plover", revision="B", positions={"R1": spec()})
    attachment(PDF, "sheet.pdf", to=design)
    attachment(TEXT, "map.txt", to=design)
    return design


def bytes_of(design: Design) -> dict[str, bytes]:
    return {each.name: attachments.file_of(each).read_bytes() for each in attachments.of(design)}


def with_all(design: Design) -> bytes:
    return design_files.file_of(design, files=list(attachments.of(design)))


def emptied() -> None:
    for row in Attachment.objects.all():
        attachments.remove(row)
    Design.objects.all().delete()


def zipped(*files: tuple[str, str, bytes]) -> bytes:
    """A file whose entries of files say (SHA-256, name) and hold these bytes."""
    named = [{"sha256": content, "name": name} for content, name, _data in files]
    document = {"format": "rehome-design", "version": 1, "name": "Dunlin", "files": named}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("design.json", json.dumps(document))
        for content, _name, data in {each[0]: each for each in files}.values():
            made.writestr(f"files/{content}", data)
    return out.getvalue()


def digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def test_only_what_is_ticked_goes_and_all_of_it_comes_back_byte_for_byte(plover: Design) -> None:
    assert design_files.read(design_files.file_of(plover)).files == {}
    file = with_all(plover)
    names = set(zipfile.ZipFile(io.BytesIO(file)).namelist())
    assert names == {"design.json", "signature.json", f"files/{digest(PDF)}", f"files/{digest(TEXT)}"}
    emptied()
    taken, _merged = design_files.import_design(design_files.read(file), None, by=None)
    design = taken.design
    assert bytes_of(design) == {"sheet.pdf": PDF, "map.txt": TEXT}
    assert with_all(design) == file
    design_files.undo(taken)
    assert not Design.objects.exists()
    assert not Attachment.objects.exists()


def test_two_files_with_the_same_pictures_in_another_order_hold_them_in_one_order(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """On PostgreSQL each would else wait for the other."""
    taken = [take_in(png(Image.new("RGB", (60, 40), colour))) for colour in ("red", "green", "blue")]
    files = {}
    for name, pictures in (("Plover", taken), ("Dunlin", taken[::-1])):
        design = DesignFactory(name=name, revision="B", positions={"R1": spec()})
        for ref, picture in zip(("R1", "R2", "R3"), pictures, strict=True):
            photos.keep(picture, subject="design", subject_id=design.pk, ref=ref)
        files[name] = design_files.file_of(design)
        design.delete()
    for name, file in files.items():
        held: list[str] = []
        for module in (keeping, photos, attachments):
            monkeypatch.setattr(module, "hold", held.append, raising=False)
        design_files.import_design(design_files.read(file), None, by=None)
        order = list(dict.fromkeys(held))
        assert len(order) == 3
        assert order == sorted(order), name


def test_an_undoing_that_is_rolled_back_leaves_every_file(
    plover: Design, django_capture_on_commit_callbacks: Any
) -> None:
    shown = photo(subject="design", subject_id=plover.pk)
    file = with_all(plover)
    photos.remove(shown)
    emptied()
    taken, _merged = design_files.import_design(design_files.read(file), None, by=None)
    kept = [photos.path_of(each.content) for each in Photo.objects.all()]
    kept += [attachments.path_of(each.content) for each in Attachment.objects.all()]
    assert len(kept) == 3

    def undo_and_fail() -> None:
        with transaction.atomic():
            design_files.undo(taken)
            raise OSError("the disk is full")

    with django_capture_on_commit_callbacks(execute=True), pytest.raises(OSError, match="full"):
        undo_and_fail()
    assert Photo.objects.count() == 1
    assert [each for each in kept if not each.exists()] == []
    with django_capture_on_commit_callbacks(execute=True):
        design_files.undo(taken)
    assert [each for each in kept if each.exists()] == []


def test_what_is_there_already_is_not_brought_twice_and_undoing_leaves_ones_own(plover: Design) -> None:
    file = with_all(plover)
    sheet = Attachment.objects.get(name="sheet.pdf")
    attachments.remove(Attachment.objects.get(name="map.txt"))
    attachments.rename(sheet, "my sheet.pdf")
    attachment(b"mine\n", "mine.txt", to=plover)
    taken, merged = design_files.import_design(design_files.read(file), plover, by=None)
    states = {line.mine or line.theirs: line.state for line in merged.lines if line.key.startswith("files/")}
    assert states == {"my sheet.pdf": "same", "map.txt": "new", "mine.txt": "only_mine"}
    assert set(bytes_of(plover)) == {"my sheet.pdf", "map.txt", "mine.txt"}
    design_files.undo(taken)
    assert set(bytes_of(plover)) == {"my sheet.pdf", "mine.txt"}
    key = next(line.key for line in merged.lines if line.theirs == "map.txt")
    design_files.import_design(design_files.read(file), plover, choices={key: "mine"}, by=None)
    assert set(bytes_of(plover)) == {"my sheet.pdf", "mine.txt"}, "a line that is not wanted is not taken"


def test_a_new_design_with_a_file_of_ones_own_is_not_undone(plover: Design) -> None:
    file = with_all(plover)
    emptied()
    taken, _merged = design_files.import_design(design_files.read(file), None, by=None)
    attachment(b"mine\n", "mine.txt", to=taken.design)
    with pytest.raises(Refused, match="mine.txt is kept with it") as refused:
        design_files.undo(taken)
    assert refused.value.code == "in_use"
    assert len(bytes_of(taken.design)) == 3, "nothing of it went"


@pytest.mark.parametrize(
    ("file", "code", "status"),
    [
        (zipped((digest(PDF), "a.pdf", PDF + b" ")), "damaged", 422),
        (zipped((digest(b"MZ\0\0"), "a.pdf", b"MZ\0\0")), "another_kind_of_file", 415),
        (zipped((digest(PDF[:20]), "a.pdf", PDF[:20])), "damaged", 422),
        (zipped((digest(PDF), "", PDF)), "unreadable", 422),
        (zipped(("../../etc/passwd", "a.pdf", PDF)), "unknown", 422),
        (zipped((digest(PDF), "a.pdf", PDF), (digest(PDF), "b.pdf", PDF)), "unreadable", 422),
        (zipped(*((digest(bytes([each])), "a", b"a") for each in range(21))), "unreadable", 422),
    ],
    ids=["another", "program", "broken off", "no name", "path", "twice", "too many"],
)
def test_what_is_amiss_is_refused_and_nothing_comes_in(
    bench: Any, file: bytes, code: str, status: int
) -> None:
    with pytest.raises(BadFile) as refused:
        design_files.read(file)
    assert (refused.value.code, refused.value.status) == (code, status)
    sent = {"file": SimpleUploadedFile("d.zip", file)}
    assert bench.post("/api/v1/designs/file/", sent, format="multipart").status_code == status
    assert not Design.objects.exists()
    assert not Attachment.objects.exists()


def test_a_hostile_name_is_a_plain_name_here() -> None:
    name = "..\\..\\<b>x:fdp.exe"
    file = zipped((digest(PDF), name, PDF))
    taken, _merged = design_files.import_design(design_files.read(file), None, by=None)
    [kept] = bytes_of(taken.design)
    assert kept.endswith(".pdf")
    assert not set(kept) & set("<>\\/:")


def test_more_than_is_taken_elsewhere_does_not_go(plover: Design, monkeypatch: Any) -> None:
    monkeypatch.setattr(archive, "MAX_FILE", archive.MAX_BYTES + 100)
    with pytest.raises(Refused, match="leave some out") as refused:
        with_all(plover)
    assert refused.value.code == "too_large"


def test_over_the_api(plover: Design, bench: Any, viewer: Any) -> None:
    at = f"/api/v1/designs/{plover.pk}/file/"
    assert viewer.get(at, {"attachment": "map.txt"}).status_code == 200
    sheet = Attachment.objects.get(name="sheet.pdf")
    file = viewer.get(f"{at}?attachment=map.txt&attachment={sheet.pk}").content
    assert len(design_files.read(file).files) == 2
    elsewhere = attachment(b"x\n", "other.txt", to=DesignFactory(name="Dunlin"))
    wrong = viewer.get(at, {"attachment": elsewhere.pk})
    assert (wrong.status_code, wrong.json()["errors"][0]["code"]) == (400, "does_not_exist")
    assert "map.txt" in wrong.json()["errors"][0]["detail"]
    emptied()
    sent = {"file": SimpleUploadedFile("d.zip", file)}
    told = bench.post("/api/v1/designs/file/", sent, format="multipart").json()
    assert {line["theirs"] for line in told["lines"] if line["key"].startswith("files/")} == {
        "sheet.pdf", "map.txt",
    }  # fmt: skip
    assert bench.post(f"/api/v1/designs/file/{told['taken']}/undo/").status_code == 204
    assert not Attachment.objects.exists()


def test_on_pages_and_by_command(plover: Design, sign_in: Any, tmp_path: Path, capsys: Any) -> None:
    client = sign_in("bench")
    page = client.get(f"/designs/{plover.pk}/").content.decode()
    assert "Data sheets and files that go with it" in page
    file = tmp_path / "d.zip"
    with pytest.raises(CommandError, match="it has "):
        call_command("design", "export", "Plover B", str(file), "--attachment", "nothing.pdf")
    call_command("design", "export", "Plover B", str(file), "--attachment", "map.txt")
    emptied()
    sent = {"file": SimpleUploadedFile("d.zip", file.read_bytes())}
    shown = client.post("/designs/bring/", sent)
    assert "map.txt" in shown.content.decode()
    client.post("/designs/bring/", {"kept": shown.context["kept"].word, "keep": "1"})
    [design] = Design.objects.all()
    row = attachments.of(design).get()
    answer = client.get(f"/attachments/{row.pk}/")
    assert b"".join(answer.streaming_content if answer.streaming else [answer.content]) == TEXT
    assert answer["Content-Disposition"].startswith("attachment"), "saved, never shown inside a page"


def test_a_design_without_files_is_taken_away_as_before(sign_in: Any) -> None:
    board = BoardFactory(design=DesignFactory(name="Plover"))
    page = sign_in("viewer").get(f"/designs/{board.design_id}/").content.decode()
    assert "Take it away in one file" in page
    assert "that go with it" not in page


def test_a_new_design_that_another_adds_at_the_same_moment_is_said_to_be_there(
    plover: Design, bench: Any, sign_in: Any, monkeypatch: Any
) -> None:
    file = design_files.file_of(plover)
    monkeypatch.setattr(design_files, "named_as", lambda document: None)  # as it was a moment ago
    sent = {"file": SimpleUploadedFile("d.zip", file)}
    refused = bench.post("/api/v1/designs/file/", sent, format="multipart")
    assert (refused.status_code, refused.json()["code"]) == (409, "taken")
    client = sign_in("bench")
    shown = client.post("/designs/bring/", {"file": SimpleUploadedFile("d.zip", file)})
    kept = {"kept": shown.context["kept"].word, "keep": "1"}
    assert (
        "Plover B was added meanwhile" in client.post("/designs/bring/", kept, follow=True).content.decode()
    )


@pytest.mark.both_databases
def test_the_same_design_is_the_same_bytes_in_whatever_order_its_members_are_kept(plover: Design) -> None:
    rail = {"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25"}
    Design.objects.filter(pk=plover.pk).update(rails=[rail])
    plover.refresh_from_db()
    file = design_files.file_of(plover)
    emptied()
    backwards = dict(reversed(rail.items()))
    taken, _merged = design_files.import_design(design_files.read(file), None, by=None)
    Design.objects.filter(pk=taken.design_id).update(rails=[backwards])
    assert design_files.file_of(Design.objects.get()) == file


def test_of_two_files_of_one_name_the_number_says_which(plover: Design, viewer: Any) -> None:
    second = attachment(PDF + b"\n", "sheet.pdf", to=plover)
    at = f"/api/v1/designs/{plover.pk}/file/"
    refused = viewer.get(at, {"attachment": "sheet.pdf"})
    [problem] = refused.json()["errors"]
    assert (refused.status_code, problem["code"]) == (400, "ambiguous")
    assert str(second.pk) in problem["detail"]
    assert set(design_files.read(viewer.get(at, {"attachment": second.pk}).content).files) == {second.content}


def test_a_file_is_looked_at_before_everybody_else_must_wait(plover: Design, monkeypatch: Any) -> None:
    """Pixels of pictures are unpacked for it, for seconds; on SQLite whoever writes waits meanwhile."""
    opened = design_files.read(with_all(plover))
    emptied()
    monkeypatch.setattr(attachments, "type_of", lambda data: pytest.fail("looked at within the transaction"))
    taken, _merged = design_files.import_design(opened, None, by=None)
    assert {each.type for each in attachments.of(taken.design)} == {"application/pdf", "text/plain"}
