"""One file of a design comes in twice at the same moment, in real processes: one whole design, no ghost."""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from inventory import attachments
from inventory.keys import make_key
from inventory.models import Attachment, Design, Photo
from inventory.pictures import photos
from inventory.roles import give_role
from repairs import design_files
from repairs.sharing_models import DesignRecord, DesignTaken
from tests.factories import DesignFactory, PersonFactory, attachment, photo, spec
from tests.races.test_races import race

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]

AT = "/api/v1/designs/file/"


@pytest.fixture
def token(settings: Any) -> str:
    person = PersonFactory()
    give_role(person, "bench")
    return make_key(person, "test")[1]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A design with a picture and a data sheet, as it goes out; nothing of it is left here."""
    there = {f"R{number}": spec("resistor", f"{number}k") for number in range(1, 41)}
    design = DesignFactory(name="Plover", revision="B", positions=there)
    sheet, shown = attachment(to=design), photo(subject="design", subject_id=design.pk)
    made = tmp_path / "plover.zip"
    made.write_bytes(design_files.file_of(design, files=[sheet]))
    attachments.remove(sheet)
    photos.remove(shown)
    design.delete()
    return made


def imports(token: str, file: Path, *keys: str) -> list[tuple[int, dict[str, Any]]]:
    answers = race(*(("import_file", token, AT, str(file), key) for key in keys))
    return [(int(answer[:3]), json.loads(answer[4:])) for answer in answers]


def whole() -> Design:
    """The one design that is there, with all that the file has, once."""
    design = Design.objects.get()
    assert design.positions.count() == 40
    [shown], [sheet] = Photo.objects.all(), Attachment.objects.all()
    assert (shown.subject, shown.subject_id, sheet.design) == ("design", design.pk, design)
    assert photos.path_of(shown.content).exists()
    assert attachments.file_of(sheet).exists()
    return design


def test_two_at_once_make_one_whole_design(token: str, file: Path) -> None:
    answers = imports(token, file, "", "")
    assert Counter(status for status, _body in answers) <= Counter({200: 2, 409: 1})
    assert {body["code"] for status, body in answers if status == 409} <= {"taken"}
    design = whole()
    taken = DesignTaken.objects.filter(design=design)
    assert sorted(taken.values_list("new", flat=True)) in ([True], [False, True])
    for each in taken.order_by("-id"):
        design_files.undo(each)
    assert not Design.objects.exists()
    assert not Photo.objects.exists()
    assert not Attachment.objects.exists()


def test_the_same_upload_sent_twice_with_one_key_is_one(token: str, file: Path) -> None:
    answers = imports(token, file, "one press", "one press")
    assert [status for status, _body in answers] == [200, 200]
    assert answers[0][1] == answers[1][1]
    whole()
    assert DesignTaken.objects.get().new


def test_two_at_once_into_the_design_that_is_there_bring_what_is_new_once(token: str, file: Path) -> None:
    DesignFactory(name="Plover", revision="B", positions={"R1": spec("resistor", "1k")})
    answers = imports(token, file, "", "")
    assert [status for status, _body in answers] == [200, 200]
    whole()
    assert DesignTaken.objects.filter(new=False).count() == 2
    assert not DesignRecord.objects.exists()
