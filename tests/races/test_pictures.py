"""A picture is removed at the moment in which the very same picture comes in again."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.db import connections

from inventory.models import Photo
from inventory.pictures import photos
from inventory.pictures.taking_in import take_in
from tests.factories import photo, png

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]

PAUSE = 0.4


@pytest.fixture(autouse=True)
def _own_pictures(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "pictures"


class Slowly:
    """Finding the file takes the one who removes it a while: time enough for somebody else."""

    def __init__(self) -> None:
        self.path_of, self.removing, self.about_to = (
            photos.path_of,
            threading.current_thread(),
            threading.Event(),
        )

    def __call__(self, content: str) -> Path:
        if threading.current_thread() is self.removing:
            self.about_to.set()
            time.sleep(PAUSE)
        return self.path_of(content)


def remove_carelessly(kept: Photo) -> None:
    """The control: no transaction, no lock."""
    content = kept.content
    kept.delete()
    if not Photo.objects.filter(content=content).exists():
        photos.path_of(content).unlink(missing_ok=True)


def kept_again_while(removal: Callable[[Photo], None], monkeypatch: pytest.MonkeyPatch) -> Photo:
    kept, slowly = photo(), Slowly()
    monkeypatch.setattr(photos, "path_of", slowly)

    def keep() -> None:
        slowly.about_to.wait(5)
        photos.keep(take_in(png()))
        connections.close_all()

    other = threading.Thread(target=keep)
    other.start()
    removal(kept)
    other.join(20)
    monkeypatch.undo()
    return Photo.objects.get()


def test_control_without_a_lock_the_new_row_loses_its_file(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(photos.PhotoLost):
        photos.data_of(kept_again_while(remove_carelessly, monkeypatch))


def test_a_picture_that_comes_in_again_while_it_is_removed_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    assert photos.data_of(kept_again_while(photos.remove, monkeypatch)).startswith(b"\xff\xd8\xff")
