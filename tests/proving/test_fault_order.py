"""What to look at on a board that fails as a whole, and how a chip leaves its socket.

The fault order (supply, rails, clock and reset, ROM, lower memory, upper memory, the rest), and that nothing
is levered out: common practice, no source.
"""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Board, Design
from repairs import trials
from tests.factories import BoardFactory, DesignFactory, PartFactory, spec, stock

RAM = spec("ic", None, number="2114", package="dip18", lead_style="dip", traits={"function": "sram"})
ROM = spec("ic", None, number="2716", package="dip24", lead_style="dip", traits={"function": "eprom"})
CRYSTAL = spec("crystal", "4.096 MHz")
POSITIONS = {"U1": RAM, "U2": RAM, "U8": ROM, "Y1": CRYSTAL}


@pytest.fixture
def machine(db: None) -> Board:
    """Memory whose lower half is U2, a ROM in a socket, a crystal and one rail; all of it fitted."""
    design = DesignFactory(positions=POSITIONS)
    upper = {"start": "0400", "end": "07FF", "bits": {"D0-D3": "U1"}}
    lower = {"start": "0000", "end": "03FF", "bits": {"D0-D3": "U2"}}
    Design.objects.filter(pk=design.pk).update(
        rails=[{"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25"}],
        banks=[{"name": "RAM", "refs": ["U1", "U2"], "map": [upper, lower]}],
    )
    design.positions.exclude(ref="Y1").update(socketed=True)
    board = BoardFactory(design=Design.objects.get(pk=design.pk), purpose="under_repair")
    for ref, of in POSITIONS.items():
        stock(place=board.place, ref=ref, part=PartFactory(of=of), source="board", board=board)
    return board  # type: ignore[no-any-return]


def suspects(client: Any, board: Board) -> list[tuple[str, str]]:
    answer = client.get(f"/api/v1/boards/{board.pk}/suspects/").json()
    return [(each["kind"], each["subject"]) for each in answer["suspects"]]


def fail(board: Board) -> None:
    trials.record(by=None, board=board, method="soak", verdict="faulty", reading="does not start")


def test_a_board_that_fails_as_a_whole_is_looked_at_in_the_order_of_the_trade(
    bench: Any, machine: Board
) -> None:
    before = suspects(bench, machine)
    assert not {"supply", "clock", "rom", "memory"} & {kind for kind, _subject in before}
    fail(machine)
    after = [each for each in suspects(bench, machine) if each not in before]
    assert after == [("supply", ""), ("clock", "Y1"), ("rom", "U8"), ("memory", "U2"), ("memory", "U1")]
    whole = suspects(bench, machine)
    rails = [place for place, (_kind, subject) in enumerate(whole) if subject == "+5V"]
    assert rails
    assert all(whole.index(("supply", "")) < place < whole.index(("clock", "Y1")) for place in rails)


@pytest.mark.parametrize("passed", [True, False])
def test_a_memory_test_or_a_pass_since_then_says_where_to_look(
    bench: Any, machine: Board, passed: bool
) -> None:
    fail(machine)
    body = {"passed": True} if passed else {"faults": "0001: wrote 00, read 01"}
    assert bench.post(f"/api/v1/boards/{machine.pk}/memory/", body).status_code == 201
    found = suspects(bench, machine)
    assert not {"supply", "clock", "rom", "memory"} & {kind for kind, _subject in found}
    assert (("part", "U2") in found) is not passed


def test_the_page_of_what_stands_in_the_way_lists_it_too(machine: Board, client: Client, bench: Any) -> None:
    client.force_login(bench.person)
    address = reverse("safe", args=[machine.pk])
    assert "What to try next" not in client.get(address).content.decode()
    fail(machine)
    page = client.get(address).content.decode()
    assert "the supply first, alone" not in page  # it is a step of the page itself
    assert page.index("reset, that it lets go") < page.index("read-only memory")
    assert page.index("read-only memory") < page.index("this one from 0000") < page.index("one from 0400")


def test_a_chip_in_a_socket_is_pulled_and_what_is_soldered_warmed(
    machine: Board, client: Client, bench: Any
) -> None:
    client.force_login(bench.person)
    for ref, how in (("U8", "from both ends"), ("Y1", "Warm the whole part")):
        page = client.get(reverse("strip", args=[machine.pk]), {"ref": ref}).content.decode()
        assert how in page
        assert "never lever it" in page
        answer = bench.get(f"/api/v1/boards/{machine.pk}/cautions/?refs={ref}").json()
        assert any(how in each["text"] for each in answer["cautions"])
