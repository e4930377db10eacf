"""Planning at a terminal: what the commands print is what the API answers, and what is wrong is one line."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.http import QueryDict

from inventory.models import Board, Design, Holding, Place
from repairs.models import Job, Need, Purchase
from tests.sheets.importing import everything, lines_of

pytestmark = pytest.mark.django_db

TERN, DONOR = "Tern C rebuild", "Tern donor 1"
SOCKET = "18-way socket, DIP-18"


def output(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out, stderr=StringIO(), no_color=True)
    return out.getvalue()


def refused(*command: str) -> str:
    """The one line that says what is wrong; nothing was written."""
    before = everything()
    with pytest.raises(CommandError) as refusal:
        output(*command)
    assert everything() == before
    assert "\n" not in str(refusal.value)
    return str(refusal.value)


def number_of(name: str) -> int:
    """The number of a job, a board or a design."""
    for rows in (Job.objects, Board.objects):
        if found := rows.filter(name=name).first():
            return int(found.pk)
    return int(next(design.pk for design in Design.objects.all() if str(design) == name))


def need_at(ref: str) -> Need:
    return Need.objects.get(job__name=TERN, ref=ref)


# --- the same as the API


@pytest.mark.parametrize(
    ("command", "path"),
    [
        (("harvest",), "boards/harvest/"),
        (("harvest", "--job", TERN), "boards/harvest/?job={Tern C rebuild}"),
        (("transfer", TERN, "--from", DONOR), "jobs/{Tern C rebuild}/transfer/?from={Tern donor 1}"),
        (("buy",), "buy/"),
        (("buy", "--postage", "3.50", "--borrow", "--ask"), "buy/?postage=3.50&borrow=true&ask=true"),
        (("buy", "--job", TERN), "buy/?job={Tern C rebuild}"),
        (("make_up",), "made-up/"),
        (("make_up", "--job", TERN, "--count", "1"), "made-up/?job={Tern C rebuild}&count=1"),
        (
            ("make_up", "resistor", "750", "tolerance_percent=5", "watts=0.25"),
            "made-up/?kind=resistor&value=750&tolerance_percent=5&watts=0.25",
        ),
        (("make_up", "capacitor 4u7 volts=35 use=rf"), "made-up/?kind=capacitor&value=4u7&volts=35&use=rf"),
        (("shortages", "--ask"), "shortages/?ask=true"),
        (("lately", "--most", "30"), "lately/?most=30"),
        (("figures",), "figures/"),
        (
            ("shortages", "--assume", "park:Merlin pen driver", "--assume", "strip:Tern donor 1"),
            "shortages/?assume=park:Merlin pen driver&assume=strip:Tern donor 1",
        ),
        (
            ("compare", "Tern TR6 main board A", "Tern TR6 main board C"),
            "designs/{Tern TR6 main board A}/compare/?with={Tern TR6 main board C}",
        ),
    ],
)  # fmt: skip
def test_json_is_what_the_api_answers(workshop: None, viewer: Any, command: Any, path: str) -> None:
    for name in (TERN, DONOR, "Tern TR6 main board A", "Tern TR6 main board C"):
        path = path.replace(f"{{{name}}}", str(number_of(name)) if f"{{{name}}}" in path else "")
    where, _, query = path.partition("?")
    answer = viewer.get(f"/api/v1/{where}", QUERY_STRING=QueryDict(query).urlencode())
    assert answer.status_code == 200, answer.content
    assert json.loads(output(*command, "--json")) == answer.json()


def test_the_reasons_of_a_need_are_those_of_the_api(workshop: None, viewer: Any) -> None:
    need = need_at("IC14")
    answer = viewer.get(f"/api/v1/needs/{need.pk}/why/").json()
    assert answer["given"]
    assert json.loads(output("why", str(need.pk), "--json")) == answer
    assert json.loads(output("why", TERN, "ic14", "--json")) == answer
    made_up = viewer.get(f"/api/v1/needs/{need_at('R11').pk}/made-up/").json()
    assert json.loads(output("make_up", "--need", TERN, "R11", "--json")) == {"results": [made_up]}


# --- tables


def test_the_lifts_are_shown_by_board_after_what_to_mind(workshop: None) -> None:
    result = output("harvest", "--job", "Merlin pen driver")
    mind, lift = result.index("discharge through a resistor"), result.index("Lift off Gannet, no case")
    assert mind < lift < result.index("1N4937")
    assert "Follow local codes" in result[mind:lift]
    assert "hard to match" in result
    assert Holding.objects.filter(place__name="Gannet, no case", ref="TR3", quantity=1).exists()


def test_a_transfer_says_what_moves_what_is_missing_and_what_stays_empty(workshop: None) -> None:
    result = output("transfer", str(number_of(TERN)), "--from", DONOR)
    assert result.index("Draw the fume away") < result.index("From Tern donor 1 to Tern C, bare board")
    moved = next(line for line in result.splitlines() if "\tC13\t" in line and "moved" in line)
    assert moved.split("\t")[1:3] == ["C13", "C28"]
    assert "Must be found elsewhere" in result
    assert "680R offered" in result
    # Of the drawers' 1N5401 the job first in line has its two, so that the later one is given that of D5.
    assert "46 to the same reference, 2 moved" in result


def test_why_tells_who_has_the_piece_and_what_would_settle_a_doubt(workshop: None) -> None:
    result = output("why", TERN, "IC14")
    assert "Planned together with all of this kind that the job lacks: IC12-IC15" in result
    assert "Tern donor 2, IC14" in result
    assert "A closer look at the piece" in result
    assert "with working boards lending 0" in result
    assert "No plan is made for it" in output("why", TERN, "C1")


def test_a_made_up_value_comes_with_its_work_and_its_cautions(workshop: None) -> None:
    # 1k5 parallel to 1k5 is 750 Ω, 68 Ω in series with 680 Ω is 748 Ω: Ohm's law
    result = output("make_up", "--need", TERN, "R11")
    assert "1 short, for Tern C rebuild R11" in result
    way = next(line for line in result.splitlines() if "1k5 ∥ 1k5" in line)
    assert "750R" in way
    assert "68R + 680R" in result
    assert "measure the whole: expect 712R5 to 787R5" in result
    assert "Follow local codes" in result
    assert "never in a place for rf" in output("make_up", "capacitor", "1n", "use=rf")


def test_two_drawings_are_compared(workshop: None) -> None:
    result = output("compare", "Tern TR6 main board A", "Tern TR6 main board C")
    assert "Another part" in result
    counts = result.splitlines()[-1]
    assert counts.endswith("gone")
    same = output("compare", str(number_of("Tern TR6 main board A")), "Tern TR6 main board A")
    assert "Another part: none" in same
    assert "0 with another part, 0 new, 0 gone" in same


def test_an_assumption_says_whom_it_helps_and_stores_nothing(workshop: None) -> None:
    before = everything()
    lamp = Purchase.objects.count()
    result = output("shortages", "--assume", "buy:lithium cell, Li-SOCl2 3.6 V, half AA, tagged:2")
    assert "Supposed: 2 of lithium cell" in result
    assert f"{TERN}\t12\t11\n" in result
    assert "No job lacks more or less" in output("shortages", "--assume", "priority:Tern C rebuild:1")
    assert everything() == before
    assert Purchase.objects.count() == lamp


# --- spreadsheets


@pytest.mark.parametrize(
    ("command", "heading"),
    [
        (("harvest", "--job", TERN), "Lot"),
        (("transfer", TERN, "--from", DONOR), "To ref"),
        (("buy", "--job", TERN), "Pieces"),
        (("shortages", "--assume", "borrow", "--job", TERN), "Short"),
    ],
)
@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_a_plan_is_written_as_a_spreadsheet(
    workshop: None, tmp_path: Path, command: Any, heading: str, form: str
) -> None:
    target = tmp_path / f"plan.{form}"
    target.write_text("what was there before")
    assert output(*command, "--out", str(target)) == f"{target} written\n"
    with target.open("rb") as file:
        lines = lines_of(file)  # type: ignore[arg-type]
    assert lines
    assert heading in lines[0]


# --- ordering and receiving


def test_a_line_of_the_list_is_ordered_once(workshop: None) -> None:
    result = output("buy", "order", SOCKET, "--from", "Harbour Radio", "--price", "0.20")
    bought = Purchase.objects.latest("id")
    assert f"purchase {bought.pk}: 2 x {SOCKET}, ordered" in result
    assert (bought.quantity, str(bought.price), bought.bought_from) == (2, "0.2000", "Harbour Radio")
    assert f"{SOCKET} is not on the buy list" in refused("buy", "order", SOCKET)
    assert SOCKET in output("buy").partition("On order")[2]


def test_several_parts_are_ordered_by_their_numbers(workshop: None) -> None:
    on_list = [row["part"] for row in json.loads(output("buy", "--json"))["results"] if row["part"]][:2]
    result = output("buy", "order", *map(str, on_list), "--from", "Wren")
    assert result.count("ordered") == 2
    assert set(Purchase.objects.filter(bought_from="Wren").values_list("part_id", flat=True)) == set(on_list)


def test_what_came_is_a_lot_and_the_rest_stays_on_order(workshop: None) -> None:
    ordered = Purchase.objects.filter(state="ordered", quantity__gt=2).first()
    assert ordered is not None
    whole = ordered.quantity
    result = json.loads(
        output("buy", "receive", str(ordered.pk), "--to", "Tray 1", "--pieces", "2", "--json")
    )
    [row] = result["purchases"]
    assert (row["state"], row["quantity"]) == ("received", 2)
    assert Holding.objects.get(lot=row["lot"]).place == Place.objects.get(name="Tray 1")
    rest = Purchase.objects.get(state="ordered", part=ordered.part)
    assert rest.quantity == whole - 2
    assert "was received before" in refused("buy", "receive", str(ordered.pk), "--to", "Tray 1")


# --- refusals


@pytest.mark.parametrize(
    ("command", "message"),
    [
        (("harvest", "--job", "Nothing"), "no job named Nothing; open jobs:"),
        (("harvest", "--job", "9" * 30), "no job named"),
        (("harvest", "--out", "plan.pdf"), "ends in .xlsx or .csv"),
        (("harvest", "--out", "no/such/plan.csv"), "No such file"),
        (("transfer", "Nothing", "--from", DONOR), "no job is named Nothing"),
        (("transfer", TERN), "--from"),
        (("transfer", TERN, "--from", "Nothing"), "no board is named Nothing"),
        (("transfer", TERN, "--from", "Tern C, bare board"), "is the board of"),
        (("transfer", TERN, "--from", "Tern C, bare board", "--out", "x.csv"), "is the board of"),
        (("buy", "--postage", "a lot"), "expected an amount"),
        (("buy", "--postage", "a lot", "--out", "buy.csv"), "expected an amount"),
        (("buy", "order", "Nothing"), "Nothing is not on the buy list; on it:"),
        (("buy", "order", SOCKET, "--pieces", "0"), "--pieces"),
        (("buy", "order", SOCKET, "--pieces", "two"), "--pieces"),
        (("buy", "order", SOCKET, "--price", "-1"), "--price"),
        (("buy", "order", SOCKET, "--from", "x" * 201), "--from"),
        (("buy", "order", SOCKET, SOCKET), "name it once"),
        (("buy", "order", SOCKET, "24-way socket, DIP-24", "--pieces", "3"), "go with one part"),
        (("buy", "receive", "9999", "--to", "Tray 1"), "no purchase has the number 9999; on order:"),
        (("buy", "receive", "1"), "--to"),
        (("buy", "receive", "1", "--to", "Nowhere"), "no place is named Nowhere"),
        (("buy", "receive", "1", "--to", "Tray 1", "--pieces", "none"), "expected a whole number"),
        (("buy", "receive", "1", "--to", "Tray 1", "--by", "nobody"), "nobody is called nobody"),
        (("make_up", "ic", "74LS04"), "no ic is made up"),
        (("make_up", "resistor"), "say which value"),
        (("make_up", "thing", "4k7"), "thing is not a kind of part"),
        (("make_up", "resistor", "4k7 watts='"), "expected a kind"),
        (("make_up", "resistor", "some"), "value:"),
        (("make_up", "resistor", "4k7", "colour=red"), "colour:"),
        (("make_up", "resistor", "4k7", "--job", TERN), "expected one of"),
        (("make_up", "--need", "1", "2", "3"), "expected the number of a need"),
        (("make_up", "--count", "9"), "--count"),
        (("why", "99999999"), "no need has the number"),
        (("why", "x"), "no need has the number x"),
        (("why", TERN, "R999"), "needs nothing at R999; it does at"),
        (("why", "Nothing", "R1"), "no job is named Nothing"),
        (("compare", "1", "Nothing"), "no design is named Nothing; designs:"),
        (("compare", "1"), "DESIGN"),
        (("shortages", "--assume", "rob:bank"), "rob:bank: expected park:JOB"),
        (("shortages", "--assume", "strip:Tern C, bare board"), "only donors are stripped"),
        (("shortages", "--assume", "park:Nothing", "--out", "x.csv"), "there is no such job"),
    ],
)
def test_what_cannot_be_done_is_reported_in_one_line(
    workshop: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Any, message: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert message in refused(*command)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["harvest", "transfer", "buy", "make_up", "why", "compare", "shortages"])
def test_the_help_has_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        call_command(command, "--help")
    assert ended.value.code == 0
    assert f"  python3 manage.py {command}" in capsys.readouterr().out.partition("Example")[2]
