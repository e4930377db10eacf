"""Several lines of the buy list are ticked and ordered from one seller by one press."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from repairs.models import Purchase
from tests.factories import NeedFactory, spec

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
LIST = "/shortages/buy/?tick=1"


@pytest.fixture
def needed() -> None:
    for at, value in enumerate(("4k7", "10k", "22k"), 1):
        NeedFactory(of=spec("resistor", value), ref=f"R{at}")


def lines_of(client: Client) -> dict[str, str]:
    """The name of each line on the list, by its value."""
    return {each["value"]: each["line"] for each in client.get(LIST).context["items"]}


def ordered() -> dict[str, tuple[int, Decimal | None, str]]:
    rows = Purchase.objects.filter(state="ordered").select_related("part__spec")
    return {row.part.spec.spec.value_text: (row.quantity, row.price, row.bought_from) for row in rows}


def test_those_ticked_are_ordered_from_one_seller_by_one_press(needed: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    assert "Order several at once" in client.get(reverse("buy")).content.decode()
    line = lines_of(client)
    sent = {
        "line": [line["4k7"], line["22k"]], "bought_from": "Saltmarsh", "next": LIST,
        **{f"quantity-{each}": 10 for each in line.values()}, f"price-{line['22k']}": "0,12",
    }  # fmt: skip
    page = client.post(reverse("buy-several"), sent, follow=True)
    assert ordered() == {"4k7": (10, None, "Saltmarsh"), "22k": (10, Decimal("0.12"), "Saltmarsh")}
    assert "2 lines on order." in page.content.decode()
    assert set(lines_of(client)) == {"10k"}
    assert client.get(LIST).context["seller"] == "Saltmarsh"


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("quantity", "some", "How many pieces"),
        ("quantity", "0", "How many pieces"),
        ("price", "dear", "a price"),
    ],
)
def test_one_that_cannot_be_read_orders_none_and_all_stays_typed(
    needed: None, sign_in: Enter, name: str, typed: str, said: str
) -> None:
    client = sign_in("bench")
    line = lines_of(client)
    sent = {
        "line": [line["4k7"], line["10k"]], "bought_from": "Wren & sons", "next": LIST,
        **{f"quantity-{each}": 7 for each in line.values()}, f"{name}-{line['10k']}": typed,
    }  # fmt: skip
    html = client.post(reverse("buy-several"), sent, follow=True).content.decode()
    assert said in html
    assert "Nothing was ordered." in html
    assert ordered() == {}
    assert f'name="{name}-{line["10k"]}"' in html
    assert f'value="{typed}"' in html
    assert "Wren &amp; sons" in html
    box = html.partition(f'value="{line["4k7"]}"')
    assert "checked" in box[2].partition(">")[0]
    other = html.partition(f'value="{line["22k"]}"')
    assert "checked" not in other[2].partition(">")[0]


@pytest.mark.parametrize("ticked", [[], ["nonsense"]])
def test_nothing_ticked_and_what_is_off_the_list_are_refused(
    needed: None, sign_in: Enter, ticked: list[str]
) -> None:
    client = sign_in("bench")
    line = lines_of(client)["4k7"]
    both = [*ticked, line] if ticked else []
    sent = {"line": both, f"quantity-{line}": 3, "next": LIST}
    html = client.post(reverse("buy-several"), sent, follow=True).content.decode()
    assert (
        "Tick the lines that you order." in html or "1 of the ticked lines is no longer on the list" in html
    )
    assert ordered() == {}


def test_a_viewer_orders_nothing_and_is_not_offered_it(needed: None, sign_in: Enter) -> None:
    client = sign_in("viewer")
    assert "Order several at once" not in client.get(reverse("buy")).content.decode()
    line = next(each["line"] for each in client.get(LIST).context["items"])
    assert client.post(reverse("buy-several"), {"line": line, f"quantity-{line}": 1}).status_code == 403
    assert ordered() == {}
