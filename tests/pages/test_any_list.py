"""The page of a list as people have it: seen as it is read, put right, imported once."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.models import Design, Holding, Lot

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


@pytest.fixture(autouse=True)
def home(settings: Any, tmp_path: Path) -> Path:
    settings.HOME = tmp_path
    return tmp_path


LIST = "Teil;Anzahl;Ort\n4k7 5%;ca. 3;Tin\nblue one;4;Tin\nblue one;5;\nSumme;12;\n"


def put_aside(client: Any, text: str = LIST) -> str:
    """Send a file as a list in any form; the word that it is kept by."""
    file = SimpleUploadedFile("shed.csv", text.encode())
    answer = client.post(reverse("sheets"), {"file": file, "as": "any"})
    assert answer.status_code == 302
    return str(answer["Location"].rpartition("kept=")[2])


def seen(client: Any, kept: str, **sent: str) -> Any:
    return client.post(reverse("any-list"), {"kept": kept, **sent})


def test_each_row_is_shown_as_it_is_read_beside_what_was_typed(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client)
    page = client.get(reverse("any-list"), {"kept": kept})
    html = page.content.decode()
    assert "3 × 4k7 5 % resistor" in html
    assert "About 3: count them when you can." in html
    assert "nothing in the row says which part this is" in html
    assert "Summe | 12 (a total)" in html
    assert (page.context["count"], page.context["to_settle"]) == (3, 2)
    assert not Lot.objects.exists()


def test_a_list_that_is_stopped_is_kept_and_brings_nothing(sign_in: Enter) -> None:
    client, word = sign_in("bench"), "b" * 32
    kept = put_aside(client, "Teil;Anzahl;Ort\n4k7 5%;3;Tin\n")
    client.post(reverse("stop-sheet"), {"watch": word})
    assert seen(client, kept, **{"import": "1"}, watch=word).status_code == 302
    assert not Lot.objects.exists()
    seen(client, kept, **{"import": "1"}, watch=word)
    assert Lot.objects.count() == 1


def test_a_class_is_put_right_at_once_and_the_list_goes_in_whole(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client)
    fixed = seen(client, kept, **{"text-0-3": "100n 63V", "alike-0-3": "on"})
    assert fixed.context["to_settle"] == 0
    corrections = fixed.context["corrections"]
    refused = seen(client, kept, corrections=corrections, **{"import": "1"})
    assert refused.status_code == 422
    assert "row 4: expected the drawer or tray that it is in" in refused.content.decode()
    assert not Lot.objects.exists()
    for _press in range(2):
        answer = seen(client, kept, corrections=corrections, **{"import": "1"}, place="Box 3")
    assert answer["Location"] == reverse("sheets")
    held = Holding.objects.filter(quantity__gt=0).order_by("id")
    assert [(each.lot.part.spec.text, each.quantity, each.place.name) for each in held] == [
        ("4k7 5 % resistor", 3, "Tin"),
        ("100n 63 V capacitor", 4, "Tin"),
        ("100n 63 V capacitor", 5, "Box 3"),
    ]
    assert "shed.csv is in" in client.get(reverse("sheets")).content.decode()


def test_a_correction_of_a_row_that_is_not_there_is_reported_and_the_others_stay(sign_in: Enter) -> None:
    client = sign_in("bench")
    said = '[{"row": 2, "quantity": 7}, {"row": 99, "quantity": 5}]'
    refused = seen(client, put_aside(client), corrections=said, **{"import": "1"}, place="Box 3")
    assert refused.status_code == 400
    assert "there is no row 99: the list is in rows 2 to 5" in refused.content.decode()
    assert json.loads(refused.context["corrections"]) == [{"row": 2, "quantity": 7}]
    assert not Lot.objects.exists()


def test_a_column_a_count_and_a_row_left_out(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client)
    html = seen(client, kept, **{"map-0-2": "note", "count-0-2": "7", "skip-0-3": "on", "text-0-4": "BC547"})
    rows = html.context["tables"][0].rows
    assert [(each.row.number, each.row.quantity, each.row.place) for each in rows] == [(2, 7, ""), (4, 5, "")]


def test_how_figures_are_written_is_asked_and_answered(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client, "Kind,Value,Qty\nresistor,2.200,5\n")
    html = client.get(reverse("any-list"), {"kept": kept}).content.decode()
    assert "what is 2.200?" in html
    name = re.findall(r'name="(decimal-[^"]+)"', html)[0]
    answered = seen(client, kept, **{name: ","})
    assert "5 × 2k2 resistor" in answered.content.decode()


def test_what_bare_figures_are_in_is_asked_once_for_a_column(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client, "Bauteil;Anzahl\n2.200;5\n1.000;6\n0,47;7\n")
    page = client.get(reverse("any-list"), {"kept": kept})
    html = page.content.decode()
    assert page.context["to_settle"] == 3
    assert "in what are figures without a unit, such as 2200?" in html
    assert '<option value="1k resistor">1k resistor (1000 ohms)</option>' in html
    refused = seen(client, kept, **{"import": "1"}, place="Box")
    assert refused.status_code == 422
    assert "1000 has no unit: say which it is of 1k resistor" in refused.content.decode()
    answered = seen(client, kept, **{"unit-0-0": "ohm"})
    assert answered.context["to_settle"] == 0
    assert "5 × 2k2 resistor" in answered.content.decode()
    again = seen(client, kept, corrections=answered.context["corrections"], **{"again-0-0": "on"})
    assert again.context["to_settle"] == 3


def test_one_of_the_parts_that_a_row_may_mean_is_picked(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client, "Bauteil;Anzahl\n1.000;5\n1.000;6\n0,47;7\n")
    sent = {"choice-0-2": "1n capacitor", "alike-0-2": "on", "count-0-3": "9", "choice-0-4": "9k9 resistor"}
    rows = seen(client, kept, **sent).context["tables"][0].rows
    assert [(each.row.spec and each.row.spec.text, each.row.quantity) for each in rows] == [
        ("1n capacitor", 5),
        ("1n capacitor", 9),
        (None, 7),
    ]


def test_a_parts_list_goes_in_as_a_design(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = put_aside(client, "Ref,Value\nR1,4k7\nC1,100n\n")
    assert client.get(reverse("any-list"), {"kept": kept}).context["as_design"]
    sent = {"as": "design", "design": "Curlew meter", "revision": "B", "import": "1"}
    assert seen(client, kept, **sent).status_code == 302
    assert Design.objects.get().positions.count() == 2


@pytest.mark.parametrize(
    "sent",
    [{"corrections": "{"}, {"corrections": '[{"row": "x"}]'}, {"map-0-0": "colour"}, {"count-0-2": "lots"},
     {"decimal-0-1": ";"}, {"unit-0-0": "furlong"}, {"choice-0-2": "1k resistor"}, {"as": "donor"}],
)  # fmt: skip
def test_nothing_that_is_sent_breaks_the_page(sign_in: Enter, sent: dict[str, str]) -> None:
    client = sign_in("bench")
    assert seen(client, put_aside(client), **sent).status_code == 200


def test_a_file_that_is_no_spreadsheet_or_not_kept_is_reported(sign_in: Enter) -> None:
    client = sign_in("bench")
    assert client.get(reverse("any-list"), {"kept": "0" * 32}).status_code == 410
    kept = put_aside(client, "%PDF-1.7")
    assert "cannot be read" in client.get(reverse("any-list"), {"kept": kept}).content.decode()
