"""Ways to `ready` with something wrong, each tried on a board that was ready a moment before; and sound
boards that must reach it.

The order of bringing up: look, supply alone, ohms of each rail, polarity by the rail, links by the chips,
heatsinks, rails, then chips in stages, with the ohms once more and volts at the pins (common practice, no
source). One file, since each way begins with the same board.
"""

from collections.abc import Callable, Iterator
from copy import copy
from typing import Any

import pytest

from inventory import ledger
from inventory.api import rates
from inventory.ledger import Spot
from inventory.models import Board, Design, Holding, Lot, Position, StoredSpec
from inventory.spec import Spec
from repairs import trials
from tests.api.test_problems import refused
from tests.conftest import signed_in
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, spec, stock
from tests.made_once import made_for_all_tests_of_a_file

API = "/api/v1/"
MEMORY = spec("ic", None, number="4116", package="dip16", lead_style="dip", make="Hitachi")
BEAD = spec("capacitor", "10u", dielectric="tantalum", volts="16", polarised=True)
TRANSISTOR = spec("transistor", None, number="BC547", traits={"polarity": "npn", "pin_order": "CBE"})
PARTS = {"U1": MEMORY, "C1": BEAD, "Q1": TRANSISTOR, "R1": spec(), "R2": spec("resistor", "1k")}
RAILS = [
    {"name": "-5V", "nominal": "-5", "low": "-5.25", "high": "-4.75", "order": 1, "protects": ["U1"]},
    {"name": "+12V", "nominal": "12", "low": "11.4", "high": "12.6", "order": 2, "protects": ["U1"]},
]
PLAIN = {**RAILS[1], "protects": []}
LINK = {
    "name": "LK1", "settings": ["1-2", "2-3"],
    "rules": [{"setting": "1-2", "when": {"ref": "U1", "make": "Hitachi"}}],
}  # fmt: skip
VOLTS = {"-5V": "-5.02 V", "+12V": "12.1 V", "+5V": "5.01 V"}


class Bench:
    """A person who brings a board up, by the API alone."""

    def __init__(self, client: Any, design: Design, parts: dict[str, Spec]) -> None:
        self.client, self.design, self.parts = client, design, parts
        self.board: Board = BoardFactory(design=design, purpose="under_repair")
        self.here = f"{API}boards/{self.board.pk}/"
        self.tray = PlaceFactory()

    def post(self, path: str, status: int = 201, **body: Any) -> Any:
        answer = self.client.post(path if path.startswith("/") else self.here + path, body)
        assert answer.status_code == status, answer.content
        return answer.json()

    def ready(self) -> Any:
        return self.client.get(f"{self.here}ready/").json()

    @property
    def verdict(self) -> str:
        return str(self.ready()["verdict"])

    def left(self) -> set[tuple[str, str, str]]:
        """What does not pass: check, state, and the subject or references."""
        return {
            (item["check"], item["state"], item["subject"] or " ".join(item["refs"]))
            for item in self.ready()["items"]
            if item["state"] != "pass"
        }

    def fit(self, ref: str, of: Spec | None = None, condition: str = "good") -> Lot:
        piece = stock(part=PartFactory(of=of or self.parts[ref]), condition=condition)
        ledger.fit(piece.lot, Spot(piece.place_id), self.board, ref, by=None)
        return piece.lot

    def take_out(self, ref: str) -> Lot:
        return ledger.remove(self.board, ref, Spot(self.tray.pk), by=None).lot

    def put_back(self, lot: Lot, ref: str) -> None:
        ledger.fit(lot, Spot(self.tray.pk), self.board, ref, by=None)

    def lot_at(self, ref: str) -> Lot:
        return Holding.objects.get(place=self.board.place_id, ref=ref, quantity=1).lot

    def read(self, stage: str, **readings: str) -> None:
        for rail in [rail["name"] for rail in self.design.rails]:
            reading = readings.get(rail, "1k2" if stage == "ohms" else VOLTS[rail])
            self.post("rails/", rail=rail, stage=stage, reading=reading)

    def pins(self, *refs: str) -> None:
        for rail in self.design.rails:
            self.post("rails/", rail=rail["name"], stage="at_pins", reading=VOLTS[rail["name"]], refs=refs)

    def see(self, *refs: str) -> None:
        self.post("orientation/", refs=refs, right=True)

    def check(self, *names: str) -> None:
        for name in names:
            self.post("checks/", check=name, right=True)

    def accept(self, check: str, *subjects: str, why: str = "known from before", status: int = 201) -> Any:
        return self.post("exceptions/", status, check=check, subjects=list(subjects), why=why)

    def change_position(self, ref: str, of: Spec | None = None, **columns: Any) -> None:
        """A correction of the design."""
        if of is not None:
            columns["spec"] = StoredSpec.keep(of)
        Position.objects.filter(design=self.design, ref=ref).update(**columns)

    def change_design(self, **members: Any) -> None:
        answer = self.client.patch(f"{API}designs/{self.design.pk}/", members)
        assert answer.status_code == 200, answer.content
        self.design.refresh_from_db()


def made(
    client: Any, parts: dict[str, Spec], *, socketed: tuple[str, ...] = ("U1",), **members: Any
) -> Bench:
    design = DesignFactory(positions=parts, **members)
    design.positions.filter(ref__in=socketed).update(socketed=True)
    return Bench(client, design, parts)


@pytest.fixture(scope="module")
def was_ready(django_db_setup: None, django_db_blocker: Any) -> Iterator[Bench]:
    with made_for_all_tests_of_a_file(lambda: brought_up(signed_in("bench")), django_db_blocker) as bench:
        yield bench


@pytest.fixture
def bench(was_ready: Bench, db: None) -> Any:
    rates.forget()
    return was_ready.client


@pytest.fixture
def bench_up(was_ready: Bench, bench: Any) -> Bench:
    """The board that was brought up, as it was then."""
    up = copy(was_ready)
    up.design, up.board = Design.objects.get(pk=up.design.pk), Board.objects.get(pk=up.board.pk)
    return up


def brought_up(client: Any) -> Bench:
    """A board that is ready: everything was looked at and measured, in order."""
    up = made(client, PARTS, rails=RAILS, links=[LINK])
    for ref in ("C1", "Q1", "R1", "R2"):
        up.fit(ref)
    up.check("supply")
    up.read("ohms")
    up.read("chips_out")
    up.fit("U1")
    up.see("C1", "Q1", "U1")
    up.post("links/", settings={"LK1": "1-2"})
    up.read("ohms")
    up.pins("U1")
    up.check("inspection")
    assert up.verdict == "ready", up.left()
    return up


def no_rails(up: Bench) -> None:
    up.change_design(rails=[])


def another_rail(up: Bench) -> None:
    five = {"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25", "order": 3}
    up.change_design(rails=[*RAILS, five])


def smoke(up: Bench) -> None:
    up.post(f"{API}trials/", board=up.board.pk, method="smoke from C1", in_circuit=True, verdict="faulty")


def failed_at_a_position(up: Bench) -> None:
    up.post(f"{API}trials/", board=up.board.pk, ref="U1", method="soak", in_circuit=True, verdict="suspect")


def failed_in_circuit(up: Bench) -> None:
    lot = up.lot_at("U1").pk
    up.post(f"{API}trials/", lot=lot, method="soak", in_circuit=True, verdict="faulty")


def note_on_polarity(up: Bench) -> None:
    up.change_position("C1", note="the -5 V output: plus to 0 V")


def dielectric_corrected(up: Bench) -> None:
    up.change_position("C1", of=spec("capacitor", "10u", dielectric="aluminium", volts="16", polarised=True))


def other_revision(up: Bench) -> None:
    later = DesignFactory(name=up.design.name, revision="B", positions=PARTS, rails=RAILS, links=[LINK])
    later.positions.filter(ref="U1").update(socketed=True)
    later.positions.filter(ref="C1").update(note="stripe to the edge connector")
    answer = up.client.patch(up.here, {"design": later.pk})
    assert answer.status_code == 200, answer.content


def design_taken_away(up: Bench) -> None:
    Board.objects.filter(pk=up.board.pk).update(design=None)


def settings_of_a_link_changed(up: Bench) -> None:
    up.change_design(links=[{**LINK, "settings": ["1-2", "3-4"]}])


def link_rule_added(up: Bench) -> None:
    rules = [{"setting": "2-3", "when": {"ref": "U1", "number": "4116"}}]
    up.change_design(links=[{**LINK, "rules": rules}])


def window_narrowed(up: Bench) -> None:
    up.change_design(rails=[{**RAILS[0], "low": "-5.01", "high": "-4.99"}, RAILS[1]])


def measured_elsewhere(up: Bench) -> None:
    up.change_design(rails=[{**RAILS[0], "at": "C1 minus"}, RAILS[1]])


def supply_for_other_volts(up: Bench) -> None:
    up.change_design(rails=[{**RAILS[0]}, {**RAILS[1], "nominal": "12.2"}])


def ohms_bounded(up: Bench) -> None:
    up.change_design(rails=[{**RAILS[0], "ohms_high": "470"}, RAILS[1]])


def swapped_for_a_twin(up: Bench) -> None:
    up.take_out("U1")
    up.fit("U1")


def taken_out_and_put_back(up: Bench) -> None:
    up.put_back(up.take_out("C1"), "C1")


def chip_refitted_and_seen_but_not_measured(up: Bench) -> None:
    up.put_back(up.take_out("U1"), "U1")
    up.see("U1")
    up.post("links/", settings={"LK1": "1-2"})
    up.check("inspection")
    up.pins("U1")


def counted_away(up: Bench) -> None:
    ledger.count(up.lot_at("R1"), Spot(up.board.place_id, "R1"), 0, by=None)


def something_undrawn(up: Bench) -> None:
    up.fit("R9", of=spec())
    up.check("inspection")


def condition_made_suspect(up: Bench) -> None:
    trials.record(by=None, lot=up.lot_at("R1"), method="look", verdict="suspect")


def reading_outside(up: Bench) -> None:
    up.post("rails/", rail="-5V", stage="at_pins", reading="-4.1 V", refs=["U1"])


def shorted_with_chips_in(up: Bench) -> None:
    up.post("rails/", rail="-5V", stage="ohms", reading="2R")


def wrong_way_round(up: Bench) -> None:
    up.post("orientation/", refs=["C1"], right=False)


def marking_read_again(up: Bench) -> None:
    """The piece turns out to be the PNP twin."""
    part = PartFactory(
        of=spec("transistor", None, number="BC557", traits={"polarity": "pnp", "pin_order": "CBE"})
    )
    Lot.objects.filter(pk=up.lot_at("Q1").pk).update(part=part)


def pin_order_read_again(up: Bench) -> None:
    part = PartFactory(
        of=spec("transistor", None, number="BC547", traits={"polarity": "npn", "pin_order": "EBC"})
    )
    Lot.objects.filter(pk=up.lot_at("Q1").pk).update(part=part)


def make_read_again(up: Bench) -> None:
    part = PartFactory(of=spec("ic", None, number="4116", package="dip16", lead_style="dip", make="NEC"))
    Lot.objects.filter(pk=up.lot_at("U1").pk).update(part=part)


def hazard_found(up: Bench) -> None:
    up.change_design(hazards=["microwave"])


def position_added(up: Bench) -> None:
    Position.objects.create(design=up.design, ref="R3", spec=StoredSpec.keep(spec()))


def heatsink_asked_by_the_part(up: Bench) -> None:
    hot = spec(
        "transistor", None, number="BC547", package="TO-220AB", traits={"polarity": "npn", "pin_order": "CBE"}
    )
    Lot.objects.filter(pk=up.lot_at("Q1").pk).update(part=PartFactory(of=hot))


def confirmation_withdrawn(up: Bench) -> None:
    first = up.client.get(f"{up.here}checks/").json()["checks"][0]["id"]
    assert up.client.delete(f"{up.here}checks/{first}/").status_code == 204


def reading_withdrawn(up: Bench) -> None:
    rails = up.client.get(f"{up.here}rails/").json()["rails"]
    pins = next(row["id"] for row in rails[0]["readings"] if row["stage"] == "at_pins")
    assert up.client.delete(f"{up.here}rails/{pins}/").status_code == 204


def board_scrapped(up: Bench) -> None:
    Board.objects.filter(pk=up.board.pk).update(purpose="scrapped")


WAYS: dict[Callable[[Bench], None], set[str]] = {
    no_rails: {"design", "supply", "rail"},
    another_rail: {"supply", "ohms", "rail", "ohms_in"},
    smoke: {"trial"},
    failed_at_a_position: {"trial"},
    failed_in_circuit: {"trial"},
    note_on_polarity: {"orientation"},
    dielectric_corrected: {"orientation"},
    other_revision: {"orientation"},
    design_taken_away: {"design"},
    settings_of_a_link_changed: {"link"},
    link_rule_added: {"link"},
    window_narrowed: {"rail", "pins"},
    measured_elsewhere: {"ohms", "rail", "ohms_in", "pins"},
    supply_for_other_volts: {"supply"},
    ohms_bounded: {"ohms", "ohms_in", "rail"},
    swapped_for_a_twin: {"orientation", "link", "ohms_in", "pins"},
    taken_out_and_put_back: {"orientation", "inspection", "ohms", "rail", "ohms_in", "pins"},
    chip_refitted_and_seen_but_not_measured: {"ohms_in"},
    counted_away: {"position", "inspection", "ohms", "rail", "ohms_in", "pins"},
    something_undrawn: {"position", "ohms", "rail", "ohms_in", "pins"},
    condition_made_suspect: {"condition"},
    reading_outside: {"pins"},
    shorted_with_chips_in: {"ohms", "ohms_in", "rail"},
    wrong_way_round: {"orientation"},
    marking_read_again: {"fit"},
    pin_order_read_again: {"orientation"},
    make_read_again: {"link"},
    hazard_found: {"hazards"},
    position_added: {"position"},
    heatsink_asked_by_the_part: {"heatsink"},
    confirmation_withdrawn: {"supply"},
    reading_withdrawn: {"pins"},
    board_scrapped: {"design"},
}
"""What is done to a board that was ready, and the checks that it opens: those, and no other."""


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_a_ready_board_is_not_ready_any_more(bench_up: Bench, way: Callable[[Bench], None]) -> None:
    way(bench_up)
    assert bench_up.verdict != "ready"
    may_open_too = {"fit"} if way in (dielectric_corrected, pin_order_read_again, make_read_again) else set()
    assert WAYS[way] <= {check for check, _state, _what in bench_up.left()} <= WAYS[way] | may_open_too


def test_what_a_changed_design_does_not_touch_stays(bench_up: Bench) -> None:
    bench_up.change_position("R1", note="under the heatsink")
    assert bench_up.verdict == "ready", bench_up.left()
    bench_up.change_design(rails=[{**RAILS[0], "protects": ["U1", "R2"]}, RAILS[1]])
    assert bench_up.left() == {("pins", "open", "-5V")}, "of R2 alone, where nothing was measured yet"
    bench_up.put_back(bench_up.take_out("R1"), "R1")
    bench_up.check("inspection")
    stale = bench_up.left()
    assert ("ohms", "open", "-5V") in stale
    bench_up.change_design(rails=[{**RAILS[0], "protects": ["U1", "R1", "R2"]}, RAILS[1]])
    assert ("ohms", "open", "-5V") in bench_up.left(), "a stale reading is not revived"


def test_smoke_stays_open_until_it_is_explained(bench_up: Bench) -> None:
    smoke(bench_up)
    bench_up.accept("trial", "", why="a wire lay across C1; gone, and C1 measured")
    assert (bench_up.ready()["verdict"], bench_up.ready()["accepted"]) == ("ready", 1)
    smoke(bench_up)
    assert bench_up.verdict == "open", "another trial that failed is another finding"
    bench_up.post(f"{API}trials/", board=bench_up.board.pk, method="soak", in_circuit=True, verdict="good")
    assert bench_up.ready()["text"] == "ready"


# --- what is measured, and people's safety, is never accepted


X2 = spec("capacitor", "100n", safety_class="X2", volts="275")
FUSIBLE = spec("resistor", "10R", safety_class="fusible")


@pytest.mark.parametrize("check", ["ohms", "rail"])
def test_no_exception_stands_in_for_a_measurement(bench: Any, check: str) -> None:
    up = made(bench, {"R1": spec()}, rails=[PLAIN], socketed=())
    up.fit("R1")
    up.check("inspection", "supply")
    assert up.accept(check, "+12V", status=409)["code"] == "not_accepted"
    assert up.verdict == "open"


@pytest.mark.parametrize(
    ("required", "fitted", "condition"),
    [
        (X2, spec("capacitor", "100n", volts="275"), "good"),
        (spec("resistor", "10R", traits={"fusible": "yes"}), spec("resistor", "10R"), "good"),
        (FUSIBLE, FUSIBLE, "untested"),
        (spec("fuse", None, amps="1"), spec("fuse", None, amps="1"), "untested"),
        (spec("fuse", None, amps="1", traits={"speed": "slow"}), spec("fuse", None, amps="1"), "good"),
    ],
)  # fmt: skip
def test_a_part_that_people_rely_on_is_not_accepted_as_it_is(
    bench: Any, required: Spec, fitted: Spec, condition: str
) -> None:
    up = made(bench, {"X1": required}, rails=[PLAIN], socketed=())
    up.fit("X1", of=fitted, condition=condition)
    open_checks = {check for check, _state, _what in up.left() if check in ("fit", "condition")}
    assert open_checks
    for check in open_checks:
        assert up.accept(check, "X1", status=409)["code"] == "not_accepted"


# --- an exception accepts one finding


@pytest.fixture
def short_of_volts(bench_up: Bench) -> Bench:
    """10 V in the place of 16 V, with the reason under a name."""
    bench_up.take_out("C1")
    bench_up.fit("C1", of=spec("capacitor", "10u", dielectric="tantalum", volts="10", polarised=True))
    bench_up.accept("fit", "C1", why="the rail is 5 V")
    assert ("fit", "stop", "C1") not in bench_up.left()
    return bench_up


@pytest.mark.parametrize(
    "worse",
    [
        spec("capacitor", "10u", dielectric="tantalum", volts="6.3", polarised=True),
        spec("capacitor", "4u7", dielectric="tantalum", volts="10", polarised=True),
        spec("capacitor", "10u", dielectric="tantalum", polarised=True),
    ],
)
def test_an_exception_lapses_when_what_it_accepted_gets_worse(short_of_volts: Bench, worse: Spec) -> None:
    Lot.objects.filter(pk=short_of_volts.lot_at("C1").pk).update(part=PartFactory(of=worse))
    assert {what for check, _state, what in short_of_volts.left() if check == "fit"} == {"C1"}
    reasons = [item["reason"] for item in short_of_volts.ready()["items"] if item["check"] == "fit"]
    assert any("lapsed" in reason for reason in reasons)


def test_an_accepted_untested_part_that_a_trial_calls_suspect_is_open_again(bench_up: Bench) -> None:
    lot = bench_up.lot_at("R1")
    Lot.objects.filter(pk=lot.pk).update(condition="untested")
    bench_up.accept("condition", "R1")
    assert bench_up.ready()["text"] == "ready, 1 accepted by bench"
    trials.record(by=None, lot=lot, method="look", verdict="suspect")
    assert bench_up.left() == {("condition", "open", "R1")}


# --- what was seen is of the board as it was


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("orientation/", {"refs": ["C1"], "right": True}),
        ("checks/", {"check": "inspection", "right": True}),
        ("links/", {"settings": {"LK1": "1-2"}}),
        ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "1k2"}),
    ],
)
def test_a_movement_on_the_board_makes_what_one_looked_at_stale(
    bench_up: Bench, path: str, body: dict[str, Any]
) -> None:
    tag = bench_up.client.get(bench_up.here).headers["ETag"]
    ready = bench_up.client.get(f"{bench_up.here}ready/").headers["ETag"]
    assert ready.partition("-")[0] == tag.partition("-")[0]
    bench_up.put_back(bench_up.take_out("C1"), "C1")
    answer = bench_up.client.post(bench_up.here + path, body, headers={"If-Match": tag})
    assert refused(answer, 412)["code"] == "stale"
    tag = bench_up.client.get(bench_up.here).headers["ETag"]
    assert bench_up.client.post(bench_up.here + path, body, headers={"If-Match": tag}).status_code == 201


# --- sound boards


def test_soldered_chips_are_proven_in_another_order(bench: Any) -> None:
    """Ohms, first power through a current limit, volts at the supply with everything in."""
    up = made(bench, PARTS, rails=RAILS, links=[LINK], socketed=())
    for ref in PARTS:
        up.fit(ref)
    up.see("C1", "Q1", "U1")
    up.post("links/", settings={"LK1": "1-2"})
    up.check("inspection", "supply")
    up.read("ohms")
    assert ("first_power", "open", "U1") in up.left()
    assert not [left for left in up.left() if left[1] == "stop"]
    up.check("first_power")
    assert up.verdict == "open"
    up.read("chips_out")
    assert up.ready()["text"] == "ready", up.left()
    up.put_back(up.take_out("U1"), "U1")
    assert {"first_power", "ohms", "rail"} <= {check for check, _state, _what in up.left()}


@pytest.mark.parametrize(
    ("traits", "asked"),
    [  # 16 K DRAMs and 2 K EPROMs were made with three rails and with one (from memory: data books)
        ({"function": "dram", "organisation": "16384x1"}, True),
        ({"function": "eprom", "organisation": "2048x8"}, True),
        ({"function": "dram"}, True),
        ({"function": "dram", "organisation": "16384x1", "rails": ["5"]}, False),
        ({"function": "dram", "organisation": "65536x1"}, False),
        ({"function": "dram", "organisation": "16384x4"}, False),
        ({"function": "sram", "organisation": "2048x8"}, False),
    ],
)
def test_a_memory_by_what_it_does_asks_which_volts_it_wants(
    bench: Any, traits: dict[str, Any], asked: bool
) -> None:
    nameless = Spec.from_dict({"kind": "ic", "lead_style": "dip", "traits": traits})
    up = made(bench, {"U1": nameless}, rails=[PLAIN])
    up.fit("U1")
    assert (("rail", "open", "U1") in up.left()) is asked


def test_a_rail_that_is_honestly_below_ten_ohms_says_so_on_the_design(bench: Any) -> None:
    up = made(bench, {"R1": spec()}, socketed=(), rails=[PLAIN])
    up.fit("R1")
    up.check("inspection", "supply")
    up.read("ohms", **{"+12V": "6R8"})
    assert ("ohms", "stop", "+12V") in up.left()
    up.change_design(rails=[{**up.design.rails[0], "ohms_low": "5", "ohms_high": "9"}])
    up.read("chips_out")
    assert up.ready()["text"] == "ready", up.left()


def test_a_part_where_the_design_has_no_position_can_be_accepted_with_why(bench_up: Bench) -> None:
    bench_up.fit("R9", of=spec())
    chip = bench_up.take_out("U1")
    bench_up.read("ohms")
    bench_up.read("chips_out")
    bench_up.put_back(chip, "U1")
    bench_up.see("U1")
    bench_up.post("links/", settings={"LK1": "1-2"})
    bench_up.check("inspection")
    bench_up.read("ohms")
    bench_up.pins("U1")
    assert bench_up.left() == {("position", "open", "R9")}
    bench_up.accept("position", "R9", why="the maker's own change: a bleeder under the board")
    assert bench_up.ready()["text"] == "ready, 1 accepted by bench"
    Lot.objects.filter(pk=bench_up.lot_at("R9").pk).update(condition="faulty")
    assert ("condition", "stop", "R9") in bench_up.left()


def test_the_type_off_the_same_position_of_the_same_design_serves_with_unknown_legs(bench: Any) -> None:
    asked = spec("transistor", None, number="XT547", traits={"polarity": "npn", "pin_order": "CBE"})
    silent = spec("transistor", None, number="XT547", traits={"polarity": "npn"})
    up = made(bench, {"Q1": asked}, rails=[PLAIN], socketed=())
    sister = BoardFactory(design=up.design, purpose="donor")
    up.fit("Q1", of=silent)
    assert ("fit", "open", "Q1") in up.left()
    up.take_out("Q1")
    of_it = PartFactory(of=silent)
    piece = ledger.lift(sister, ["Q1"], Spot(up.tray.pk), by=None, condition="good", part=of_it)[0].lot
    up.put_back(piece, "Q1")
    assert "fit" not in {check for check, _state, _what in up.left()}


def test_a_lot_that_is_split_where_it_is_keeps_what_was_seen_of_it(bench_up: Bench) -> None:
    """A split is bookkeeping: nobody touched the piece."""
    for ref in ("C1", "U1"):
        ledger.split(bench_up.lot_at(ref), Spot(bench_up.board.place_id, ref), 1, condition="good", by=None)
    assert bench_up.verdict == "ready", bench_up.left()
