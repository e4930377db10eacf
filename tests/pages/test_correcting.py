"""What is written of a lot is put right where it is seen, and one Undo puts back what stood there."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Holding, Lot
from repairs.reservations import reserve
from tests.factories import NeedFactory, PartFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def correct(client: Client, lot: Lot, **sent: object) -> tuple[int, str]:
    as_it_is = {
        "line": lot.part.spec.text,
        "marking": lot.marking,
        "condition": lot.condition,
        "note": lot.note,
    }
    answer = client.post(reverse("correct-lot", args=[lot.pk]), {**as_it_is, **sent}, follow=True)
    return answer.status_code, answer.content.decode()


def undo(client: Client) -> None:
    back = client.session["last"]["put_back"]
    client.post(back["address"], back["form"])


def of(value: str = "4k7") -> Holding:
    return stock(3, part=PartFactory(of=spec("resistor", value)))


def test_a_value_is_corrected_and_put_back(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), of().lot
    status, page = correct(
        client, lot, line="47k 5% 0.25W", marking="473", condition="suspect", note="misread"
    )
    lot = Lot.objects.get(pk=lot.pk)
    assert status == 200
    assert (lot.part.spec.text, lot.marking, lot.condition) == ("47k 5 % 0.25 W resistor", "473", "suspect")
    assert "Undo" in page
    undo(client)
    lot = Lot.objects.get(pk=lot.pk)
    assert (lot.part.spec.text, lot.marking, lot.condition, lot.note) == ("4k7 resistor", "", "good", "")


def test_a_word_that_is_not_understood_is_refused_and_stays_typed(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), of().lot
    status, page = correct(client, lot, line="47k wobbly", marking="473")
    assert status == 400
    assert "Not understood: wobbly" in page
    assert 'value="47k wobbly"' in page
    assert 'value="473"' in page
    assert Lot.objects.get(pk=lot.pk).part == lot.part


@pytest.mark.parametrize(
    ("typed", "pieces"), [("10k 5", 5), ("NE555 8", 8), ("BC547B 5", 5), ("12 x 4k7", 12)]
)
def test_how_many_is_not_dropped_where_one_part_is_typed(sign_in: Enter, typed: str, pieces: int) -> None:
    client, lot = sign_in("bench"), of().lot
    status, page = correct(client, lot, line=typed)
    assert status == 400
    assert f"{pieces} says how many, and this is one part" in page
    assert f'value="{typed}"' in page
    assert Lot.objects.get(pk=lot.pk).part == lot.part


def test_what_is_reserved_stays_the_part_that_was_reserved(sign_in: Enter) -> None:
    client, held = sign_in("bench"), of()
    reserve(NeedFactory(of=spec("resistor", "4k7")), held, 1, by=None)
    status, page = correct(client, held.lot, line="47k")
    assert status == 400
    assert "release them first" in page
    assert correct(client, held.lot, note="from the blue box")[0] == 200
    assert correct(sign_in("viewer"), held.lot, note="x")[0] == 403


def as_seen(lot: Lot) -> list[str]:
    return [lot.part.spec.text, lot.marking, lot.condition, lot.note]


def test_the_second_of_two_tabs_is_told_what_the_first_wrote_and_may_save_again(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), of().lot
    seen = as_seen(lot)
    assert correct(client, lot, marking="473", note="from the <blue> box", seen=seen)[0] == 200
    status, page = correct(client, lot, marking="472", note="mine", seen=seen)
    assert status == 400
    assert (
        "was changed since you opened it: marked 473, note: from the &lt;blue&gt; box. Save again if" in page
    )
    assert 'value="472"' in page
    now = Lot.objects.get(pk=lot.pk)
    assert (now.marking, now.note) == ("473", "from the <blue> box")
    assert '<input type="hidden" name="seen" value="473">' in page
    assert correct(client, lot, marking="472", note="mine", seen=as_seen(now))[0] == 200
    now = Lot.objects.get(pk=lot.pk)
    assert (now.marking, now.note) == ("472", "mine")


def test_what_this_person_left_alone_stays_as_somebody_else_wrote_it(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), of().lot
    seen = as_seen(lot)
    assert correct(client, lot, condition="suspect", note="hums", seen=seen)[0] == 200
    status, page = correct(client, lot, line="47k wobbly", marking="472", seen=seen)
    assert status == 400
    assert 'name="note" maxlength="4000" value="hums"' in page
    assert "<option selected>suspect</option>" in page
    assert correct(client, lot, marking="472", seen=seen)[0] == 200
    now = Lot.objects.get(pk=lot.pk)
    assert (now.marking, now.condition, now.note) == ("472", "suspect", "hums")
    undo(client)
    now = Lot.objects.get(pk=lot.pk)
    assert (now.marking, now.condition, now.note) == ("", "suspect", "hums")


def test_a_note_of_two_lines_is_not_made_one_by_another_correction(sign_in: Enter) -> None:
    client, lot = sign_in("bench"), of().lot
    Lot.objects.filter(pk=lot.pk).update(note="one\ntwo")
    seen = ["4k7 resistor", "", "good", "one\r\ntwo"]  # as a hidden field sends it
    assert correct(client, lot, marking="472", note="onetwo", seen=seen)[0] == 200
    now = Lot.objects.get(pk=lot.pk)
    assert (now.marking, now.note) == ("472", "one\ntwo")
