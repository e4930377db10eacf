"""`manage.py ready`: the same verdict at a terminal."""

import json
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from repairs import bringing_up
from tests.factories import BoardFactory, DesignFactory, spec

pytestmark = pytest.mark.django_db


def test_it_tells_what_is_open_and_its_exit_status(capsys: pytest.CaptureFixture[str]) -> None:
    rails = [{"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25"}]
    design = DesignFactory(positions={"R1": spec()}, rails=rails)
    board = BoardFactory(name="Plover bare", design=design)
    with pytest.raises(SystemExit) as left:
        call_command("ready", "Plover bare")
    assert left.value.code == 1
    result = capsys.readouterr().out
    assert "R1" in result
    assert "Plover bare: open" in result
    assert "local codes" in result
    for check in ("inspection", "supply"):
        bringing_up.confirm(board, check, by=None, right=True)
    bringing_up.accept(board, "position", ["R1"], "left out", by=None)
    for stage, amount in (("ohms", 220), ("chips_out", 5)):
        bringing_up.read_rail(board, "+5V", stage, Decimal(amount), by=None)
    call_command("ready", str(board.pk), "--json", "--all")
    answer = json.loads(capsys.readouterr().out)
    assert (answer["verdict"], answer["accepted"]) == ("ready", 1)
    call_command("ready", str(board.pk))
    assert "Plover bare: ready, 1 accepted by someone" in capsys.readouterr().out


@pytest.mark.parametrize("named", ["Plover", "999999", "9" * 30, "", "²"])
def test_a_board_that_is_not_there_is_reported_in_one_line(named: str) -> None:
    with pytest.raises(CommandError, match="no board is named"):
        call_command("ready", named)
