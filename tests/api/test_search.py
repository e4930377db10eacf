"""One search over everything on the bench: the API, the page and the command give the same answer."""

import io
import json
import re
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import segno
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageFilter

from inventory.models import Part
from tests.api.test_problems import refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)

pytestmark = pytest.mark.django_db
SEARCH = "/api/v1/search/"


def found(client: Any, text: str) -> list[tuple[str, str]]:
    answer = client.get(SEARCH, {"q": text}).json()
    return [(each["type"], each["label"]) for each in answer["results"]]


def test_a_reference_is_found_on_every_board_that_has_it_and_where_a_job_needs_it(bench: Any) -> None:
    design = DesignFactory(name="Dunlin", positions={"R47": spec("resistor", "4k7")})
    board = BoardFactory(name="Dunlin 1", design=design)
    need = NeedFactory(ref="R47", job=JobFactory(name="Mend the Dunlin"))
    assert found(bench, "r47") == [("position", "R47"), ("need", "R47")]
    [position, needed] = bench.get(SEARCH, {"q": "R47"}).json()["results"]
    assert (position["where"], position["page"]) == ("Dunlin 1", f"/boards/{board.pk}/?ref=R47")
    assert (needed["where"], needed["page"]) == ("needed by Mend the Dunlin", f"/needs/{need.pk}/")
    assert found(bench, "R47 dunlin") == [("position", "R47")]
    assert found(bench, "R47 plover") == []


def test_a_value_in_any_notation_a_marking_and_a_name_are_found(bench: Any) -> None:
    lot = stock(3, part=PartFactory(of=spec("resistor", "4700")), place=PlaceFactory(name="Drawer 7")).lot
    lot.marking = "4K7J"
    lot.save(update_fields=["marking"])
    PlaceFactory(name="Ada", type="person")
    for text in ("4k7", "4.7 kΩ", "4K7J"):
        assert found(bench, text) == [("lot", "4k7")], text
    [match] = bench.get(SEARCH, {"q": "4k7"}).json()["results"]
    assert match["where"] == "3 in Drawer 7"
    assert found(bench, "drawer 7") == [("place", "Drawer 7")]
    assert found(bench, "ada") == [("place", "Ada")]


@pytest.mark.parametrize("typed", ["lot {}", "LOT{}", "http://bench.example/lots/{}/", "/lots/{}/"])
def test_what_stands_on_a_bag_or_in_its_code_opens_its_page(bench: Any, typed: str) -> None:
    lot = stock(part=PartFactory(of=spec("resistor", "4k7"))).lot
    answer = bench.get(SEARCH, {"q": typed.format(lot.pk)}).json()
    assert answer == {"opens": f"/lots/{lot.pk}/", "results": [], "more": 0}


def test_an_address_that_is_not_a_label_s_opens_nothing(bench: Any) -> None:
    for typed in (
        "http://elsewhere.example/account/",
        "/people/1/",
        "javascript:alert(1)",
        "//elsewhere/lots",
    ):
        assert bench.get(SEARCH, {"q": typed}).json()["opens"] == "", typed


def test_what_is_called_just_that_comes_first(bench: Any) -> None:
    bench_place = PlaceFactory(name="Bench")
    PlaceFactory(name="Tray 1", within=bench_place)
    stock(part=Part.of(spec("capacitor", "1µ")))
    assert [sort for sort, _label in found(bench, "tray 1")] == ["place", "lot"]
    assert [sort for sort, _label in found(bench, "Bench / Tray 1")] == ["place", "lot"]


@pytest.mark.parametrize("typed", ["lot {}", "LOT{}", "http://bench.local:8000/lots/{}/", "/lots/{}/"])
def test_the_lists_and_the_drawers_find_it_by_its_bag_too(viewer: Any, client: Client, typed: str) -> None:
    lot = stock().lot
    stock(part=Part.of(spec("resistor", "58")))
    typed = typed.format(lot.pk)
    rows = viewer.get("/api/v1/lots/", {"q": typed}).json()["results"]
    assert [row["id"] for row in rows] == [lot.pk]
    client.force_login(viewer.person)
    shown = client.get(reverse("drawers"), {"q": typed}).content.decode()
    assert set(re.findall(r'href="/lots/(\d+)/', shown)) == {str(lot.pk)}


def test_people_who_may_sign_in_are_found_by_owners_alone(owner: Any, bench: Any) -> None:
    assert ("person", "bench") in found(owner, "bench")
    assert ("person", "bench") not in found(bench, "bench")


def test_more_than_is_listed_is_counted(bench: Any) -> None:
    for number in range(4):
        PlaceFactory(name=f"Shelf {number}")
    answer = bench.get(SEARCH, {"q": "shelf", "limit": 3}).json()
    assert (len(answer["results"]), answer["more"]) == (3, 1)


@pytest.mark.parametrize(
    "query", [{}, {"q": " "}, {"q": "x" * 201}, {"q": "R1", "limit": 0}, {"q": "R1", "f": 1}]
)
def test_a_question_that_is_none_is_refused(bench: Any, query: dict[str, Any]) -> None:
    refused(bench.get(SEARCH, query), 400)


def test_the_page_lists_it_and_the_label_s_code_leads_on(client: Client, django_user_model: Any) -> None:
    from inventory.roles import give_role

    person = django_user_model.objects.create_user("wren", password="x" * 12)
    give_role(person, "viewer")
    client.force_login(person)
    lot = stock(part=PartFactory(of=spec("resistor", "4k7"))).lot
    page = client.get(reverse("find"), {"q": "4k7"}).content.decode()
    assert f'href="/lots/{lot.pk}/"' in page
    assert client.get(reverse("find"), {"q": f"lot {lot.pk}"})["Location"] == f"/lots/{lot.pk}/"
    assert "Nothing here matches that" in client.get(reverse("find"), {"q": "zzz"}).content.decode()


def test_the_page_begins_with_what_is_called_just_that(viewer: Any, client: Client) -> None:
    client.force_login(viewer.person)
    PlaceFactory(name="Tray 1")
    stock(part=Part.of(spec("capacitor", "1µ")))
    groups = client.get(reverse("find"), {"q": "tray 1"}).context["groups"]
    assert [title for title, _matches in groups] == ["Drawers, trays and people", "Parts"]


def picture_of_label(text: str) -> bytes:
    """A label's code as a phone sees it: askew, a little blurred, a small part of a grey picture."""
    drawn = io.BytesIO()
    segno.make(text, error="m").save(drawn, kind="png", scale=6)
    label = Image.open(drawn).convert("L").rotate(17, expand=True, fillcolor=170)
    seen = Image.new("L", (1600, 1200), 170)
    seen.paste(label, (700, 400))
    kept = io.BytesIO()
    seen.filter(ImageFilter.GaussianBlur(1.5)).save(kept, "JPEG", quality=80)
    return kept.getvalue()


def test_a_picture_of_a_label_opens_its_page(viewer: Any, client: Client, tmp_path: Path) -> None:
    # ISO/IEC 18004: what segno writes, another library reads.
    lot = stock(part=PartFactory(of=spec("resistor", "4k7"))).lot
    data = picture_of_label(f"http://bench.local:8000/lots/{lot.pk}/")
    answer = viewer.post(f"{SEARCH}picture/", {"file": io.BytesIO(data)}, format="multipart").json()
    assert answer == {"codes": [f"http://bench.local:8000/lots/{lot.pk}/"], "opens": f"/lots/{lot.pk}/"}
    client.force_login(viewer.person)
    sent = {"file": SimpleUploadedFile("label.jpg", data, "image/jpeg")}
    assert client.post(reverse("find-by-picture"), sent)["Location"] == f"/lots/{lot.pk}/"
    (tmp_path / "label.jpg").write_bytes(data)
    out = StringIO()
    call_command("find", "--picture", str(tmp_path / "label.jpg"), stdout=out)
    assert f"/lots/{lot.pk}/" in out.getvalue()


def test_a_picture_without_a_code_says_what_to_try(viewer: Any, client: Client) -> None:
    kept = io.BytesIO()
    Image.new("L", (300, 200), 99).save(kept, "PNG")
    data = kept.getvalue()
    answer = viewer.post(f"{SEARCH}picture/", {"file": io.BytesIO(data)}, format="multipart")
    assert answer.json() == {"codes": [], "opens": ""}
    refused(viewer.post(f"{SEARCH}picture/", {"file": io.BytesIO(b"no picture")}, format="multipart"), 415)
    client.force_login(viewer.person)
    sent = {"file": SimpleUploadedFile("label.png", data, "image/png")}
    assert (
        "light from the side" in client.post(reverse("find-by-picture"), sent, follow=True).content.decode()
    )


def test_the_command_answers_the_same(bench: Any) -> None:
    stock(part=PartFactory(of=spec("resistor", "4k7")))
    out = StringIO()
    call_command("find", "4k7", "--json", stdout=out)
    assert json.loads(out.getvalue()) == bench.get(SEARCH, {"q": "4k7"}).json()
    out = StringIO()
    call_command("find", "4k7", stdout=out)
    assert "4k7" in out.getvalue()
    with pytest.raises(CommandError, match="nothing here"):
        call_command("find", "zzz")
