"""A board is never ready by default, and never with an open or failed item: against an oracle of its own.

The oracle keeps the plain history of what was done and says in its own words what must have happened since
the last change; it shares no code with the checks. One file, since all checks are held against the one
oracle.
"""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.design_facts import DesignFacts, read_design
from repairs.proving import confirmations, items, rails, ready
from repairs.proving.board import Accepted, BoardConfirmation, BoardFacts, BoardLinkSetting, BoardPosition
from repairs.proving.fitted import FittedPiece
from repairs.proving.rails import BoardRailReading
from repairs.proving.ready import judge
from tests.examples import examples
from tests.proving.boards import part

REFS = ("U1", "U2", "C1", "R1")
DRAWN = read_design(
    {
        "links": [
            {
                "name": "LK1",
                "settings": ["1-2", "2-3"],
                "rules": [
                    {"setting": "1-2", "when": {"bank": "memory", "make": "Hitachi"}},
                    {"setting": "2-3", "when": {"bank": "memory", "make": "NEC"}},
                ],
            }
        ],
        "rails": [
            {"name": "-5V", "nominal": "-5", "low": "-5.25", "high": "-4.75", "order": 1, "protects": ["U1"]}
        ],
        "banks": [{"name": "memory", "refs": ["U1", "U2"], "equal": ["make"], "counts": [2]}],
    },
    REFS,
)
REQUIRED = {
    "U1": part("ic", number="4116", package="dip16", lead_style="dip"),
    "U2": part("ic", number="4116", package="dip16", lead_style="dip"),
    "C1": part("capacitor", value="10u", dielectric="tantalum", volts="25", polarised=True),
    "R1": part("resistor", value="4k7", tolerance_percent="5"),
}
MAKES = {"U1": ["Hitachi", "NEC", ""], "U2": ["Hitachi", "NEC", ""], "C1": [""], "R1": [""]}


@dataclass
class History:
    """What was done to a board, in order; and the facts as the checks take them."""

    design: DesignFacts = DRAWN
    events: list[tuple[str, ...]] = field(default_factory=list)
    pieces: dict[str, FittedPiece] = field(default_factory=dict)
    moved: dict[str, int] = field(default_factory=dict)
    movements: int = 0
    settings: list[BoardLinkSetting] = field(default_factory=list)
    confirmations: list[BoardConfirmation] = field(default_factory=list)
    readings: list[BoardRailReading] = field(default_factory=list)
    exceptions: list[Accepted] = field(default_factory=list)
    lots: int = 0

    def facts(self) -> BoardFacts:
        positions = tuple(
            BoardPosition(ref, REQUIRED[ref], self.pieces.get(ref), socketed=ref in ("U1", "U2"))
            for ref in REFS
        )
        return BoardFacts(
            self.design, positions, tuple(self.settings), tuple(self.confirmations), tuple(self.readings),
            tuple(self.exceptions), moved=dict(self.moved), changed=dict(self.moved),
        )  # fmt: skip

    def move(self, ref: str) -> None:
        self.movements += 1
        self.moved[ref] = self.movements

    # --- what can be done

    def fit(self, ref: str, make: str = "", condition: str = "good") -> None:
        if ref in self.pieces:
            return
        self.lots += 1
        spec = replace(REQUIRED[ref], make=make)
        self.pieces[ref] = FittedPiece(ref, self.lots, spec, condition=condition)
        self.move(ref)
        self.events.append(("fit", ref))

    def remove(self, ref: str) -> None:
        if self.pieces.pop(ref, None) is None:
            return
        self.move(ref)
        self.events.append(("remove", ref))

    def try_out(self, ref: str, condition: str) -> None:
        if ref in self.pieces:
            self.pieces[ref] = replace(self.pieces[ref], condition=condition)
            self.events.append(("tried", ref, condition))

    def set_link(self, setting: str) -> None:
        facts = self.facts()
        self.settings.append(BoardLinkSetting("LK1", setting, facts.stamp, "1-2, 2-3"))
        self.events.append(("link", setting))

    def confirm(self, check: str, ref: str, right: bool) -> None:
        facts = self.facts()
        basis = confirmations.basis_of(facts, check)
        if ref:
            expected = confirmations.expectations(facts).get(ref)
            if expected is None:
                return
            there = next(position for position in facts.positions if position.ref == ref)
            basis = confirmations.basis_of_orientation(there, expected)
        self.confirmations.append(BoardConfirmation(check, ref, right, facts.stamp, by="robin", basis=basis))
        self.events.append((check, ref, str(right)))

    def read_rail(self, stage: str, amount: str, ref: str = "") -> None:
        facts = self.facts()
        filled = tuple(each for each in ("U1",) if each in self.pieces)
        self.readings.append(
            BoardRailReading("-5V", stage, Decimal(amount), facts.stamp, ref, "", ("U1",), filled)
        )
        self.events.append(("rail", stage, amount, ref, ",".join(filled)))

    def accept(self, check: str, subject: str) -> None:
        facts = self.facts()
        alone = ready.findings(replace(facts, exceptions=()))
        item = next((each for each in alone if (each.check, each.subject) == (check, subject)), None)
        if item is None or not items.may_be_accepted(item):
            return
        basis = items.basis_of_exception(item)
        self.exceptions.append(Accepted(check, subject, facts.stamp, "robin", "known from before", basis))
        condition = self.pieces[subject].condition if subject in self.pieces else ""
        self.events.append(("accept", check, subject, condition))

    # --- the oracle

    def since(self, *refs: str) -> int:
        """The place in the history after the last movement at these positions."""
        moved = [
            index
            for index, event in enumerate(self.events)
            if event[0] in ("fit", "remove") and event[1] in refs
        ]
        return moved[-1] + 1 if moved else 0

    def last(self, after: int, *start: str) -> tuple[str, ...] | None:
        found = [event for event in self.events[after:] if event[: len(start)] == start]
        return found[-1] if found else None

    def accepted(self, check: str, subject: str, *refs: str) -> bool:
        return self.last(self.since(*refs), "accept", check, subject) is not None

    def is_safe(self) -> bool:
        """Whether a careful person would switch on, told in plain steps."""
        if any(piece.condition == "faulty" for piece in self.pieces.values()):
            return False
        for ref in REFS:
            piece = self.pieces.get(ref)
            if piece is None and not self.accepted("position", ref, ref):
                return False
            if piece is not None and piece.condition != "good":
                accepted = self.last(self.since(ref), "accept", "condition", ref)
                if accepted is None or accepted[3] != piece.condition:
                    return False
            if piece is not None and ref != "R1" and not self.turned_right(ref):
                return False
        return self.bank_is_right() and self.link_is_right() and self.looked_at() and self.rail_is_right()

    def turned_right(self, ref: str) -> bool:
        sent = self.last(self.since(ref), "orientation", ref)
        if sent is not None and sent[2] == "False":
            return False
        return sent is not None or self.accepted("orientation", ref, ref)

    def bank_is_right(self) -> bool:
        makes = [self.pieces[ref].spec.make for ref in ("U1", "U2") if ref in self.pieces]
        if len(makes) == 2 and makes[0] == makes[1] != "":
            return True
        return self.accepted("bank", "memory", "U1", "U2")

    def link_is_right(self) -> bool:
        makes = [self.pieces[ref].spec.make for ref in ("U1", "U2") if ref in self.pieces]
        if not makes:
            return True
        wanted = {"Hitachi": "1-2", "NEC": "2-3", "": ""}
        set_last = self.last(0, "link")
        if "" not in makes:
            if len(set(makes)) > 1 or (set_last is not None and set_last[1] != wanted[makes[0]]):
                return False
            if self.last(self.since("U1", "U2"), "link") is not None:
                return True
        return self.accepted("link", "LK1", "U1", "U2")

    def looked_at(self) -> bool:
        stay_in = ("U2", "C1", "R1")  # the chip of U1 comes out of its socket to measure, and goes in again
        looked = self.last(self.since(*stay_in), "inspection")
        if self.last(0, "inspection") is not None and self.last(0, "inspection")[2] == "False":  # type: ignore[index]
            return False
        supply = self.last(0, "supply")
        if supply is not None and supply[2] == "False":
            return False
        inspected = looked is not None or self.accepted("inspection", "", *stay_in)
        return inspected and (supply is not None or self.last(0, "accept", "supply") is not None)

    def rail_is_right(self) -> bool:
        unprotected = ("U2", "C1", "R1")
        after = self.since(*unprotected)
        ohms = self.last(after, "rail", "ohms")
        if ohms is None or not self.ohms_are_right(after):
            return False
        return self.chips_out_is_right(after) and self.pins_are_right(after)

    def ohms_are_right(self, after: int) -> bool:
        taken = self.rail_events("ohms", after)
        if not taken or Decimal(taken[-1][1][2]) < 10:
            return False
        return "U1" not in self.pieces or any(index >= self.since("U1") for index, _event in taken)

    def chips_out_is_right(self, after: int) -> bool:
        ohms, volts = self.rail_events("ohms", after), self.rail_events("chips_out", after)
        empty = [event for index, event in volts if not event[4] and ohms and ohms[0][0] < index]
        return bool(empty) and all(
            Decimal("-5.25") <= Decimal(event[2]) <= Decimal("-4.75") for event in (volts[-1][1], empty[-1])
        )

    def rail_events(self, stage: str, after: int) -> list[tuple[int, tuple[str, ...]]]:
        """What was read of the board as it is; a reading with U1 in says nothing once U1 was touched."""
        touched = self.since("U1")
        return [
            (index, event)
            for index, event in enumerate(self.events)
            if index >= after and event[:2] == ("rail", stage) and (not event[4] or index >= touched)
        ]

    def pins_are_right(self, after: int) -> bool:
        if "U1" not in self.pieces:
            return True
        pins = self.last(max(after, self.since("U1")), "rail", "at_pins")
        return pins is not None and Decimal("-5.25") <= Decimal(pins[2]) <= Decimal("-4.75")


def apply(history: History, step: tuple[Any, ...]) -> None:
    getattr(history, step[0])(*step[1:])


SUBJECTS = (
    *((check, ref) for check in ("position", "condition", "fit", "orientation") for ref in REFS),
    ("bank", "memory"), ("link", "LK1"), ("ohms", "-5V"), ("rail", "-5V"),
    ("pins", "-5V"), ("inspection", ""), ("supply", ""), ("hazards", ""), ("design", ""),
)  # fmt: skip
STEPS = st.one_of(
    st.sampled_from(REFS).flatmap(
        lambda ref: st.tuples(
            st.just("fit"),
            st.just(ref),
            st.sampled_from(MAKES[ref]),
            st.sampled_from(["good", "good", "untested"]),
        )
    ),
    st.tuples(st.just("remove"), st.sampled_from(REFS)),
    st.tuples(
        st.just("try_out"), st.sampled_from(REFS), st.sampled_from(["good", "good", "suspect", "faulty"])
    ),
    st.tuples(st.just("set_link"), st.sampled_from(["1-2", "2-3"])),
    st.tuples(st.just("confirm"), st.just("orientation"), st.sampled_from(["U1", "U2", "C1"]), st.booleans()),
    st.tuples(st.just("confirm"), st.sampled_from(["inspection", "supply"]), st.just(""), st.booleans()),
    st.tuples(st.just("read_rail"), st.just("ohms"), st.sampled_from(["0.4", "220"])),
    st.tuples(st.just("read_rail"), st.just("chips_out"), st.sampled_from(["-5.0", "-4.1"])),
    st.tuples(st.just("read_rail"), st.just("at_pins"), st.sampled_from(["-5.0", "-4.1"]), st.just("U1")),
    st.sampled_from(SUBJECTS).map(lambda pair: ("accept", *pair)),
)

WHOLE_WAY: list[tuple[Any, ...]] = [
    ("fit", "C1"), ("fit", "R1"), ("fit", "U2", "Hitachi"), ("confirm", "supply", "", True),
    ("read_rail", "ohms", "220"), ("read_rail", "chips_out", "-5.0"), ("fit", "U1", "Hitachi"),
    ("set_link", "1-2"), ("confirm", "orientation", "U1", True), ("confirm", "orientation", "U2", True),
    ("confirm", "orientation", "C1", True), ("confirm", "inspection", "", True),
    ("read_rail", "ohms", "180"), ("read_rail", "at_pins", "-5.0", "U1"),
]  # fmt: skip


def check(history: History) -> None:
    found = judge(history.facts())
    states = [item.state for item in found.items]
    assert states
    assert (found.verdict == "ready") == (set(states) == {"pass"})
    assert (found.verdict == "stop") == ("stop" in states)
    assert all(item.reason for item in found.items)
    if found.verdict == "ready":
        assert history.is_safe(), history.events


def test_an_untouched_board_is_not_ready() -> None:
    assert judge(BoardFacts(None)).verdict == "open"
    assert judge(BoardFacts(DesignFacts())).verdict == "open"
    assert judge(History().facts()).verdict == "open"


def test_the_whole_way_leads_to_ready() -> None:
    """Without a way to ready the property below would hold of checks that never pass."""
    history = History()
    for step in WHOLE_WAY:
        assert judge(history.facts()).verdict != "ready"
        apply(history, step)
    assert judge(history.facts()).verdict == "ready"
    assert history.is_safe()


def test_leaving_out_any_one_step_leaves_it_unready() -> None:
    for left_out in range(len(WHOLE_WAY)):
        history = History()
        for index, step in enumerate(WHOLE_WAY):
            if index != left_out:
                apply(history, step)
        assert judge(history.facts()).verdict != "ready", WHOLE_WAY[left_out]


@settings(max_examples=examples(120, 400), deadline=None)
@given(st.lists(STEPS, max_size=40))
def test_no_sequence_of_steps_is_ready_with_an_open_or_failed_item(steps: list[tuple[Any, ...]]) -> None:
    history = History()
    for step in steps:
        apply(history, step)
        check(history)


@settings(max_examples=examples(120, 400), deadline=None)
@given(st.lists(STEPS, max_size=8), st.integers(0, len(WHOLE_WAY)))
def test_no_disturbance_on_the_way_or_afterwards_leaves_it_wrongly_ready(
    disturbance: list[tuple[Any, ...]], at: int
) -> None:
    history = History()
    for step in [*WHOLE_WAY[:at], *disturbance, *WHOLE_WAY[at:]]:
        apply(history, step)
        check(history)


@given(st.sampled_from(REFS))
def test_a_refitted_part_opens_what_was_confirmed_of_it(ref: str) -> None:
    history = History()
    for step in WHOLE_WAY:
        apply(history, step)
    make = history.pieces[ref].spec.make
    history.remove(ref)
    history.fit(ref, make)
    found = judge(history.facts())
    assert found.verdict == "open"
    opened = {item.check for item in found.items if item.state == "open"}
    assert ("inspection" in opened) == (ref != "U1"), "in its socket it is seen by itself"
    assert opened >= ({"link", "orientation"} if ref in ("U1", "U2") else {"ohms", "rail"})


def test_a_part_found_the_wrong_way_round_is_a_stop() -> None:
    history = History()
    for step in [*WHOLE_WAY, ("confirm", "orientation", "C1", False)]:
        apply(history, step)
    found = judge(history.facts())
    assert found.verdict == "stop"
    assert [(item.check, item.refs) for item in found.items if item.state == "stop"] == [
        ("orientation", ("C1",))
    ]


def test_an_exception_says_who_accepted_it_and_why_and_lapses_with_the_part() -> None:
    history = History()
    for step in [*WHOLE_WAY, ("try_out", "R1", "untested")]:
        apply(history, step)
    assert judge(history.facts()).verdict == "open"
    history.accept("condition", "R1")
    found = judge(history.facts())
    assert found.verdict == "ready"
    answer = next(item for item in found.items if item.accepted_by)
    assert (answer.accepted_by, answer.why) == ("robin", "known from before")
    history.remove("R1")
    history.fit("R1", condition="untested")
    assert any("lapsed" in item.reason for item in judge(history.facts()).items)


def test_no_exception_accepts_a_wrong_link_a_wrong_rail_a_reversed_or_a_faulty_part() -> None:
    for wrong, check_, subject in [
        (("set_link", "2-3"), "link", "LK1"),
        (("read_rail", "chips_out", "-4.1"), "rail", "-5V"),
        (("read_rail", "ohms", "0.4"), "ohms", "-5V"),
        (("confirm", "orientation", "C1", False), "orientation", "C1"),
        (("try_out", "R1", "faulty"), "condition", "R1"),
    ]:
        history = History()
        for step in [*WHOLE_WAY, wrong, ("accept", check_, subject)]:
            apply(history, step)
        assert judge(history.facts()).verdict == "stop", wrong


def test_a_safety_part_is_never_accepted_as_a_substitute() -> None:
    drawn = part("resistor", value="10R", safety_class="fusible")
    ordinary = FittedPiece("R1", 1, part("resistor", value="10R"), condition="good")
    position = BoardPosition("R1", drawn, ordinary)
    facts = BoardFacts(
        DesignFacts(), (position,), exceptions=(Accepted("fit", "R1", 1, "robin", "had no other"),)
    )
    assert judge(facts).verdict == "stop"


def test_a_substitute_that_a_person_accepts_passes_with_the_reason() -> None:
    shorter = FittedPiece(
        "C1", 1, part("capacitor", value="10u", dielectric="tantalum", volts="16"), condition="good"
    )
    position = BoardPosition("C1", REQUIRED["C1"], shorter)
    facts = BoardFacts(DesignFacts(), (position,))
    item = next(item for item in judge(facts).items if item.check == "fit")
    assert item.state == "stop"
    basis = items.basis_of_exception(item)
    accepted = replace(facts, exceptions=(Accepted("fit", "C1", 1, "robin", "the rail is 5 V", basis),))
    answer = next(item for item in judge(accepted).items if item.check == "fit")
    assert answer.state == "pass"
    assert "the rail is 5 V" in answer.reason


def test_blocked_work_is_never_ready() -> None:
    facts = BoardFacts(
        DesignFacts(hazards=("microwave",)),
        exceptions=(Accepted("hazards", "microwave", 0, "robin", "careful"),),
    )
    assert judge(facts).verdict == "stop"


def test_a_drawing_that_cannot_be_read_is_never_ready() -> None:
    spoilt = read_design({"links": [{"name": "LK1"}]}, REFS)
    assert (
        judge(BoardFacts(spoilt, exceptions=(Accepted("design", "", 0, "robin", "no matter"),))).verdict
        == "stop"
    )


def test_while_a_link_is_unsettled_a_failure_condemns_no_part() -> None:
    history = History()
    for step in [*WHOLE_WAY, ("set_link", "2-3")]:
        apply(history, step)
    assert {item.check for item in ready.unsettled(history.facts())} == {"link"}


def test_a_suspect_of_another_make_unsettles_the_link_while_it_is_tried() -> None:
    history = History()
    for step in WHOLE_WAY:
        apply(history, step)
    assert ready.unsettled(history.facts()) == ()
    other = FittedPiece("U2", 99, replace(REQUIRED["U2"], make="NEC"))
    checks = {item.check for item in ready.unsettled(history.facts().with_piece(other))}
    assert {"link", "bank"} <= checks


def test_a_board_that_runs_is_proof_of_what_nobody_confirmed_but_not_of_what_is_wrong() -> None:
    history = History()
    for step in [("fit", "U1", "Hitachi"), ("fit", "U2", "Hitachi"), ("fit", "C1"), ("fit", "R1")]:
        apply(history, step)
    runs = replace(history.facts(), works=True, runs=True)
    assert ready.unsettled(runs) == ()
    history.set_link("2-3")
    assert {item.check for item in ready.unsettled(replace(history.facts(), works=True, runs=True))} == {
        "link"
    }


def test_the_rails_of_a_running_board_are_not_called_too_early() -> None:
    history = History()
    history.fit("U1", "Hitachi")
    item = next(item for item in judge(replace(history.facts(), works=True)).items if item.check == "rail")
    assert item.state == rails.OPEN
