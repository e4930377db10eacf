"""Lists: pages that never overlap, filters that are never ignored, words that are understood as values."""

from typing import Any

import pytest
from django.test.utils import CaptureQueriesContext

from inventory.models import Part
from tests.api.test_problems import refused
from tests.factories import PartFactory, spec

PARTS = "/api/v1/parts/"


def names(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.content
    return [row["name"] for row in answer.json()["results"]]


@pytest.fixture
def drawer(viewer: Any) -> Any:
    """A few parts, and the viewer who looks for them."""
    for kind, value, more in [
        ("resistor", "4k7", {}),
        ("resistor", "47k", {"lead_style": "axial"}),
        ("capacitor", "100n", {"dielectric": "film"}),
        ("capacitor", "4n7", {}),
        ("inductor", "100µH", {}),
        ("ic", None, {"number": "74LS04", "make": "Texas Instruments"}),
    ]:
        PartFactory(of=spec(kind, value, **more))
    return viewer


def test_a_list_has_its_four_members_and_links_that_work(viewer: Any) -> None:
    for number in range(7):
        PartFactory(of=spec("ic", None, number=f"N{number}"), name=f"N{number}")
    first = viewer.get(f"{PARTS}?page_size=3").json()
    assert (first["count"], len(first["results"]), first["previous"]) == (7, 3, None)
    second = viewer.get(first["next"]).json()
    third = viewer.get(second["next"]).json()
    assert third["next"] is None
    assert viewer.get(second["previous"]).json() == first
    seen = [row["name"] for page in (first, second, third) for row in page["results"]]
    assert seen == [f"N{number}" for number in range(7)]


def test_a_page_has_fifty_rows_and_at_most_five_hundred(viewer: Any) -> None:
    for number in range(51):
        PartFactory(of=spec("ic", None, number=f"N{number}"))
    assert len(viewer.get(PARTS).json()["results"]) == 50
    assert len(viewer.get(f"{PARTS}?page_size=500").json()["results"]) == 51
    refused(viewer.get(f"{PARTS}?page_size=501"), 400)


def test_a_page_beyond_the_last_is_404(viewer: Any) -> None:
    refused(viewer.get(f"{PARTS}?page=2"), 404)


def test_pages_do_not_overlap_where_everything_sorts_alike(viewer: Any) -> None:
    for number in range(6):
        PartFactory(of=spec("ic", None, number=f"N{number}"), name="same")
    pages = [viewer.get(f"{PARTS}?ordering=-name&page_size=2&page={page}").json() for page in (1, 2, 3)]
    ids = [row["id"] for page in pages for row in page["results"]]
    assert ids == sorted(Part.objects.values_list("id", flat=True))


def test_what_has_no_value_sorts_last_both_ways(viewer: Any) -> None:
    for value in ("47k", None, "4k7"):
        PartFactory(of=spec("resistor", value), name=value or "unread")
    assert names(viewer.get(f"{PARTS}?ordering=value")) == ["4k7", "47k", "unread"]
    assert names(viewer.get(f"{PARTS}?ordering=-value")) == ["47k", "4k7", "unread"]


@pytest.mark.parametrize(
    "typed", ["4k7", "4.7k", "4700", "4.7 kΩ", "4,7k", "4k7 resistor", "resistor 4.7 kΩ"]
)
def test_words_are_understood_as_values(drawer: Any, typed: str) -> None:
    found = names(drawer.get(PARTS, {"q": typed}))
    assert "4k7 resistor" in found
    assert set(found) <= {"4k7 resistor", "4n7 capacitor"}, "a bare 4700 may be picofarads"


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("0.1uF", ["100n film capacitor"]),
        ("film 100n", ["100n film capacitor"]),
        ("74ls04", ["74LS04 IC"]),
        ("axial", ["47k resistor, axial"]),
        ("film axial", []),
    ],
)
def test_every_word_must_be_found(drawer: Any, typed: str, found: list[str]) -> None:
    kinds = {name.split()[0] for name in names(drawer.get(PARTS, {"q": typed}))}
    assert kinds == {name.split()[0] for name in found}


@pytest.mark.parametrize(
    ("query", "kinds"),
    [
        ("value=4k7", ["resistor"]),
        ("value=4700&kind=resistor", ["resistor"]),
        ("value=100n", ["capacitor"]),
        ("kind=resistor&value_min=5k", ["resistor"]),
        ("kind=capacitor&value_max=10n", ["capacitor"]),
        ("value_min=10nF&value_max=1uF", ["capacitor"]),
        ("kind=resistor&kind=ic", ["ic", "resistor", "resistor"]),
        ("number=74ls04", ["ic"]),
        ("make=texas%20instruments", ["ic"]),
        ("lead_style=axial", ["resistor"]),
        ("dielectric=film", ["capacitor"]),
    ],
)
def test_filters_take_any_notation_and_case(drawer: Any, query: str, kinds: list[str]) -> None:
    answer = drawer.get(f"{PARTS}?{query}")
    assert sorted(row["kind"] for row in answer.json()["results"]) == kinds


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("value_min=4k7", "ambiguous"),
        ("value_max=100", "ambiguous"),
        ("kind=capacitor&value=4k7", "unreadable"),
        ("kind=ic&value=4k7", "unreadable"),
        ("kind=capacitor&value=10mF", "ambiguous"),
        ("value=plenty", "unreadable"),
    ],
)
def test_a_value_that_cannot_be_recognised_is_refused(drawer: Any, query: str, code: str) -> None:
    assert [error["code"] for error in refused(drawer.get(f"{PARTS}?{query}"), 400)["errors"]] == [code]


def test_a_misspelt_filter_does_not_answer_everything(drawer: Any) -> None:
    body = refused(drawer.get(f"{PARTS}?knd=resistor"), 400)
    assert [(error["pointer"], error["code"]) for error in body["errors"]] == [("#/knd", "unknown")]
    assert "kind" in body["detail"]


def test_a_parameter_on_a_single_resource_is_refused_too(drawer: Any) -> None:
    part = Part.objects.earliest("id")
    refused(drawer.get(f"{PARTS}{part.pk}/?expand=lots"), 400)


def test_a_list_takes_as_many_queries_for_many_rows_as_for_few(
    viewer: Any, django_assert_num_queries: Any
) -> None:
    from django.db import connection

    PartFactory(of=spec("ic", None, number="first"))
    with CaptureQueriesContext(connection) as few:
        viewer.get(PARTS)
    for number in range(40):
        PartFactory(of=spec("ic", None, number=f"N{number}"))
    with django_assert_num_queries(len(few)):
        viewer.get(PARTS)
