"""Lists of people, loans, friends and orders with 2,000 rows: 60 to a page, none on two of them."""

import re
from collections.abc import Callable

import pytest
from django.contrib.auth.models import Group, User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Movement
from repairs.models import Loan, Purchase
from repairs.sharing_models import Friend
from tests.factories import PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]
ROWS, OF_A_PAGE = 2000, 60


def people() -> None:
    User.objects.bulk_create([User(username=f"hand-{at:04}") for at in range(ROWS)])


def lent() -> None:
    held, person = stock(1), PlaceFactory(name="Wren", type="person")
    lines = Movement.objects.bulk_create(
        [
            Movement(
                kind=Movement.Kind.LEND, lot=held.lot, quantity=1, from_place=held.place, to_place=person,
                note=f"loan {at:04}",
            )
            for at in range(ROWS)
        ]
    )  # fmt: skip
    Loan.objects.bulk_create([Loan(movement=line, reason=line.note) for line in lines])


def friends() -> None:
    Friend.objects.bulk_create([Friend(name=f"Shed {at:04}") for at in range(ROWS)])


def orders() -> None:
    part = PartFactory(of=spec())
    Purchase.objects.bulk_create(
        [Purchase(part=part, quantity=1, state="ordered", bought_from=f"shop {at:04}") for at in range(ROWS)]
    )


@pytest.mark.parametrize(
    ("made", "name", "turns", "row"),
    [
        (people, "people", "page", r"hand-(\d{4})</span>"),
        (lent, "loans", "lent", r": loan (\d{4})<"),
        (friends, "friends", "workshops", r'<strong class="ref">Shed (\d{4})<'),
        (orders, "buy", "coming", r"from shop (\d{4})"),
    ],
)
def test_2000_rows_are_read_60_at_a_time(
    sign_in: Enter, made: Callable[[], None], name: str, turns: str, row: str
) -> None:
    made()
    client, address = sign_in("owner"), reverse(name)
    pages: list[list[str]] = []
    for at in (1, 2, 34):
        with CaptureQueriesContext(connection) as asked:
            html = client.get(address, {turns: at}).content.decode()
        assert len(asked) <= 40, "as many for 60 rows as for one"
        pages.append(re.findall(row, html))
        assert f"page {at} of 34" in html
    first, second, last = pages
    assert first + second == [f"{at:04}" for at in range(2 * OF_A_PAGE)]
    assert last == [f"{at:04}" for at in range(33 * OF_A_PAGE, ROWS)]


def test_one_list_of_a_page_is_turned_without_the_others(sign_in: Enter) -> None:
    friends()
    client = sign_in("owner")
    html = client.get(reverse("friends"), {"workshops": 3, "page": 1}).content.decode()
    assert 'href="?workshops=4&amp;page=1#workshops"' in html
    assert "page 3 of 34" in html


def test_a_loan_of_the_second_page_that_is_refused_stands_there_with_what_was_typed(sign_in: Enter) -> None:
    lent()
    PlaceFactory(name="A1")
    client, address = sign_in("bench"), f"{reverse('loans')}?lent=2"
    [loan] = Loan.objects.filter(reason="loan 0100")
    form = client.get(address).content.decode().partition(reverse("return-loan", args=[loan.pk]))[2]
    [leads_to] = re.findall(r'name="next" value="([^"]*)"', form.partition("</form>")[0])
    sent = {"next": leads_to, "to": "no such drawer"}
    answer = client.post(reverse("return-loan", args=[loan.pk]), sent)
    assert answer.headers["Location"].partition("#")[0] == address
    assert "Not found" in client.get(address).content.decode()


def test_an_owner_among_2000_is_found_by_a_few_letters(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), stock().lot
    people()
    group = Group.objects.get(name="bench")
    of_them = User.objects.filter(username__startswith="hand-").values_list("pk", flat=True)
    User.groups.through.objects.bulk_create(
        [User.groups.through(user_id=pk, group_id=group.pk) for pk in of_them]
    )
    for address in (reverse("lot", args=[lot.pk]), reverse("drawers")):
        page = client.get(address).content.decode()
        box = re.search(r'<input type="text" id="\w+" name="owner"[^>]* list="([a-z-]+)"', page)
        assert box is not None, address
        assert f'<datalist id="{box[1]}">' in page
    client.post(reverse("own"), {"lot": lot.pk, "owner": "hand-1999"})
    lot.refresh_from_db()
    assert lot.owner.username == "hand-1999"
    shown = client.get(reverse("drawers"), {"owner": "hand-1999"}).content.decode()
    assert "1 lot<" in shown
