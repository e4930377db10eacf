"""A design that came in a file is not taken out again with what was done here since."""

import io
import json
import zipfile
from hashlib import sha256
from typing import Any

import pytest

from inventory.models import Design, Photo
from inventory.refusals import Refused
from repairs import design_files
from repairs.friends.files import BadFile
from repairs.proving_models import Substitution
from repairs.sharing_models import DesignTaken
from tests.factories import BoardFactory, SubstitutionFactory, photo, png, spec

pytestmark = pytest.mark.django_db

TOP = png(form="JPEG")


def zipped(*pictures: dict[str, str]) -> bytes:
    document = {"format": "rehome-design", "version": 1, "name": "Dunlin", "pictures": pictures}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("design.json", json.dumps(document))
        for name in {each["file"] for each in pictures}:
            made.writestr(f"pictures/{name}", TOP)
    return out.getvalue()


def top(**otherwise: str) -> dict[str, str]:
    digest = sha256(TOP).hexdigest()
    return {"file": f"{digest[:16]}.jpg", "sha256": digest, "side": "top", **otherwise}


def imported(*pictures: dict[str, str]) -> DesignTaken:
    return design_files.import_design(design_files.read(zipped(*pictures)), None, by=None)[0]


def test_a_picture_that_shows_something_else_by_now_stays(bench: Any) -> None:
    taken, board = imported(top()), BoardFactory()
    picture = Photo.objects.get()
    moved = bench.patch(f"/api/v1/photos/{picture.pk}/", {"board": board.pk})
    assert moved.status_code == 200, moved.content
    design_files.undo(taken)
    assert not Design.objects.exists()
    picture.refresh_from_db()
    assert (picture.subject, picture.subject_id) == ("board", board.pk)
    assert bench.get(moved.json()["image"]).status_code == 200


def test_a_new_design_with_a_picture_of_ones_own_is_not_undone() -> None:
    taken = imported(top())
    own = photo(subject="design", subject_id=taken.design_id)
    with pytest.raises(
        Refused, match=f"photo {own.pk} of design {taken.design_id} was added here"
    ) as refused:
        design_files.undo(taken)
    assert refused.value.code == "in_use"
    assert Photo.objects.count() == 2, "nothing of it went"


def test_a_new_design_with_a_substitution_is_not_undone() -> None:
    taken = imported()
    SubstitutionFactory(of=spec(number=None), by_part=spec(value="5k6"), design=taken.design, ref="")
    with pytest.raises(Refused, match="a substitution is recorded for it") as refused:
        design_files.undo(taken)
    assert refused.value.code == "in_use"
    assert Substitution.objects.get().design == taken.design


def test_a_picture_that_is_named_twice_is_what_it_is_named_both_times() -> None:
    design_files.read(zipped(top(), top(side="bottom")))
    with pytest.raises(BadFile, match="its SHA-256 differs") as refused:
        design_files.read(zipped(top(), top(side="bottom", sha256="1" * 64)))
    assert refused.value.code == "damaged"
