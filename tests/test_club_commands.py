"""Whose things are, and what is asked of whom, at a terminal."""

import json
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory import ownership
from inventory.models import Board, Lot
from inventory.people import add_person, change_person
from repairs.models import PieceAsk, Reservation
from tests.factories import BoardFactory, JobFactory, NeedFactory, stock

pytestmark = pytest.mark.django_db


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    call_command(*words)
    return capsys.readouterr().out


def test_lots_a_board_and_all_of_a_person_change_hands(capsys: pytest.CaptureFixture[str]) -> None:
    merle, wren = add_person("merle"), add_person("wren")
    robin = add_person("robin", role="owner")
    add_person("onlooker", role="viewer")
    lot, board = stock().lot, BoardFactory(name="Plover donor")
    hers = ("--to", "merle", "--by", "merle")
    assert "1 became merle's" in printed(capsys, "whose", "lot", str(lot.pk), *hers)
    on_it = stock(1, place=board.place, ref="R1").lot
    assert on_it.owner is None
    assert "and 1 lot on it" in printed(capsys, "whose", "board", "Plover donor", *hers)
    assert (Lot.objects.get(pk=lot.pk).owner, Board.objects.get().owner) == (merle, merle)
    counts: list[dict[str, Any]] = json.loads(printed(capsys, "whose", "--json"))
    assert {"owner": "merle", "lots": 2, "boards": 1, "jobs": 0} in counts
    assert "merle" in printed(capsys, "whose")
    for words, why in (
        (("lot", str(lot.pk), "--to", "wren", "--by", "wren"), "only merle hands it on"),
        (("lot", str(lot.pk), "--to", "wren"), "only merle hands"),
        (("lot", "999", "--to", "wren"), "no lot has the number 999"),
        (("lot", str(lot.pk), "--to", "onlooker"), "does no work here"),
        (("lot", str(lot.pk), "--to", "gone"), "nobody is called gone"),
        (("all", "merle", "--to", "wren", "--by", robin.username), "only merle hands"),
    ):
        with pytest.raises(CommandError, match=why):
            call_command("whose", *words)
    change_person(merle, active=False)
    done = printed(capsys, "whose", "all", "merle", "--to", "wren", "--by", "robin")
    assert "2 lots and 1 board of merle became wren's" in done
    assert (Lot.objects.get(pk=lot.pk).owner, Board.objects.get(pk=board.pk).owner) == (wren, wren)


def test_pieces_are_asked_for_listed_answered_and_taken_back(capsys: pytest.CaptureFixture[str]) -> None:
    merle, wren = add_person("merle"), add_person("wren")
    held, need = stock(3), NeedFactory(job=JobFactory(name="Mend the Tern", owner=wren), quantity=3)
    ownership.give_lots([held.lot_id], merle, by=merle)
    ask = ("asks", "ask", str(need.pk), str(held.lot_id), "--by", "wren")
    assert "merle is asked" in printed(capsys, *ask, "--pieces", "2")
    number = str(PieceAsk.objects.get().pk)
    assert "Mend the Tern" in printed(capsys, "asks", "--of", "merle")
    [row] = json.loads(printed(capsys, "asks", "--json"))["results"]
    assert (row["owner"], row["quantity"], row["state"]) == ("merle", 2, "asked")
    for words, why in (
        (ask, "asked for it already|was asked for"), (("asks", "yes", number, "--by", "wren"), "is merle's"),
        (("asks", "yes", "99", "--by", "merle"), "nothing that was asked"),
        (("asks", "ask", "99", "1", "--by", "wren"), "no need has the number 99"),
        (("asks", "ask", str(need.pk), "99", "--by", "wren"), "no lot has the number 99"),
        ((*ask, "--pieces", "abc"), "--pieces abc: expected a whole number from 1"),
        ((*ask, "--pieces", "0"), "expected a whole number from 1"),
    ):  # fmt: skip
        with pytest.raises(CommandError, match=why):
            call_command(*words)
    assert "agreed" in printed(capsys, "asks", "yes", number, "--by", "merle")
    assert Reservation.objects.get().quantity == 2
    printed(capsys, *ask)
    last = str(PieceAsk.objects.latest("id").pk)
    assert "withdrawn" in printed(capsys, "asks", "withdraw", last, "--by", "wren")
    assert "Mend the Tern" not in printed(capsys, "asks")
    assert "withdrawn" in printed(capsys, "asks", "--all")
