"""Buying and supposing over the API, and made-up values: the questions that come before money is spent."""

from decimal import Decimal
from typing import Any

import pytest

from inventory.models import Lot, Part
from inventory.spec import Spec
from repairs.audit import audit
from repairs.models import Purchase
from tests.api.asking import read
from tests.api.test_problems import refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    SubstitutionFactory,
    spec,
    stock,
)
from tests.parts import CAN, CAN_16, CHIP, priced
from tests.sheets.importing import everything

API = "/api/v1/"


def get(client: Any, path: str) -> dict[str, Any]:
    return read(client, API + path)


def resistor(value: str, watts: str = "0.25", tolerance: int = 5, **more: Any) -> Spec:
    return spec("resistor", value, tolerance_percent=Decimal(tolerance), watts=Decimal(watts), **more)


# --- the list


def test_one_pack_is_bought_for_both_jobs_and_completes_them(viewer: Any) -> None:
    part = priced(CAN, "0.30", pack_size=5)
    one, other = NeedFactory(of=CAN_16, ref="C1"), NeedFactory(of=CAN, quantity=2)
    result = get(viewer, "buy/?postage=2.50")
    (line,) = result["results"]
    assert (line["part"], line["needed"], line["packs"], line["pieces"], line["for_stock"]) == (
        part.pk, 3, 1, 5, 2,
    )  # fmt: skip
    assert (line["price_each"], line["price"], line["postage"]) == ("0.3", "1.5", "2.5")
    assert [(job["job"], job["refs"], job["grade"]) for job in line["jobs"]] == [
        (one.job_id, ["C1"], "drop_in"), (other.job_id, [], "same"),
    ]  # fmt: skip
    assert line["completes"] == [one.job_id, other.job_id]
    assert result["completions"] == [{"lines": [0], "price": "1.5", "jobs": [one.job_id, other.job_id]}]
    assert result["totals"] == {
        "lines": 1, "pieces": 5, "price": "1.5", "known_price": "1.5", "postage": "2.5", "completes": 2,
        "ask": 0, "from_others": 0, "from_friends": 0, "asked": 0, "saved": None, "truncated": False,
    }  # fmt: skip


def test_only_what_the_named_job_lacks(viewer: Any) -> None:
    NeedFactory(of=CAN)
    asked = NeedFactory(of=CHIP)
    (line,) = get(viewer, f"buy/?job={asked.job_id}")["results"]
    assert line["name"] == CHIP.text


def test_what_may_be_borrowed_is_not_bought(viewer: Any) -> None:
    NeedFactory(of=CHIP)
    lender = BoardFactory(purpose="working")
    stock(place=lender.place, ref="IC1", part=PartFactory(of=CHIP), source="board", board=lender)
    assert len(get(viewer, "buy/")["results"]) == 1
    assert get(viewer, "buy/?borrow=true")["results"] == []


@pytest.mark.parametrize("query", ["postage=-1", "postage=1.234", "postage=dear", "job=x", "borrow=maybe"])
def test_a_bad_question_is_refused_with_where(viewer: Any, query: str) -> None:
    problem = refused(viewer.get(f"{API}buy/?{query}"), 400)
    assert problem["errors"][0]["pointer"].endswith(query.partition("=")[0])


# --- ordering


def test_from_short_to_wanted_to_ordered_to_a_lot(bench: Any) -> None:
    part = priced(CAN, "0.30")
    NeedFactory(of=CAN, quantity=4)
    wanted = Purchase.objects.create(part=part, quantity=3)
    body = {"lines": [{"part": part.pk, "quantity": 4, "from": "Harbour Radio"}]}
    answer = bench.post(f"{API}buy/order/", body)
    assert answer.status_code == 200, answer.content
    (made,) = answer.json()["purchases"]
    assert (made["id"], made["state"], made["quantity"], made["from"]) == (
        wanted.pk, "ordered", 4, "Harbour Radio",
    )  # fmt: skip
    assert get(bench, "buy/")["results"] == []
    assert get(bench, "shortages/")["totals"]["on_order"] == 4
    drawer = PlaceFactory()
    answer = bench.patch(f"{API}purchases/{wanted.pk}/", {"state": "received", "to": drawer.pk})
    lot = Lot.objects.get(pk=answer.json()["lot"])
    assert (lot.origin_source, lot.origin_from) == ("bought", "Harbour Radio")
    assert get(bench, "shortages/")["totals"]["free"] == 4
    assert audit() == []


def test_the_same_key_orders_once_and_without_one_the_second_press_is_refused(bench: Any) -> None:
    part = priced(CAN, "0.30")
    NeedFactory(of=CAN)
    body = {"lines": [{"part": part.pk, "quantity": 1}]}
    first, again = (bench.post(f"{API}buy/order/", body, HTTP_IDEMPOTENCY_KEY="order-1") for _ in range(2))
    assert (first.status_code, again.status_code) == (200, 200)
    assert first.json() == again.json()
    problem = refused(bench.post(f"{API}buy/order/", body), 409)
    assert problem["parts"] == [part.pk]
    assert [each.quantity for each in Purchase.objects.all()] == [1]


def test_a_part_that_nobody_knew_is_ordered_by_its_spec(bench: Any) -> None:
    NeedFactory(of=CHIP)
    (line,) = get(bench, "buy/")["results"]
    assert line["part"] is None
    body = {"lines": [{"part": line["spec"], "quantity": 1, "price": "0.85"}]}
    (made,) = bench.post(f"{API}buy/order/", body).json()["purchases"]
    assert (made["spec_text"], made["price"]) == (CHIP.text, "0.85")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/lines"),
        ({"lines": []}, "/lines"),
        ({"lines": [{"part": 999999, "quantity": 1}]}, "/lines/0/part"),
        ({"lines": [{"part": {"kind": "lamp"}, "quantity": 0}]}, "/lines/0/quantity"),
        ({"lines": [{"part": {"kind": "lamp"}, "quantity": 1, "price": "-1"}]}, "/lines/0/price"),
        ({"lines": [{"part": {"kind": "lamp"}, "quantity": 1, "colour": "red"}]}, "/lines/0/colour"),
        ({"lines": [{"part": {"kind": "lamp"}, "quantity": 1}] * 2}, "/lines"),
    ],
)
def test_a_bad_order_is_refused_with_where_and_orders_nothing(bench: Any, body: Any, pointer: str) -> None:
    problem = refused(bench.post(f"{API}buy/order/", body), 400)
    assert f"#{pointer}" in [error["pointer"] for error in problem["errors"]]
    assert not Purchase.objects.exists()


def test_who_reads_may_not_order(viewer: Any, stranger: Any) -> None:
    body = {"lines": [{"part": {"kind": "lamp"}, "quantity": 1}]}
    refused(viewer.post(f"{API}buy/order/", body), 403)
    refused(stranger.post(f"{API}buy/order/", body), 401)
    for path in ("buy/", "made-up/"):
        refused(stranger.get(API + path), 401)


# --- what if


@pytest.fixture
def two_jobs(db: None) -> tuple[int, int]:
    """One chip in a drawer; the urgent job has it, the later one is short of it."""
    urgent, later = JobFactory(name="Urgent", priority=1), JobFactory(name="Later: next", priority=4)
    NeedFactory(job=urgent, of=CHIP)
    NeedFactory(job=later, of=CHIP)
    stock(1, part=PartFactory(of=CHIP))
    return urgent.pk, later.pk


def test_parking_frees_a_piece_for_the_next_and_stores_nothing(
    viewer: Any, two_jobs: tuple[int, int]
) -> None:
    before = everything()
    result = get(viewer, f"shortages/?assume=park:{two_jobs[0]}")
    assert everything() == before
    assert result["totals"]["short"] == 0
    differs = result["difference"]
    assert differs["assumed"] == ["Urgent is parked"]
    assert (differs["now"]["short"], differs["completed"], differs["worse_off"]) == (1, [two_jobs[1]], [])
    assert differs["jobs"] == [
        {"job": two_jobs[0], "name": "Urgent", "short_now": 0, "short_then": None},
        {"job": two_jobs[1], "name": "Later: next", "short_now": 1, "short_then": 0},
    ]
    assert "difference" not in get(viewer, "shortages/")


def test_another_order_of_the_jobs_takes_from_one_what_it_gives_the_other(
    viewer: Any, two_jobs: tuple[int, int]
) -> None:
    differs = get(viewer, f"shortages/?assume=priority:{two_jobs[0]}:5")["difference"]
    assert (differs["completed"], differs["worse_off"]) == ([two_jobs[1]], [two_jobs[0]])


def test_a_job_is_also_named_by_its_name(viewer: Any, two_jobs: tuple[int, int]) -> None:
    differs = get(viewer, "shortages/?assume=priority:Later: next:1&assume=park:Urgent")["difference"]
    assert differs["assumed"] == ["Later: next has priority 1", "Urgent is parked"]


def test_what_would_be_bought_is_on_order(viewer: Any, two_jobs: tuple[int, int]) -> None:
    part = Part.objects.get()
    result = get(viewer, f"shortages/?assume=buy:{part.pk}:1")
    assert (result["totals"]["on_order"], result["difference"]["completed"]) == (1, [two_jobs[1]])
    assert not Purchase.objects.exists()


def test_what_was_recorded_of_a_place_holds_in_what_is_supposed(viewer: Any) -> None:
    """Crossed legs are a question, unless somebody saw it work at that very place."""
    wanted, offered = (
        Spec("transistor", number=number, traits={"pin_order": order})
        for number, order in (("2N3904", "E-B-C"), ("BC547", "C-B-E"))
    )
    board = BoardFactory(design=DesignFactory(positions={"TR1": wanted, "TR2": wanted}))
    job = JobFactory(name="Amplifier", board=board)
    for ref in ("TR1", "TR2"):
        NeedFactory(job=job, ref=ref, of=wanted)
    stock(2, part=PartFactory(of=offered))
    SubstitutionFactory(of=wanted, by_part=offered, design=board.design, ref="TR1")
    part = priced(offered, "0.10")
    now = get(viewer, "shortages/")["totals"]
    supposed = get(viewer, f"shortages/?assume=buy:{part.pk}:1")
    assert now["short"] == supposed["difference"]["now"]["short"] == supposed["totals"]["short"] == 1
    assert supposed["difference"]["jobs"] == []


def test_borrowing_may_be_supposed(viewer: Any, two_jobs: tuple[int, int]) -> None:
    lender = BoardFactory(purpose="working")
    stock(place=lender.place, ref="IC1", part=PartFactory(of=CHIP), source="board", board=lender)
    result = get(viewer, "shortages/?assume=borrow")
    assert (result["totals"]["borrowed"], result["difference"]["now"]["borrowed"]) == (1, 0)
    assert result["difference"]["completed"] == [two_jobs[1]]


def test_a_stripped_donor_lies_in_the_drawers_with_its_pieces_named(
    viewer: Any, two_jobs: tuple[int, int]
) -> None:
    donors = [BoardFactory(name=f"Donor {n}") for n in (1, 2)]
    for donor in donors:
        stock(place=donor.place, ref="IC7", part=PartFactory(of=CHIP), source="board", board=donor)
    result = get(viewer, f"shortages/?assume=strip:{donors[1].pk}")
    assert result["difference"]["now"]["on_donors"] == 1
    assert (result["totals"]["free"], result["totals"]["on_donors"]) == (2, 0)
    assert {(take["tier"], take["place_name"], take["ref"]) for take in result["results"][0]["take"]} >= {
        ("drawer", "Donor 2", "IC7")
    }


@pytest.mark.parametrize(
    "given",
    [
        "nonsense", "park", "park:", "park:99999", "park:Nobody", "priority:Urgent:9", "priority:Urgent",
        "borrow:1", "strip:99999", "strip:Lender", "buy:99999:1", "buy:{part}:0", "buy:{part}:many",
        "buy:{part}", "park:Closed", "park:Content", "buy:{part}:99999999999999999999",
    ],
)  # fmt: skip
def test_a_bad_assumption_is_refused(viewer: Any, two_jobs: tuple[int, int], given: str) -> None:
    BoardFactory(name="Lender", purpose="working")
    JobFactory(name="Closed", status="done")
    JobFactory(name="Content")
    given = given.format(part=Part.objects.get().pk)
    problem = refused(viewer.get(f"{API}shortages/", {"assume": given}), 400)
    assert problem["errors"][0]["pointer"].endswith("assume")


def test_what_is_supposed_is_sent_as_a_spreadsheet_too(viewer: Any, two_jobs: tuple[int, int]) -> None:
    def waiting(query: str) -> bytes:
        answer = viewer.get(f"{API}shortages/?format=csv{query}")
        assert answer.status_code == 200
        return b"".join(answer.streaming_content)

    assert b"Urgent" in waiting("")
    assert b"Urgent" not in waiting("&assume=park:Urgent")
    refused(viewer.get(f"{API}shortages/?format=csv&assume=park:Nobody"), 400)
    refused(viewer.get(f"{API}exports/shortages.csv?assume=park:Nobody"), 400)


def test_one_donor_is_not_stripped_twice(viewer: Any, two_jobs: tuple[int, int]) -> None:
    donor = BoardFactory()
    refused(viewer.get(f"{API}shortages/?assume=strip:{donor.pk}&assume=strip:{donor.pk}"), 400)


def test_what_the_list_says_it_completes_a_purchase_completes(viewer: Any) -> None:
    priced(CAN, "0.30", pack_size=5)
    priced(CHIP, "0.85")
    job = NeedFactory(of=CAN_16, quantity=2).job
    NeedFactory(of=CHIP, job=job)
    NeedFactory(of=CAN)
    result = get(viewer, "buy/")
    for each in result["completions"]:
        lines = [result["results"][at] for at in each["lines"]]
        asked = "&".join(f"assume=buy:{line['part']}:{line['pieces']}" for line in lines)
        assert get(viewer, f"shortages/?{asked}")["difference"]["completed"] == each["jobs"]


# --- made-up values


def test_what_the_plan_leaves_over_makes_up_what_is_short(viewer: Any) -> None:
    need = NeedFactory(of=resistor("750R"), ref="R11")
    part = PartFactory(of=resistor("1k5"))
    drawer = PlaceFactory(name="Drawer 3")
    stock(2, part=part, place=drawer)
    (row,) = get(viewer, "shortages/")["results"]
    (found,) = get(viewer, row["made_up"].removeprefix(API))["results"]
    (way,) = found["ways"]
    # Two equal resistors in parallel: half the value, twice the power, the same worst-case tolerance.
    assert (way["arrangement"], way["value_text"], way["error_percent"]) == ("1k5 ∥ 1k5", "750R", "0")
    assert (way["low_percent"], way["high_percent"], way["stands"]["watts"]) == ("-5", "5", "0.5")
    assert [(each["place_name"], each["share_percent"]["watts"]) for each in way["parts"]] == [
        ("Drawer 3", "50"), ("Drawer 3", "50"),
    ]  # fmt: skip
    assert way["steps"][-2:] == ["join 1k5 and 1k5 in parallel", "measure the whole: expect 712R5 to 787R5"]
    of_need = get(viewer, f"needs/{need.pk}/made-up/")
    assert (of_need["short"], of_need["jobs"], of_need["ways"]) == (1, [need.job_id], [way])
    assert get(viewer, "made-up/")["results"] == [of_need]


def test_a_piece_that_a_job_needs_makes_up_nothing(viewer: Any) -> None:
    need = NeedFactory(of=resistor("750R"))
    NeedFactory(of=resistor("1k5"))
    stock(2, part=PartFactory(of=resistor("1k5")))
    assert get(viewer, f"needs/{need.pk}/made-up/")["ways"] == []


def test_pieces_are_counted_off_where_the_plan_ends(viewer: Any) -> None:
    need = NeedFactory(of=resistor("750R"))
    NeedFactory(of=resistor("1k5"))
    part = PartFactory(of=resistor("1k5"))
    kept, first, second = (stock(1, part=part) for _ in range(3))
    (way,) = get(viewer, f"needs/{need.pk}/made-up/")["ways"]
    assert [each["lot"] for each in way["parts"]] == [first.lot_id, second.lot_id]
    assert kept.lot_id not in [each["lot"] for each in way["parts"]]


def test_a_piece_on_a_donor_is_lifted_first(viewer: Any) -> None:
    donor = BoardFactory(name="Plover donor")
    for ref in ("R1", "R2"):
        stock(place=donor.place, ref=ref, part=PartFactory(of=resistor("1k5")), source="board", board=donor)
    (found,) = get(viewer, "made-up/?kind=resistor&value=750R&tolerance_percent=5&watts=0.25")["results"]
    steps = found["ways"][0]["steps"]
    assert [step.split(" (")[0] for step in steps[:2]] == ["lift R1", "lift R2"]
    assert "soldering" in [each["step"] for each in found["ways"][0]["cautions"]]


@pytest.mark.parametrize(
    "query",
    [
        "kind=resistor&value=750R&use=rf", "kind=resistor&value=750R&fusible=true",
        "kind=capacitor&value=100n&safety_class=X2", "kind=resistor&value=750R&use=timing",
    ],
)  # fmt: skip
def test_some_places_take_nothing_made_up(viewer: Any, query: str) -> None:
    stock(2, part=PartFactory(of=resistor("1k5")))
    (found,) = get(viewer, f"made-up/?{query}")["results"]
    assert found["refused"].startswith("never in")
    assert found["ways"] == []


def test_a_place_that_takes_nothing_made_up_has_no_link(viewer: Any) -> None:
    NeedFactory(of=spec("capacitor", "100n", safety_class="X2"))
    NeedFactory(of=CHIP)
    assert [row["made_up"] for row in get(viewer, "shortages/")["results"]] == [None, None]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("kind=resistor", "value"), ("value=4k7", "kind"), ("kind=ic&value=4", "kind"),
        ("kind=resistor&value=blue", "value"), ("requirement=999999", "requirement"), ("count=9", "count"),
        ("kind=resistor&value=4k7&job=1", "job"), ("watts=1", "watts"), ("job=999999", "job"),
        ("kind=resistor&value=4k7&watts=much", "watts"),
    ],
)  # fmt: skip
def test_a_bad_wish_is_refused_with_where(viewer: Any, query: str, pointer: str) -> None:
    problem = refused(viewer.get(f"{API}made-up/?{query}"), 400)
    assert problem["errors"][0]["pointer"].endswith(pointer)
