"""Plans for the bench over the API: what to lift, what moves between boards."""

from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from inventory.ledger import Spot
from inventory.models import Board, Holding, Lot, Part, Position
from inventory.spec import Spec
from repairs import demo, reservations
from repairs.models import Job, Reservation
from tests.api.asking import read
from tests.api.test_problems import refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)
from tests.parts import CHIP, RESISTOR, on_board

pytestmark = pytest.mark.usefixtures("adds_up")
API = "/api/v1/"
OTHER = spec("resistor", "10k", tolerance_percent=Decimal(5), watts=Decimal("0.25"))
BIG = spec("capacitor", "4700u", volts=Decimal(25), dielectric="aluminium", polarised=True)


def get(client: Any, path: str) -> dict[str, Any]:
    return read(client, API + path)


# --- the harvest


def test_only_what_no_drawer_holds_is_lifted(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR, quantity=2)
    stock(part=PartFactory(of=RESISTOR))
    donor = BoardFactory(name="Plover donor")
    for ref in ("R1", "R2"):
        on_board(donor, ref)
    [work] = get(bench, "boards/harvest/")["boards"]
    assert (work["board"], work["name"], work["place"]) == (donor.pk, "Plover donor", donor.place_id)
    [lift] = work["lifts"]
    assert (lift["ref"], lift["job"], lift["grade"]) == ("R1", need.job_id, "same")
    assert (lift["worth"], lift["why"]) == ("contested", "a small resistor costs less than the time")


def test_one_board_that_has_it_all_is_opened_rather_than_two(bench: Any) -> None:
    for of in (RESISTOR, OTHER):
        NeedFactory(of=of)
    first, second, whole = (BoardFactory() for _ in range(3))
    on_board(first, "R1")
    on_board(second, "R1", OTHER)
    for ref, of in (("R1", RESISTOR), ("R2", OTHER)):
        on_board(whole, ref, of)
    answer = get(bench, "boards/harvest/")
    assert [work["board"] for work in answer["boards"]] == [whole.pk]
    assert answer["totals"] == {"boards": 1, "lifts": 2, "extras": 0}


def test_sockets_are_emptied_first_then_what_is_large_and_chips_come_last(bench: Any) -> None:
    job = JobFactory()
    pulled = Spec(kind="ic", number="74LS08", lead_style="dip")
    specs = {"IC1": CHIP, "IC2": pulled, "R1": RESISTOR, "C1": BIG}
    design = DesignFactory(positions=specs)
    Position.objects.filter(design=design, ref="IC2").update(socketed=True)
    donor = BoardFactory(design=design)
    for ref, of in specs.items():
        on_board(donor, ref, of)
        NeedFactory(job=job, of=of)
    [work] = get(bench, "boards/harvest/")["boards"]
    assert [(lift["ref"], lift["stage"]) for lift in work["lifts"]] == [
        ("IC2", "pull"), ("C1", "large"), ("R1", "small"), ("IC1", "chip"),
    ]  # fmt: skip


def test_the_hazards_of_the_board_are_reported_with_it(bench: Any) -> None:
    NeedFactory(of=RESISTOR)
    on_board(BoardFactory(design=DesignFactory(hazards=["mains"], positions={"R1": RESISTOR})), "R1")
    [work] = get(bench, "boards/harvest/")["boards"]
    assert [each["step"] for each in work["cautions"]] == ["mains", "unsoldering", "soldering"]


def test_nothing_is_lifted_off_a_microwave_oven(bench: Any) -> None:
    NeedFactory(of=RESISTOR)
    oven = BoardFactory(design=DesignFactory(hazards=["microwave"], positions={"R1": RESISTOR}))
    on_board(oven, "R1")
    answer = get(bench, "boards/harvest/")
    assert answer["boards"] == []
    assert [(each["board"], each["caution"]["blocked"]) for each in answer["blocked"]] == [(oven.pk, True)]
    assert answer["out_of_reach"] == []  # it was not planned: the job is short of it


def test_what_the_drawers_run_low_on_is_suggested_where_the_iron_is_hot_anyway(bench: Any) -> None:
    NeedFactory(of=RESISTOR)
    open_anyway, other = BoardFactory(), BoardFactory()
    on_board(open_anyway, "R1")
    for number in range(2, 5):
        on_board(open_anyway, f"R{number}", OTHER)
    on_board(other, "R1", OTHER)
    stock(part=PartFactory(of=OTHER))
    Part.objects.filter(spec__value=OTHER.value).update(reorder_at=3)
    [work] = get(bench, "boards/harvest/")["boards"]
    assert work["board"] == open_anyway.pk
    assert [extra["ref"] for extra in work["extras"]] == ["R2", "R3"]
    given = {(extra["because"], extra["because_text"]) for extra in work["extras"]}
    assert given == {("reorder", "reorder at 3, 1 left in the drawers")}


def test_what_drawings_often_ask_for_is_suggested_too_in_every_form(bench: Any) -> None:
    NeedFactory(of=RESISTOR)
    donor = BoardFactory()
    on_board(donor, "R1")
    for number in range(2, 9):
        on_board(donor, f"R{number}", OTHER)
    stock(part=PartFactory(of=OTHER))
    refs = [f"R{number}" for number in range(10, 13)]
    # Revisions that share a position are one use of it: three are not often yet.
    DesignFactory(name="Dunlin", revision="A", positions=dict.fromkeys(refs, OTHER))
    DesignFactory(name="Dunlin", revision="B", positions=dict.fromkeys(refs, OTHER))
    assert get(bench, "boards/harvest/")["totals"]["extras"] == 0
    DesignFactory(name="Petrel", revision="A", positions={"R1": OTHER})
    [work] = get(bench, "boards/harvest/")["boards"]
    # A board takes three at most, and one is in a drawer.
    why = "drawings ask for its like at 4 positions, 1 left in the drawers"
    assert [(extra["ref"], extra["because"], extra["because_text"]) for extra in work["extras"]] == [
        ("R2", "popular", why),
        ("R3", "popular", why),
    ]
    sheet = bench.get(f"{API}exports/harvest.csv").getvalue().decode()
    assert sheet.count(why) == 2
    bench.force_login(bench.person)
    assert bench.get(reverse("harvest")).content.decode().count(why) == 2


def test_the_harvest_may_be_asked_for_one_job(bench: Any) -> None:
    one, other = NeedFactory(of=RESISTOR), NeedFactory(of=OTHER)
    for ref, of in (("R1", RESISTOR), ("R2", OTHER)):
        on_board(BoardFactory(), ref, of)
    for need, ref in ((one, "R1"), (other, "R2")):
        [work] = get(bench, f"boards/harvest/?job={need.job_id}")["boards"]
        assert [lift["ref"] for lift in work["lifts"]] == [ref]
    refused(bench.get(f"{API}boards/harvest/?job=999999"), 400)
    refused(bench.get(f"{API}boards/harvest/?job=x"), 400)
    refused(bench.get(f"{API}boards/harvest/?board=1"), 400)


def test_every_lift_of_the_demo_is_a_free_piece_on_that_board(bench: Any) -> None:
    demo.load(by=bench.person)
    answer = get(bench, "boards/harvest/")
    assert answer["totals"]["lifts"] > 5
    taken = {"boards": 0, "lots": set()}
    for work in answer["boards"]:
        for lift in (*work["lifts"], *work["extras"]):
            here = Holding.objects.get(lot=lift["lot"], place=work["place"], ref=lift["ref"])
            assert here.quantity > here.promised
            assert lift["lot"] not in taken["lots"]
            taken["lots"].add(lift["lot"])
    donors = get(bench, "shortages/")["totals"]["on_donors"]
    assert answer["totals"]["lifts"] + sum(each["quantity"] for each in answer["out_of_reach"]) == donors


# --- the transfer


@pytest.fixture
def rebuild() -> tuple[Job, Board]:
    """A bare board of revision C whose job wants everything, and a donor of revision A."""
    tighter = spec("resistor", "10k", tolerance_percent=Decimal(1), watts=Decimal("0.25"))
    new = DesignFactory(
        name="Dunlin", revision="C", positions={"R1": RESISTOR, "R5": OTHER, "R6": OTHER, "IC1": CHIP}
    )
    job = JobFactory(board=BoardFactory(design=new, purpose="under_repair"))
    for position in new.positions.select_related("spec"):
        NeedFactory(job=job, ref=position.ref, spec=position.spec)
    old = DesignFactory(name="Dunlin", revision="A")
    donor = BoardFactory(design=old)
    for ref, of in (("R1", RESISTOR), ("R2", OTHER), ("R3", tighter), ("R4", RESISTOR)):
        on_board(donor, ref, of)
    return job, donor


def test_a_transfer_says_of_each_piece_where_it_goes(bench: Any, rebuild: tuple[Job, Board]) -> None:
    job, donor = rebuild
    answer = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")
    moves = {move["to_ref"]: move for move in answer["moves"]}
    assert (moves["R1"]["ref"], moves["R1"]["how"]) == ("R1", "same")
    from_where = {(moves[ref]["ref"], moves[ref]["how"]) for ref in ("R5", "R6")}
    assert from_where == {("R2", "moved"), ("R3", "substitute")}
    assert moves["R1"]["need"] == job.needs.get(ref="R1").pk
    assert [each["ref"] for each in answer["missing"]] == ["IC1"]
    assert [each["ref"] for each in answer["left_over"]] == ["R4"]
    assert answer["totals"] == {
        "same": 1, "moved": 1, "substitute": 1, "missing": 1, "empty": 0, "left_over": 1, "filled": 0,
    }  # fmt: skip
    assert [each["step"] for each in answer["cautions"]] == ["unsoldering", "soldering"]


def test_a_position_left_out_on_purpose_stays_empty(bench: Any, rebuild: tuple[Job, Board]) -> None:
    job, donor = rebuild
    given = {"check": "position", "subjects": ["R5"], "why": "only for the later chip"}
    assert bench.post(f"{API}boards/{job.board_id}/exceptions/", given).status_code == 201
    answer = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")
    assert [(each["ref"], each["why"]) for each in answer["empty"]] == [("R5", "only for the later chip")]
    assert "R5" not in {move["to_ref"] for move in answer["moves"]}


def test_a_piece_promised_to_another_job_does_not_move(bench: Any, rebuild: tuple[Job, Board]) -> None:
    job, donor = rebuild
    first = Holding.objects.get(place=donor.place, ref="R1")
    reservations.reserve(NeedFactory(of=RESISTOR), first, 1, by=None)
    moves = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")["moves"]
    assert ("R4", "R1", "moved") in {(move["ref"], move["to_ref"], move["how"]) for move in moves}
    own = Reservation.objects.get()
    own.need.job = job
    reservations.release(own)
    reservations.reserve(job.needs.get(ref="R1"), first, 1, by=None)
    moves = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")["moves"]
    assert ("R1", "R1", "same") in {(move["ref"], move["to_ref"], move["how"]) for move in moves}


def test_what_the_plan_gives_an_earlier_job_does_not_move_and_the_transfer_says_so(
    bench: Any, rebuild: tuple[Job, Board]
) -> None:
    job, donor = rebuild
    reservations.lift(donor, ["R4"], Spot(PlaceFactory(type="person").pk), by=None)
    urgent = JobFactory(name="East pier lamp", priority=1)
    NeedFactory(job=urgent, of=RESISTOR, ref="R9")
    answer = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")
    assert "R1" not in {move["ref"] for move in answer["moves"]}
    missing = next(each for each in answer["missing"] if each["ref"] == "R1")
    assert missing["went"] == "the plan gives it to East pier lamp"
    rows = get(bench, "shortages/")["results"]
    takes = [take for row in rows for take in row["take"] if take["ref"] == "R1"]
    assert [take["job"] for take in takes] == [urgent.pk]
    why = get(bench, f"needs/{job.needs.get(ref='R1').pk}/why/")
    assert [each["job"] for each in why["elsewhere"]] == [urgent.pk]


def test_a_missing_piece_says_where_it_went(bench: Any, rebuild: tuple[Job, Board]) -> None:
    job, donor = rebuild
    drawer = PlaceFactory(name="Drawer 7")
    for ref in ("R1", "R4"):
        Lot.objects.filter(holdings__ref=ref).update(origin_ref=ref)
        reservations.lift(donor, [ref], Spot(drawer.pk), by=None)
    answer = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")
    lot = Lot.objects.get(origin_board=donor, origin_ref="R1").pk
    missing = next(each for each in answer["missing"] if each["ref"] == "R1")
    assert missing["went"] == f"lot {lot} came off there: it is at Drawer 7"


def test_a_working_donor_says_that_it_works(bench: Any, rebuild: tuple[Job, Board]) -> None:
    job, donor = rebuild
    assert get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")["notice"] == ""
    Board.objects.filter(pk=donor.pk).update(purpose="working")
    notice = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")["notice"]
    assert notice == f"{donor.name} works: what is lifted off it is borrowed, and owed back"


def test_a_transfer_wants_a_drawing_and_another_board(bench: Any, rebuild: tuple[Job, Board]) -> None:
    job, donor = rebuild
    path = f"{API}jobs/{job.pk}/transfer/"
    for query in ("", "?from=0", "?from=x", "?from=999999", f"?from={donor.pk}&from={donor.pk}", "?to=1"):
        refused(bench.get(path + query), 400)
    refused(bench.get(f"{path}?from={job.board_id}"), 409)
    refused(bench.get(f"{API}jobs/999999/transfer/?from={donor.pk}"), 404)
    refused(bench.get(f"{API}jobs/{JobFactory().pk}/transfer/?from={donor.pk}"), 409)


def test_a_donor_of_the_demo_moves_each_piece_once(bench: Any) -> None:
    demo.load(by=bench.person)
    job = Job.objects.get(name="Tern C rebuild")
    donor = Board.objects.get(name="Tern donor 1")
    answer = get(bench, f"jobs/{job.pk}/transfer/?from={donor.pk}")
    assert answer["totals"]["same"] > 5
    assert len({move["lot"] for move in answer["moves"]}) == len(answer["moves"])
    assert len({move["to_ref"] for move in answer["moves"]}) == len(answer["moves"])
    assert {move["grade"] for move in answer["moves"]} <= {"same", "drop_in", "with_note"}


# --- why


def test_a_need_shows_who_has_the_piece_it_would_have_had(bench: Any) -> None:
    first, second = JobFactory(priority=1), JobFactory(priority=4)
    NeedFactory(job=first, ref="R1", of=RESISTOR)
    need = NeedFactory(job=second, ref="R7", of=RESISTOR)
    here = stock(part=PartFactory(of=RESISTOR))
    answer = get(bench, f"needs/{need.pk}/why/")
    assert (answer["planned"], answer["given"], answer["short"]) == (True, [], 1)
    [other] = answer["elsewhere"]
    assert (other["lot"], other["job"], other["refs"], other["first_in_line"]) == (
        here.lot_id, first.pk, ["R1"], True,
    )  # fmt: skip
    assert (answer["if_first"], answer["if_borrowing"]) == (0, 1)


def test_a_need_shows_which_job_holds_what_it_wants(bench: Any) -> None:
    holder = NeedFactory(job=JobFactory(name="Tern rebuild"), of=RESISTOR, ref="R3")
    here = stock(part=PartFactory(of=RESISTOR))
    reservations.reserve(holder, here, 1, by=None)
    need = NeedFactory(job=JobFactory(name="East pier lamp"), of=RESISTOR, ref="R7")
    answer = get(bench, f"needs/{need.pk}/why/")
    [held] = answer["held"]
    assert (held["lot"], held["job"], held["job_name"], held["for_ref"]) == (
        here.lot_id, holder.job_id, "Tern rebuild", "R3",
    )  # fmt: skip
    promised = f"Reserved for Tern rebuild (R3): 1 piece, lot {here.lot_id} in {here.place.name}, would do."
    assert promised in answer["sentences"]


def test_promises_of_other_values_do_not_hide_the_job_that_holds_it(
    bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only so many promises are looked at: those of another value are none of them."""
    monkeypatch.setattr("repairs.answers.why.explaining.MAX_LOOKED_AT", 1)
    jobs_of = {of: JobFactory(name=name) for of, name in ((OTHER, "Plover"), (RESISTOR, "Tern rebuild"))}
    for of, job in jobs_of.items():
        reservations.reserve(NeedFactory(job=job, of=of), stock(part=PartFactory(of=of)), 1, by=None)
    need = NeedFactory(job=JobFactory(name="East pier lamp"), of=RESISTOR, ref="R7")
    [held] = get(bench, f"needs/{need.pk}/why/")["held"]
    assert held["job_name"] == "Tern rebuild"


def test_a_need_shows_that_a_working_board_has_one(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR)
    on_board(BoardFactory(purpose="working"), "R1")
    answer = get(bench, f"needs/{need.pk}/why/")
    assert (answer["short"], answer["if_first"], answer["if_borrowing"]) == (1, 1, 0)


def test_a_suspect_piece_is_refused_until_it_is_tested(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR)
    stock(part=PartFactory(of=RESISTOR), condition="suspect")
    [miss] = get(bench, f"needs/{need.pk}/why/")["refused"]
    assert (miss["grade"], miss["settled_by"]) == ("ask", "test")


def test_no_plan_is_made_for_a_need_that_lacks_nothing(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR)
    reservations.reserve(need, stock(part=PartFactory(of=RESISTOR)), 1, by=None)
    answer = get(bench, f"needs/{need.pk}/why/")
    assert (answer["planned"], answer["promised"], answer["short"]) == (False, 1, 0)
    refused(bench.get(f"{API}needs/999999/why/"), 404)
    refused(bench.get(f"{API}needs/{need.pk}/why/?job=1"), 400)


@pytest.mark.parametrize(
    "path", ["boards/harvest/", "jobs/{job}/transfer/?from={donor}", "needs/{need}/why/"]
)
def test_plans_are_for_everybody_signed_in_and_for_nobody_else(
    viewer: Any, stranger: Any, rebuild: tuple[Job, Board], path: str
) -> None:
    job, donor = rebuild
    there = API + path.format(job=job.pk, donor=donor.pk, need=job.needs.earliest("id").pk)
    assert viewer.get(there).status_code == 200
    refused(stranger.get(there), 401)
    refused(viewer.post(there.partition("?")[0], {}), 403)


def test_the_reasons_are_shown_in_sentences_too(bench: Any) -> None:
    first = JobFactory(name="Tern rebuild", priority=1)
    NeedFactory(job=first, ref="R1", of=RESISTOR)
    need = NeedFactory(job=JobFactory(name="East pier lamp", priority=4), ref="R7", of=RESISTOR)
    here = stock(part=PartFactory(of=RESISTOR))
    doubtful = stock(part=PartFactory(of=RESISTOR), condition="suspect")
    assert get(bench, f"needs/{need.pk}/why/")["sentences"] == [
        f"By itself it would have had 1 piece, lot {here.lot_id} in {here.place.name}; "
        "that goes to Tern rebuild (R1), which is first in line.",
        "1 piece short.",
        "If East pier lamp came first, nothing would be short.",
        f"To find out: test lot {doubtful.lot_id}, {doubtful.place.name} "
        "(a suspect piece is tested before it is used).",
    ]


def test_what_is_given_is_shown_with_its_notes_and_for_all_its_places(bench: Any) -> None:
    job = JobFactory(name="Tern rebuild")
    wanted = Spec(kind="capacitor", value=10**11, lead_style="axial")
    needs = [NeedFactory(job=job, ref=ref, of=wanted) for ref in ("C7", "C8")]
    here = stock(2, part=PartFactory(of=Spec(kind="capacitor", value=10**11, lead_style="radial")))
    assert get(bench, f"needs/{needs[1].pk}/why/")["sentences"] == [
        "Tern rebuild lacks 2 pieces of it, planned together: C7, C8.",
        f"The plan takes 2 pieces, first lot {here.lot_id} in {here.place.name}: with a note "
        "(lead style: fold the long lead along the body and sleeve it).",
    ]


def test_what_no_other_order_and_no_loan_would_mend_is_reported(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR)
    assert get(bench, f"needs/{need.pk}/why/")["sentences"] == [
        "1 piece short.",
        "Neither another place in line nor borrowing from working boards would change that.",
    ]
