"""Edits carry a version, and a write touches only what was sent: RFC 9110, sections 8.8.3 and 13.1.1."""

from typing import Any

import pytest
from django.db.models import F

from inventory import ledger
from inventory.api.lots import LotViewSet
from inventory.api.parts import PartViewSet
from inventory.models import Lot, Part
from tests.api.test_problems import refused
from tests.factories import PartFactory, PlaceFactory, stock

PARTS = "/api/v1/parts/"


@pytest.fixture
def part(db: None) -> Part:
    return PartFactory(name="first name")


def test_the_etag_is_the_version_and_every_write_gives_the_next(bench: Any, part: Part) -> None:
    here = f"{PARTS}{part.pk}/"
    assert bench.get(here).headers["ETag"].startswith('"1-')
    answer = bench.patch(here, {"note": "a"}, headers={"If-Match": '"1"'})
    assert (answer.status_code, answer.headers["ETag"], answer.json()["version"]) == (200, '"2"', 2)
    read = bench.get(here).headers["ETag"]
    assert read.startswith('"2-')
    assert bench.patch(here, {"note": "b"}, headers={"If-Match": read}).status_code == 200
    refused(bench.patch(here, {"note": "c"}, headers={"If-Match": read}), 412)


# RFC 9110: 13.1.2 If-None-Match, 15.4.5 what a 304 carries, 8.8.3.2 weak comparison.


@pytest.mark.parametrize("where", ["lots/{}/", "lots/", "lots/{}/trace/", "movements/", "shortages/"])
def test_what_has_not_changed_is_not_sent_again(bench: Any, where: str) -> None:
    held = stock(5)
    here = f"/api/v1/{where.format(held.lot_id)}"
    first = bench.get(here)
    tag = first.headers["ETag"]
    for known in (tag, f'"other", {tag}', f"W/{tag.removeprefix('W/')}", "*"):
        again = bench.get(here, headers={"If-None-Match": known})
        assert (again.status_code, again.content, again.headers["ETag"]) == (304, b"", tag)
        assert again.headers["Cache-Control"] == first.headers["Cache-Control"]
    assert bench.get(here, headers={"If-None-Match": '"other"'}).content == first.content


def test_a_lot_that_moved_is_sent_again_though_its_version_stands(bench: Any) -> None:
    held = stock(5)
    here = f"/api/v1/lots/{held.lot_id}/"
    tag = bench.get(here).headers["ETag"]
    ledger.move(held.lot, ledger.Spot(held.place_id), ledger.Spot(PlaceFactory().pk), 2, by=None)
    moved = bench.get(here, headers={"If-None-Match": tag})
    assert moved.status_code == 200
    assert moved.headers["ETag"].partition("-")[0] == tag.partition("-")[0]
    assert bench.patch(here, {"note": "a"}, headers={"If-Match": tag}).status_code == 200


@pytest.mark.parametrize("tag", ['"1"', "1", "*", ' "7" , "1" '])
def test_a_write_that_names_the_version_goes_through(bench: Any, part: Part, tag: str) -> None:
    assert bench.patch(f"{PARTS}{part.pk}/", {"note": "a"}, headers={"If-Match": tag}).status_code == 200


@pytest.mark.parametrize("tag", ['"0"', '"2"', 'W/"1"', '""', "", "nonsense", "é"])
@pytest.mark.parametrize("method", ["patch", "put", "delete"])
def test_a_write_with_a_stale_version_is_412_and_changes_nothing(
    owner: Any, part: Part, method: str, tag: str
) -> None:
    sent = {"kind": "resistor", "note": "a"}
    answer = getattr(owner, method)(f"{PARTS}{part.pk}/", sent, headers={"If-Match": tag})
    assert refused(answer, 412)["version"] == 1
    part.refresh_from_db()
    assert (part.note, part.version) == ("", 1)


def test_a_write_without_if_match_goes_through(bench: Any, part: Part) -> None:
    assert bench.patch(f"{PARTS}{part.pk}/", {"note": "a"}).status_code == 200


def test_a_row_that_is_gone_is_404_whatever_was_matched(owner: Any) -> None:
    refused(owner.delete(f"{PARTS}77/", headers={"If-Match": '"1"'}), 404)


def test_nothing_sent_changes_nothing(bench: Any, part: Part) -> None:
    answer = bench.patch(f"{PARTS}{part.pk}/", {})
    assert (answer.status_code, answer.json()["version"]) == (200, 1)


def test_an_edit_in_between_is_not_overwritten(
    bench: Any, part: Part, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another person writes between our read and our write, however that came about."""
    read = PartViewSet.locked

    def read_while_another_writes(view: PartViewSet) -> Part:
        mine: Part = read(view)
        Part.objects.filter(pk=part.pk).update(name="theirs", version=F("version") + 1)
        return mine

    monkeypatch.setattr(PartViewSet, "locked", read_while_another_writes)
    answer = bench.patch(f"{PARTS}{part.pk}/", {"name": "mine"}, headers={"If-Match": '"1"'})
    refused(answer, 412)


def test_control_a_whole_row_save_would_overwrite_it(part: Part) -> None:
    mine = Part.objects.get(pk=part.pk)
    Part.objects.filter(pk=part.pk).update(name="theirs")
    mine.note = "mine"
    mine.save()
    assert Part.objects.get(pk=part.pk).name == "first name"


def test_a_write_leaves_alone_what_was_not_sent(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    lot = stock(3).lot
    read = LotViewSet.locked

    def read_while_a_note_is_written(view: LotViewSet) -> Lot:
        mine: Lot = read(view)
        Lot.objects.filter(pk=lot.pk).update(note="theirs")
        return mine

    monkeypatch.setattr(LotViewSet, "locked", read_while_a_note_is_written)
    answer = bench.patch(f"/api/v1/lots/{lot.pk}/", {"marking": "104K"})
    assert (answer.json()["note"], answer.json()["marking"]) == ("theirs", "104K")


def test_what_was_read_may_be_sent_back_whole(bench: Any, part: Part) -> None:
    here = f"{PARTS}{part.pk}/"
    read = bench.get(here)
    answer = bench.put(here, read.json(), headers={"If-Match": read.headers["ETag"]})
    assert answer.status_code == 200, answer.content
    assert {**answer.json(), "version": 1} == read.json()


def test_an_old_version_of_a_place_does_not_win(bench: Any) -> None:
    place = PlaceFactory(name="Tray 1")
    here = f"/api/v1/places/{place.pk}/"
    assert bench.patch(here, {"name": "Tray 2"}, headers={"If-Match": '"1"'}).status_code == 200
    refused(bench.patch(here, {"name": "Tray 3"}, headers={"If-Match": '"1"'}), 412)
    assert bench.get(here).json()["name"] == "Tray 2"
