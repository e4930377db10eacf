"""Drawers: found by kind and what is free, the tree with its totals, lots split, many added at once.

One file, since all of it is reached from the one list.
"""

import html
import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.adding import MAX_LINES, one_each, read_lines
from inventory.models import Holding, Lot, Movement, Place
from inventory.spec import parse_value
from repairs.reservations import reserve
from tests.factories import BoardFactory, JobFactory, NeedFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def drawer() -> Place:
    return Place.objects.filter(type="drawer").first()


def test_a_kind_and_what_is_free_are_filters(workshop: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    found = client.get(reverse("drawers"), {"kind": "transistor"}).context
    assert found["page"].paginator.count > 0
    assert {lot.part.spec.kind for lot, _held in found["labels"]} == {"transistor"}
    promised = Holding.objects.filter(promised__gt=0, quantity=1, place__type="drawer").first()
    everything = {"q": promised.lot.part.spec.text}
    numbers = [lot.pk for lot, _held in client.get(reverse("drawers"), everything).context["labels"]]
    assert promised.lot_id in numbers
    free = client.get(reverse("drawers"), {**everything, "free": 1}).context["labels"]
    assert promised.lot_id not in [lot.pk for lot, _held in free]


def test_the_tree_has_every_drawer_with_its_total(sign_in: Enter) -> None:
    cabinet = PlaceFactory(name="Cabinet")
    inner = PlaceFactory(name="Drawer 1", within=cabinet)
    stock(3, place=inner)
    stock(2, place=cabinet)
    tree = sign_in("viewer").get(reverse("drawers")).context["cabinets"]
    result = {each.place.name: (each.depth, each.lots, each.pieces) for each in tree}
    assert result["Cabinet"] == (0, 2, 5)
    assert result["Drawer 1"] == (1, 1, 3)
    names = [each.place.name for each in tree]
    assert names.index("Drawer 1") == names.index("Cabinet") + 1


def test_some_pieces_of_a_lot_are_kept_apart_and_put_back(sign_in: Enter) -> None:
    client, here = sign_in("bench"), stock(5)
    address = reverse("move-pieces", args=[here.pk])
    client.post(address, {"what": "split", "quantity": 2, "condition": "suspect"})
    apart = Lot.objects.get(split_from=here.lot)
    assert (apart.condition, apart.holdings.get().quantity) == ("suspect", 2)
    here.refresh_from_db()
    assert here.quantity == 3
    client.post(reverse("undo"), {"line": Movement.objects.latest("id").pk})
    here.refresh_from_db()
    assert here.quantity == 5


@pytest.mark.parametrize(
    "sent",
    [
        {"quantity": 2, "condition": "shiny"},
        {"quantity": 2},
        {"quantity": 9, "condition": "good"},
        {"quantity": 0, "condition": "good"},
        {"quantity": "some", "condition": "good"},
    ],
)
def test_what_cannot_be_split_stays_together(sign_in: Enter, sent: dict) -> None:
    here = stock(5)
    sign_in("bench").post(reverse("move-pieces", args=[here.pk]), {"what": "split", **sent})
    assert not Lot.objects.filter(split_from=here.lot).exists()
    here.refresh_from_db()
    assert here.quantity == 5


@pytest.mark.parametrize("counted", [0, 2, 9])
def test_a_count_may_be_anything_that_was_counted(sign_in: Enter, counted: int) -> None:
    """Fewer, more or none at all: the form stands in nobody's way, and undo brings the old count back."""
    client, here = sign_in("bench"), stock(5)
    page = client.get(reverse("lot", args=[here.lot_id])).content.decode()
    field = re.search(r"<input type=.number.[^>]*name=.quantity.[^>]*>", page).group()
    assert 'min="0"' in field
    assert "max=" not in field
    client.post(reverse("move-pieces", args=[here.pk]), {"what": "count", "quantity": counted})
    here.refresh_from_db()
    assert here.quantity == counted
    client.post(reverse("undo"), {"line": Movement.objects.latest("id").pk})
    here.refresh_from_db()
    assert here.quantity == 5


@pytest.mark.parametrize("what", ["move", "scrap", "split"])
def test_a_form_of_a_lot_that_is_sent_twice_does_its_work_once(sign_in: Enter, what: str) -> None:
    client, here, to = sign_in("bench"), stock(5), PlaceFactory()
    page = client.get(reverse("lot", args=[here.lot_id])).content.decode()
    token = re.search(r'name="once" value="(\w+)"', page).group(1)
    sent = {"what": what, "quantity": 2, "to": to.pk, "condition": "suspect", "once": token}
    for _press in range(2):
        client.post(reverse("move-pieces", args=[here.pk]), sent)
    here.refresh_from_db()
    assert here.quantity == 3


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ({"what": "move", "quantity": "99"}, "99 asked"),
        ({"what": "move", "quantity": "2", "to": ""}, "Where to?"),
        ({"what": "scrap", "quantity": "99"}, "99 asked"),
        ({"what": "count", "quantity": "about 3"}, "whole number"),
        ({"what": "count", "quantity": "99999999999"}, "whole number"),
        ({"what": "split", "quantity": "2", "condition": "shiny"}, "Say what they are"),
        ({"what": "", "quantity": "2"}, "Say what is to be done"),
    ],
)
def test_a_refusal_stands_on_the_page_of_the_lot_with_what_was_typed(
    sign_in: Enter, sent: dict, why: str
) -> None:
    client, here, to = sign_in("bench"), stock(5), PlaceFactory(name="Tin on the sill")
    answer = client.post(reverse("move-pieces", args=[here.pk]), {"to": to.pk, **sent})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert why in re.search(r'role="alert">(.*?)<', page).group(1)
    assert f'value="{sent["quantity"]}"' in page
    assert (f'value="{to.pk}" selected' in page) == ("to" not in sent)
    here.refresh_from_db()
    assert here.quantity == 5


def test_a_viewer_is_offered_no_form_of_a_lot(sign_in: Enter) -> None:
    here = stock(5)
    assert "Scrap" not in sign_in("viewer").get(reverse("lot", args=[here.lot_id])).content.decode()


def test_many_are_read_line_by_line_and_put_away_together(sign_in: Enter) -> None:
    client, place = sign_in("bench"), PlaceFactory()
    text = "12 x 4k7 5%\n\n3x BC337"
    page = client.post(reverse("add-many"), {"lines": text, "look": ""})
    assert page.status_code == 200
    assert [each["pieces"] for each in page.context["lines"]] == [12, 3]
    assert not Lot.objects.exists()
    sent = {"lines": text, "import": 1, "place": place.pk, "condition": "good", "once": "f" * 32}
    client.post(reverse("add-many"), sent)
    client.post(reverse("add-many"), sent)
    first, second = Lot.objects.order_by("id")
    assert (first.part.spec.value, first.holdings.get().quantity) == (parse_value("resistor", "4k7"), 12)
    assert (second.part.spec.number, second.condition, second.holdings.get().place) == (
        "BC337",
        "good",
        place,
    )


def test_one_line_that_reads_as_nothing_keeps_all_of_it_on_the_page(sign_in: Enter) -> None:
    client, place = sign_in("bench"), PlaceFactory()
    text = "10 x 100n 63V\nzzqq"
    sent = {"lines": text, "import": 1, "place": place.pk}
    answer = client.post(reverse("add-many"), sent)
    assert answer.status_code == 400
    assert "Line 2" in answer.content.decode()
    assert "10 x 100n 63V" in answer.content.decode()
    assert not Lot.objects.exists()
    client.post(reverse("add-many"), {**sent, "pick2": "out"})
    assert Lot.objects.count() == 1


def test_a_bare_number_beside_a_part_is_never_taken_for_volts_in_silence(sign_in: Enter) -> None:
    client, place = sign_in("bench"), PlaceFactory()
    sent = {"lines": "4k7\n12 100n", "import": 1, "place": place.pk}
    refused = client.post(reverse("add-many"), sent)
    assert refused.status_code == 400
    html = refused.content.decode()
    assert "Line 2: say which it is, or leave it out. Nothing was put away." in html
    assert "12 could be how many, or 12 V: write 12 x 100n or 12V 100n." in html
    assert not Lot.objects.exists()
    readings = [line.choices for line in read_lines("12 100n")]
    assert readings[0][:2] == ("12 × 100n capacitor", "1 × 100n 12 V capacitor")
    client.post(reverse("add-many"), {**sent, "pick1": "0", "pick2": "0"})
    kept = Lot.objects.order_by("id")[1]
    assert (kept.part.spec.text, kept.holdings.get().quantity, kept.marking) == ("100n capacitor", 12, "100n")


@pytest.mark.parametrize(
    "bad",
    [{"lines": ""}, {"place": "x"}, {"place": 987654}, {"pick1": "7"}, {"pick1": "-1"}, {"pick1": "zz"}],
)
def test_what_cannot_be_put_away_is_reported(sign_in: Enter, bad: dict) -> None:
    place = PlaceFactory()
    sent = {"lines": "4k7", "import": 1, "place": place.pk, **bad}
    assert sign_in("bench").post(reverse("add-many"), sent).status_code == 400
    assert not Lot.objects.exists()


def test_the_second_choice_of_a_line_is_taken(sign_in: Enter) -> None:
    """Bare figures are a code (IEC 60062) or a plain value: several readings, never one in silence."""
    client, place = sign_in("bench"), PlaceFactory()
    readings = [each.spec for each in read_lines("100")[0].readings]
    assert len(readings) > 1
    client.post(reverse("add-many"), {"lines": "100", "import": 1, "place": place.pk, "pick1": "1"})
    assert Lot.objects.get().part.spec.spec == readings[1]


def test_an_address_with_a_drawer_that_is_none_says_so(sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("add-many"), {"place": "99999"})
    assert page.status_code == 400
    assert b'role="alert">Into which drawer? Not found.' in page.content


def test_more_lines_than_can_be_read_at_once_are_named(db: None) -> None:
    lines = read_lines("4k7\n" * (MAX_LINES + 1))
    assert [bool(line.wrong) for line in lines] == [False] * MAX_LINES + [True]


@pytest.mark.parametrize("text", ["0 x 4k7", "x" * 81, "\t", "999999999 x 4k7", "[", "12 x"])
def test_no_line_breaks_the_page(sign_in: Enter, text: str) -> None:
    assert sign_in("bench").post(reverse("add-many"), {"lines": text, "import": 1}).status_code == 400


def test_each_word_is_shown_as_it_is_understood_or_in_red_with_why(sign_in: Enter) -> None:
    page = sign_in("bench").post(reverse("add-many"), {"lines": "100n 275V X2 crumbly", "look": ""})
    html = page.content.decode()
    assert "100n 275 V X2 capacitor" in html
    assert "<b>275V</b> volts 275 V" in html
    assert '<span class="line-word wrong"><b>crumbly</b> no value, type or property' in html


def test_what_is_not_understood_is_kept_as_a_note_and_not_dropped(sign_in: Enter) -> None:
    client, place = sign_in("bench"), PlaceFactory()
    text = "100R 5W\n2 x 4k7 5% 1/4W axial crumbly\nR1, R3 47k"
    client.post(reverse("add-many"), {"lines": text, "import": 1, "place": place.pk})
    lots = Lot.objects.order_by("id")
    assert [(lot.part.spec.text, lot.holdings.get().quantity, lot.note) for lot in lots] == [
        ("100R 5 W resistor", 1, ""),
        ("4k7 5 % 0.25 W resistor, axial", 2, "not understood: crumbly"),
        ("47k resistor", 2, "references R1, R3"),
    ]


def test_off_a_board_each_reference_is_a_piece_of_its_own(sign_in: Enter) -> None:
    client, place, board = sign_in("bench"), PlaceFactory(), BoardFactory()
    sent = {"lines": "R1, R3 47k", "import": 1, "place": place.pk, "board": board.pk}
    client.post(reverse("add-many"), sent)
    lots = Lot.objects.order_by("id")
    assert [(lot.origin_board, lot.origin_ref, lot.note) for lot in lots] == [
        (board, "R1", ""),
        (board, "R3", ""),
    ]


def test_a_viewer_adds_nothing(sign_in: Enter) -> None:
    here = stock(5)
    client = sign_in("viewer")
    assert client.post(reverse("add-many"), {"lines": "4k7", "import": 1}).status_code == 403
    sent = {"what": "split", "quantity": 1, "condition": "good"}
    assert client.post(reverse("move-pieces", args=[here.pk]), sent).status_code == 403


# --- a bench that has no drawer yet


def test_an_empty_list_of_drawers_says_what_to_do(sign_in: Enter) -> None:
    page = sign_in("bench").get(reverse("drawers")).content.decode()
    assert "No drawer yet" in page
    for name in ("sheets", "add-many", "read", "more"):
        assert f'href="{reverse(name)}' in page


def test_the_first_part_that_is_read_makes_its_drawer(sign_in: Enter) -> None:
    client = sign_in("bench")
    page = client.get(reverse("read"), {"marking": "4k7"}).content.decode()
    spec = html.unescape(re.findall(r'name="spec1" value="([^"]*)"', page)[0])
    sent = {"put": "1", "spec1": spec, "quantity": 2, "new_place": "Cabinet A / Drawer 7", "once": "0" * 32}
    client.post(reverse("put-away"), sent)
    client.post(reverse("put-away"), sent)
    held = Holding.objects.get(quantity__gt=0)
    assert (held.quantity, held.place.name, held.place.within.name) == (2, "Drawer 7", "Cabinet A")


def test_the_first_lines_that_are_typed_make_their_drawer_when_they_land(sign_in: Enter) -> None:
    client = sign_in("bench")
    sent = {"lines": "12 x 4k7 5%\n3 x 1N4148", "new_place": "Drawer 1"}
    assert 'name="new_place"' in client.post(reverse("add-many"), sent).content.decode()
    assert not Place.objects.filter(type="drawer").exists()  # they were only read
    client.post(reverse("add-many"), {**sent, "import": "1"})
    assert Place.objects.get(type="drawer").name == "Drawer 1"
    assert Holding.objects.filter(quantity__gt=0).count() == 2


@pytest.mark.parametrize(
    "name", ["", " / ", "scrap bin", "x" * 121, "\0", "/".join("abcdefghijklmnopqrstuv")]
)
def test_what_cannot_be_a_drawer_is_refused_and_nothing_is_made(sign_in: Enter, name: str) -> None:
    client = sign_in("bench")
    before = Place.objects.count()
    sent = {"lines": "12 x 4k7 5%", "new_place": name, "import": "1"}
    answer = client.post(reverse("add-many"), sent)
    assert 'class="refused"' in answer.content.decode()
    assert "12 x 4k7 5%" in answer.content.decode()  # what was typed stays
    assert Place.objects.count() == before


# --- places


def cabinet() -> Place:
    """A cabinet of three rows of drawers with pieces in one of them."""
    top = PlaceFactory(name="Cabinet A")
    row = PlaceFactory(name="Row 7", within=top)
    for number in (1, 2, 10):
        inner = PlaceFactory(name=f"Drawer {number}", within=row)
    stock(3, place=inner)
    return top


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("cabinet a", "Cabinet A"),
        ("Row 7", "Row 7"),
        ("drawer 1", "Drawer 1"),
        ("row 7 drawer 10", "Drawer 10"),
        ("Cabinet A / Row 7 / Drawer 2", "Drawer 2"),
    ],
)
def test_a_place_is_found_by_what_is_written_on_it(sign_in: Enter, typed: str, first: str) -> None:
    cabinet()
    found = sign_in("viewer").get(reverse("drawers"), {"q": typed}).context["places"]
    assert found[0].place.name == first
    assert len({each.path for each in found}) == len(found)


def test_a_place_that_is_found_tells_what_lies_in_it(sign_in: Enter) -> None:
    top = cabinet()
    page = sign_in("viewer").get(reverse("drawers"), {"q": "cabinet"})
    assert [(each.place, each.pieces) for each in page.context["places"]] == [(top, 3)]
    assert sign_in("viewer", "wren").get(reverse("drawers"), {"q": "4k7"}).context["places"] == []


def test_drawer_2_stands_before_drawer_10(sign_in: Enter) -> None:
    """In the tree, and wherever a drawer is picked."""
    cabinet()
    client, here = sign_in("bench"), stock(1)
    tree = [each.place.name for each in client.get(reverse("drawers")).context["cabinets"]]
    picked = [path for _pk, path in client.get(reverse("lot", args=[here.lot_id])).context["storage"]]
    for names in (tree, [path.rpartition(" / ")[2] for path in picked]):
        kept = [name for name in names if name in ("Drawer 1", "Drawer 2", "Drawer 10")]
        assert kept == ["Drawer 1", "Drawer 2", "Drawer 10"]


def test_a_bag_is_found_by_the_number_on_it(sign_in: Enter) -> None:
    here = stock(1)
    page = sign_in("viewer").get(reverse("drawers"), {"q": f"Lot {here.lot_id}"}).context
    assert [lot.pk for lot, _held in page["labels"]] == [here.lot_id]


def test_what_is_added_from_a_drawer_goes_into_it(sign_in: Enter) -> None:
    client, place = sign_in("bench"), PlaceFactory(name="Tin on the sill")
    page = client.get(reverse("drawers"), {"place": place.pk}).content.decode()
    assert "Nothing is in it now." in page
    address = f"{reverse('add-many')}?place={place.pk}"
    assert f'href="{address}"' in page
    result = client.post(address, {"lines": "4k7", "look": ""}).content.decode()
    assert f'value="{place.pk}" selected' in result


def test_a_lot_leads_to_its_drawer_to_its_board_and_to_the_job_it_is_promised_to(sign_in: Enter) -> None:
    client, here = sign_in("viewer"), stock(5)
    need = NeedFactory(job=JobFactory(name="Lamp on the slip"))
    reserve(need, here, 1, by=None)
    page = client.get(reverse("lot", args=[here.lot_id])).content.decode()
    assert f'href="{reverse("drawers")}?place={here.place_id}"' in page
    promised = re.search(r"<li>1 reserved for (.*?)</li>", page).group(1)
    assert f'href="{reverse("job", args=[need.job_id])}"' in promised
    board = BoardFactory()
    stood = stock(1, place=board.place, ref="R7")
    page = client.get(reverse("lot", args=[stood.lot_id])).content.decode()
    assert f'href="{reverse("board", args=[board.pk])}?ref=R7"' in page


# --- many at once: what a hurried thumb types


def test_parts_that_stand_in_one_line_are_parted_and_none_is_lost(sign_in: Enter) -> None:
    client = sign_in("bench")
    result = client.post(reverse("add-many"), {"lines": "12 x 4k7 5%, 1N4148; 3 x BC337", "look": ""}).context
    assert result["text"].splitlines() == ["12 x 4k7 5%", "1N4148", "3 x BC337"]
    assert [each["pieces"] for each in result["lines"]] == [12, 1, 3]


def test_what_is_counted_is_a_part_of_its_own_though_nobody_knows_it(sign_in: Enter) -> None:
    result = sign_in("bench").post(reverse("add-many"), {"lines": "foo, 3 x blah", "look": ""}).context
    assert result["text"].splitlines() == ["foo", "3 x blah"]
    assert [each["readings"] for each in result["lines"]] == [[], []]


@pytest.mark.parametrize(
    "line",
    [
        "4k7, 5%, 0.25 W", "100n, 63V, X2, 15 mm", "BC337, TO-92", "4,7k", "1N4148, glass", "R1, R3 47k 5%",
        "fuse 1A, 5 x 20", "fuse 1A, 6.3 x 32",
    ],
)  # fmt: skip
def test_a_comma_inside_a_part_parts_nothing(line: str) -> None:
    assert one_each(line) == line


def test_pressing_read_with_nothing_typed_says_what_to_do(sign_in: Enter) -> None:
    answer = sign_in("bench").post(reverse("add-many"), {"lines": " ", "look": ""})
    assert answer.status_code == 400
    assert "Type what you have" in answer.content.decode()


def test_what_the_bench_wants_is_read_first_there_as_on_the_page_of_one_part(sign_in: Enter) -> None:
    """`104` is 100k as well as 100n (IEC 60062): a job that waits for 100n decides which stands first."""
    client = sign_in("bench")
    NeedFactory(of=spec("capacitor", "100n"))
    one = client.get(reverse("read"), {"marking": "104"}).context["readings"][0]
    many = client.post(reverse("add-many"), {"lines": "104", "look": ""}).context["lines"][0]["readings"]
    assert many[0][1] == one.text == "100n capacitor"


@pytest.mark.parametrize(
    ("sent", "why"),
    [({"name": ""}, "Write down what is printed on it"), ({"name": "Tin"}, "Tin is there already"),
     ({"name": "x" * 121}, "at most 120"), ({"name": "Box", "type": "board"}, "Select a valid|is a drawer")],
)  # fmt: skip
def test_a_place_that_cannot_be_made_says_why_in_plain_words(sign_in: Enter, sent: dict, why: str) -> None:
    PlaceFactory(name="Tin")
    answer = sign_in("bench").post(reverse("make-place"), {"type": "drawer", "within": "", **sent})
    result = " ".join(re.findall(r'class="wrong">(.*?)<', answer.content.decode()))
    assert answer.status_code == 400
    assert re.search(why, result)
    assert "onstraint" not in result
    assert f'value="{sent["name"]}"' in answer.content.decode()


def test_a_large_cabinet_is_folded_and_everything_is_still_there(sign_in: Enter) -> None:
    """Some dozens of drawers are no screen after the other; what is inside stands before what lies in it."""
    client, top = sign_in("viewer"), PlaceFactory(name="Cabinet A")
    for row in range(1, 5):
        above = PlaceFactory(name=f"Row {row}", within=top)
        for number in range(1, 9):
            inner = PlaceFactory(name=f"Drawer {number}", within=above)
    stock(3, place=inner)
    page = client.get(reverse("drawers"))
    assert sum(1 + len(deeper) for _each, deeper in page.context["tree"]) == len(page.context["cabinets"])
    assert page.content.decode().count("36 inside Cabinet A") == 1
    inside = client.get(reverse("drawers"), {"place": top.pk}).content.decode()
    assert inside.count("8 inside Row") == 4
    assert inside.index("Inside</h2>") < inside.index("1 lot</h2>")
    assert "Inside</h2>" not in client.get(reverse("drawers"), {"place": top.pk, "q": "4k7"}).content.decode()


@pytest.mark.parametrize(
    ("origin", "result"),
    [({"source": "bought", "giver": "a stall"}, "bought from a stall"), ({"source": "bought"}, "bought"),
     ({"source": "donated", "giver": "the school"}, "given by the school"), ({"source": "donated"}, "given")],
)  # fmt: skip
def test_where_a_lot_came_from_is_a_plain_sentence(sign_in: Enter, origin: dict, result: str) -> None:
    here = stock(1, **origin)
    page = sign_in("viewer").get(reverse("lot", args=[here.lot_id])).content.decode()
    assert f'<span class="where">{result}</span>' in page
