"""Data sheets on the pages of a part's pieces and of a design."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.models import Attachment
from tests.factories import DesignFactory, attachment, stock

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings: Any, tmp_path: Path) -> None:
    settings.HOME = tmp_path


def test_a_data_sheet_is_kept_with_the_part_of_a_lot_and_saved_from_there(sign_in: Any) -> None:
    bench, lot = sign_in("bench"), stock(3).lot
    page = f"/lots/{lot.pk}/"
    sheet = SimpleUploadedFile("bc547.pdf", b"%PDF-1.4\n%%EOF\n")
    sent = {"file": sheet, "with": "part", "with_id": lot.part_id, "next": page}
    answer = bench.post("/attachments/new/", sent, follow=True)
    assert "bc547.pdf is kept." in answer.content.decode()
    row = Attachment.objects.get()
    got = sign_in("viewer").get(f"/attachments/{row.pk}/")
    assert got.headers["Content-Disposition"] == 'attachment; filename="bc547.pdf"'
    assert got.headers["X-Content-Type-Options"] == "nosniff"


def test_taking_it_off_and_another_name_are_undone_by_one_press(sign_in: Any) -> None:
    bench, design = sign_in("bench"), DesignFactory()
    row = attachment(to=design)
    page, change = f"/designs/{design.pk}/", f"/attachments/{row.pk}/change/"
    for form in ({"name": "links"}, {"take_off": "1"}):
        before = (row.name, row.design_id)
        bench.post(change, {**form, "next": page})
        row.refresh_from_db()
        assert (row.name, row.design_id) != before
        undo = bench.session["last"]["put_back"]
        bench.post(undo["address"], {**undo["form"], "next": page})
        row.refresh_from_db()
        assert (row.name, row.design_id) == before


def test_what_is_not_kept_is_said_where_the_person_was(sign_in: Any) -> None:
    bench, lot = sign_in("bench"), stock(3).lot
    sent = {"with": "part", "with_id": lot.part_id, "next": f"/lots/{lot.pk}/"}
    assert "Choose a file" in bench.post("/attachments/new/", sent, follow=True).content.decode()
    wrong = {**sent, "file": SimpleUploadedFile("x.pdf", b"\x7fELF\0")}
    assert "not a PDF" in bench.post("/attachments/new/", wrong, follow=True).content.decode()
    assert bench.post("/attachments/new/", {**sent, "with": "job"}).status_code == 404
    assert sign_in("viewer").post("/attachments/new/", sent).status_code == 403
    assert not Attachment.objects.exists()
