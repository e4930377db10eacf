"""Loans on pages: made, returned, refitted and proven, to and from boards and people."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from inventory import ledger
from inventory.models import Board, Holding, Lot, Place, StoredSpec
from repairs import loans
from repairs.models import Loan
from repairs.proving_models import LoanProof
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]


def borrowed() -> Loan:
    """A chip that is out of a working board."""
    board, tray = BoardFactory(name="Plover that works", purpose="working"), PlaceFactory(name="Tray 1")
    lot = stock(1, part=PartFactory(of=spec("resistor", "4k7")), place=tray).lot
    ledger.fit(lot, ledger.Spot(tray.pk), board, "R7", by=None)
    [line] = loans.borrow(board, ["R7"], ledger.Spot(tray.pk), by=None)
    return line.loan


def test_pieces_are_lent_to_somebody_new_and_come_back_to_another_drawer(sign_in: Enter) -> None:
    client, held, other = sign_in("bench"), stock(5), PlaceFactory(name="Tray 9")
    sent = {"person": "Wren", "quantity": "3", "due": "2027-01-15", "reason": "the school's lamp"}
    client.post(reverse("lend", args=[held.pk]), sent)
    loan = Loan.objects.get()
    assert (loan.due, loan.reason) == (date(2027, 1, 15), "the school's lamp")
    assert Place.objects.get(name="Wren").type == Place.Type.PERSON
    client.post(reverse("lend", args=[held.pk]), {"person": "wren", "quantity": "1"})
    assert Place.objects.filter(name__iexact="wren").count() == 1
    assert "Wren" in client.get(reverse("loans")).content.decode()
    client.post(reverse("return-loan", args=[loan.pk]), {"to": other.pk, "quantity": "2"})
    assert Holding.objects.get(lot=held.lot, place=other).quantity == 2
    assert loans.all_loans().get(pk=loan.pk).owed == 1


def test_a_borrowed_piece_goes_back_to_its_position_and_the_lender_is_proven(sign_in: Enter) -> None:
    client, loan = sign_in("bench"), borrowed()
    assert "It is back in Plover that works R7" in client.get(reverse("now")).content.decode()
    client.post(reverse("return-loan", args=[loan.pk]))
    home = Holding.objects.get(lot=loan.movement.lot, quantity=1)
    assert (home.place_id, home.ref) == (loan.movement.from_place_id, "R7")
    page = client.get(reverse("loans")).content.decode()
    assert "the board has not been tried since" in page
    client.post(reverse("prove-lender", args=[loan.pk]), {"passed": "yes", "reading": "log of 24 h"})
    assert LoanProof.objects.get().passed
    assert "the board passed" in client.get(reverse("loans")).content.decode()


def test_a_like_piece_goes_back_in_its_stead_and_another_does_not(sign_in: Enter) -> None:
    client, loan = sign_in("bench"), borrowed()
    other = stock(1, part=PartFactory(of=spec("capacitor", "100n"))).lot
    client.post(reverse("return-loan", args=[loan.pk]), {"lot": other.pk})
    assert loans.all_loans().get(pk=loan.pk).owed == 1
    like = stock(1, part=loan.movement.lot.part, condition=Lot.Condition.GOOD).lot
    client.post(reverse("return-loan", args=[loan.pk]), {"lot": like.pk})
    assert Holding.objects.get(lot=like, quantity=1).ref == "R7"


def test_by_when_and_why_are_given_later(sign_in: Enter) -> None:
    client, loan = sign_in("bench"), borrowed()
    client.post(reverse("change-loan", args=[loan.pk]), {"due": "2027-02-01", "reason": "to prove IC3"})
    loan.refresh_from_db()
    assert (loan.due, loan.reason) == (date(2027, 2, 1), "to prove IC3")
    answer = client.post(reverse("change-loan", args=[loan.pk]), {"due": "soon"}, follow=True)
    assert "soon is not a date" in answer.content.decode()
    loan.refresh_from_db()
    assert loan.due == date(2027, 2, 1)


@pytest.mark.parametrize(
    "sent", [{"person": ""}, {"person": "Wren", "quantity": "0"}, {"person": "Wren", "quantity": "99"}]
)
def test_a_loan_that_cannot_be_is_refused_and_nobody_is_made_up(sign_in: Enter, sent: dict) -> None:
    client, held = sign_in("bench"), stock(5)
    client.post(reverse("lend", args=[held.pk]), {"quantity": "1", **sent})
    assert not Loan.objects.exists()
    assert not Place.objects.filter(type=Place.Type.PERSON).exists()


def test_a_number_of_no_lot_and_a_drawer_that_is_gone_are_refused_where_one_was(sign_in: Enter) -> None:
    client, board, tray = sign_in("bench"), BoardFactory(purpose="working"), PlaceFactory(type="tray")
    ledger.fit(stock(1, place=tray).lot, ledger.Spot(tray.pk), board, "R1", by=None)
    piece = board.place.holdings.get(quantity=1)
    here = reverse("board", args=[board.pk])
    answer = client.post(reverse("borrow", args=[piece.pk]), {"to": 987654, "next": here}, follow=True)
    assert "Not found" in answer.content.decode()
    client.post(reverse("borrow", args=[piece.pk]), {"to": tray.pk, "next": here})
    loan = Loan.objects.get()
    answer = client.post(reverse("return-loan", args=[loan.pk]), {"lot": 987654}, follow=True)
    assert "There is no lot 987654" in answer.content.decode()
    assert Loan.objects.filter(pk=loan.pk).exists()


def test_a_viewer_lends_and_returns_nothing(sign_in: Enter) -> None:
    client, loan = sign_in("viewer"), borrowed()
    assert client.post(reverse("return-loan", args=[loan.pk])).status_code == 403
    assert "It is back" not in client.get(reverse("loans")).content.decode()


def works_with(ref: str, value: str) -> tuple[Board, Lot, Place]:
    """A board that works, what it holds there, and a tray."""
    board, tray = BoardFactory(name="Plover that works", purpose="working"), PlaceFactory(name="Tray 1")
    lot = stock(1, part=PartFactory(of=spec("resistor", value)), place=tray).lot
    ledger.fit(lot, ledger.Spot(tray.pk), board, ref, by=None)
    return board, lot, tray


def test_a_need_borrows_what_works_elsewhere_and_has_it_reserved(sign_in: Enter) -> None:
    client, (board, lot, tray) = sign_in("bench"), works_with("R7", "4k7")
    need = NeedFactory(job=JobFactory(name="Wren rebuild"), spec=StoredSpec.keep(spec("resistor", "4k7")))
    page = client.get(reverse("need", args=[need.pk])).content.decode()
    held = Holding.objects.get(lot=lot, ref="R7", quantity=1)
    assert reverse("borrow", args=[held.pk]) in page
    client.post(reverse("borrow", args=[held.pk]), {"to": tray.pk, "need": need.pk, "due": "2027-01-15"})
    loan = Loan.objects.get()
    assert (loan.job, loan.due, loan.movement.from_place) == (need.job, date(2027, 1, 15), board.place)
    assert need.reservations.get().holding.place == tray


def test_a_working_board_lends_the_piece_that_one_looks_at(sign_in: Enter) -> None:
    client, (board, lot, tray) = sign_in("bench"), works_with("R7", "4k7")
    page = client.get(f"{reverse('board', args=[board.pk])}?ref=R7").content.decode()
    held = Holding.objects.get(lot=lot, ref="R7", quantity=1)
    assert reverse("borrow", args=[held.pk]) in page
    client.post(reverse("borrow", args=[held.pk]), {"to": tray.pk, "reason": "to prove a fault"})
    assert Loan.objects.get().reason == "to prove a fault"
    assert Holding.objects.get(lot=lot, quantity=1).place == tray


def test_what_does_not_work_lends_nothing(sign_in: Enter) -> None:
    client, (board, lot, tray) = sign_in("bench"), works_with("R7", "4k7")
    board.purpose = Board.Purpose.DONOR
    board.save()
    held = Holding.objects.get(lot=lot, ref="R7", quantity=1)
    answer = client.post(reverse("borrow", args=[held.pk]), {"to": tray.pk}, follow=True)
    assert "Only from a board that works" in answer.content.decode()
    assert not Loan.objects.exists()
