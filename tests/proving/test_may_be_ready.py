"""May this be ready?  Whatever is done to a board, in any order, the verdict of the API is that of a slow and
obvious reading of the whole history.

The reading shares no code with the checks.  It follows the order of bringing up: look; supply alone; ohms
from each rail to ground before any power; polarity of each part that has one; links by the chips in; rails
before the chips go in; with them in the ohms once more and volts at their pins (common practice, no source).
What is soldered in cannot be out: where a rail protects it, the first power goes through a current limit, and
the volts with it in stand for its pins. A rail under 10 Ω is taken for shorted; the windows are those of the
design, 5 % of -5 and 12 V.
"""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from repairs import trials
from tests.examples import examples
from tests.factories import spec
from tests.proving.test_ways_to_ready import LINK, PARTS, RAILS, Bench, made

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db]
GATES = spec("ic", None, number="4069", package="dip14", lead_style="dip")
ON_IT = {**PARTS, "U2": GATES}
SOLDERED = ("C1", "Q1", "R1", "R2", "U2")
TURNED = ("C1", "Q1", "U1", "U2")
DRAWN: tuple[dict[str, tuple[str, ...]], ...] = (
    {"-5V": ("U1",), "+12V": ("U1",)},
    {"-5V": ("U1",), "+12V": ("U1", "U2")},
    {"-5V": ("U1", "R2"), "+12V": ()},
)
"""What the rails protect, as the design is and as it may be corrected."""
WINDOWS = {"-5V": ("-5.25", "-4.75"), "+12V": ("11.4", "12.6")}
Event = dict[str, Any]


# --- the slow reading


class History:
    """What was done, oldest first; each question is answered by going through all of it again."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def write(self, what: str, **more: Any) -> None:
        self.events.append({"what": what, **more})

    def last(self, what: str, **same: Any) -> tuple[int, Event | None]:
        """Where in the history it happened last, and -1 where it never did."""
        for index in range(len(self.events) - 1, -1, -1):
            event = self.events[index]
            if event["what"] == what and all(event.get(name) == value for name, value in same.items()):
                return index, event
        return -1, None

    def moved(self, *refs: str) -> int:
        return max(self.last("move", ref=ref)[0] for ref in refs)

    def piece(self, ref: str) -> str | None:
        _index, event = self.last("move", ref=ref)
        return event["piece"] if event else None

    def condition(self, ref: str) -> str:
        return str((self.last("judged", piece=self.piece(ref))[1] or {"as": "good"})["as"])

    @property
    def protects(self) -> dict[str, tuple[str, ...]]:
        protects: dict[str, tuple[str, ...]] = (self.last("drawn")[1] or {"protects": DRAWN[0]})["protects"]
        return protects

    def may_come_and_go(self, ref: str, event: Event) -> bool:
        """To fit what a rail protects is the next step: a reading without it still counts."""
        drawn, now = (set().union(*each.values()) for each in (event["protects"], self.protects))
        its_own = ref in event["protects"][event["rail"]] or ref in SOLDERED
        measured = ref == event["ref"] if event["ref"] else ref in event["there"] and its_own
        return ref in drawn and ref in now and not measured

    def readings(self, stage: str, rail: str, ref: str = "") -> list[tuple[int, Event]]:
        """Those of the board as it is: nothing was moved since that was part of what was measured."""
        return [
            (index, event)
            for index, event in enumerate(self.events)
            if (event["what"], event.get("rail"), event.get("ref")) == (stage, rail, ref)
            and all(index > self.moved(each) or self.may_come_and_go(each, event) for each in ON_IT)
        ]

    def may_be_ready(self) -> bool:
        return all((
            *(self.place_is_right(ref) for ref in ON_IT),
            self.looked_over(),
            (self.last("supply")[1] or {"right": False})["right"],
            *(self.way_is_right(ref) for ref in TURNED),
            self.link_is_right(),
            *(self.rail_is_right(rail) for rail in WINDOWS),
            self.first_power_was_limited(),
            self.no_failure_is_unexplained(),
        ))  # fmt: skip

    def place_is_right(self, ref: str) -> bool:
        if self.piece(ref) is None:
            return self.last("accept", check="position", ref=ref)[0] > self.moved(ref)
        condition = self.condition(ref)
        accepted, event = self.last("accept", check="condition", ref=ref)
        if condition == "good":
            return True
        return (
            condition != "faulty"
            and accepted > self.moved(ref)
            and event is not None
            and event["of"] == condition
        )

    def looked_over(self) -> bool:
        """A chip in a socket that rails protect comes and goes: its way round is seen by itself."""
        index, event = self.last("inspection")
        in_sockets = set().union(*self.protects.values()) & {"U1"}
        return event is not None and event["right"] and index > self.moved(*(ON_IT.keys() - in_sockets))

    def way_is_right(self, ref: str) -> bool:
        if self.piece(ref) is None:
            return True
        index, event = self.last("orientation", ref=ref)
        noted = (self.last("note")[1] or {"text": ""})["text"] if ref == "C1" else ""
        return event is not None and event["right"] and index > self.moved(ref) and event["noted"] == noted

    def link_is_right(self) -> bool:
        if self.piece("U1") is None:
            return True
        index, event = self.last("link")
        return event is not None and event["setting"] == "1-2" and index > self.moved("U1")

    def volts(self, rail: str) -> Event | None:
        """The latest with every socket empty that the rail protects, after the ohms."""
        ohms = self.readings("ohms", rail)
        proper = [
            event
            for index, event in self.readings("chips_out", rail)
            if ohms and index > ohms[0][0] and not ("U1" in self.protects[rail] and "U1" in event["there"])
        ]
        return proper[-1] if proper else None

    def rail_is_right(self, rail: str) -> bool:
        low, high = map(Decimal, WINDOWS[rail])
        ohms, proper = self.readings("ohms", rail), self.volts(rail)
        if not ohms or ohms[-1][1]["amount"] < 10 or proper is None:
            return False
        if not all(
            low <= event["amount"] <= high for event in (proper, self.readings("chips_out", rail)[-1][1])
        ):
            return False
        chips = [ref for ref in set().union(*self.protects.values()) if self.piece(ref) is not None]
        if chips and ohms[-1][0] < self.moved(*chips):
            return False
        return all(self.pins_are_right(rail, ref, proper) for ref in self.protects[rail] if ref in chips)

    def pins_are_right(self, rail: str, ref: str, proper: Event) -> bool:
        if ref in SOLDERED and self.was_measured_with(ref, proper):
            return True
        low, high = map(Decimal, WINDOWS[rail])
        at_pins = self.readings("at_pins", rail, ref)
        return bool(at_pins) and low <= at_pins[-1][1]["amount"] <= high

    def was_measured_with(self, ref: str, event: Event) -> bool:
        return ref in event["there"] and any(ref in each for each in event["protects"].values())

    def first_power_was_limited(self) -> bool:
        stay_in = [
            ref
            for rail, refs in self.protects.items()
            for ref in refs
            if ref in SOLDERED and self.piece(ref) is not None
            if (volts := self.volts(rail)) is None or self.was_measured_with(ref, volts)
        ]
        index, event = self.last("first_power")
        may_move = {"U1"} | {ref for ref in SOLDERED if self.piece(ref) is None}
        may_move &= set().union(*self.protects.values())
        limited = event is not None and event["right"] and index > self.moved(*(ON_IT.keys() - may_move))
        return not stay_in or limited

    def no_failure_is_unexplained(self) -> bool:
        failed, passed = self.last("trial", passed=False)[0], self.last("trial", passed=True)[0]
        return failed < passed or failed < 0 or self.last("accept", check="trial")[0] > failed


# --- the bench


class BoardAndHistory(RuleBasedStateMachine):
    def __init__(self, client: Any) -> None:
        super().__init__()
        self.up: Bench = made(client, ON_IT, rails=RAILS, links=[LINK])
        self.history, self.noted, self.pieces = History(), "", 0
        self.out: dict[str, Any] = {}
        self.finish()

    @invariant()
    def they_agree(self) -> None:
        assert (self.up.verdict == "ready") == self.history.may_be_ready(), (
            self.up.left(),
            self.history.events,
        )

    def finish(self) -> None:
        """Everything that is left to do, in order."""
        for ref in SOLDERED:
            if self.history.piece(ref) is None:
                self.fit_another(ref, "good")
            elif self.history.condition(ref) != "good":
                self.judge(ref, "good")
        if self.history.piece("U1") is not None:
            self.move_out("U1")
        self.confirm("supply", True)
        self.confirm("first_power", True)
        for stage in ("ohms", "chips_out"):
            for rail in WINDOWS:
                self.measure(stage, rail, "", True)
        self.fit_another("U1", "good")
        for ref in TURNED:
            self.see(ref, True)
        self.set_link("1-2")
        for rail, refs in self.history.protects.items():
            self.measure("ohms", rail, "", True)
            for ref in refs:
                self.measure("at_pins", rail, ref, True)
        self.confirm("inspection", True)
        self.board_trial(True)

    @rule()
    def the_whole_way_ends_in_ready(self) -> None:
        self.finish()
        assert self.up.verdict == "ready", self.up.left()

    @rule(ref=st.sampled_from(list(ON_IT)))
    def move_out(self, ref: str) -> None:
        if self.history.piece(ref) is not None:
            self.out[ref] = (self.up.take_out(ref), self.history.piece(ref))
            self.history.write("move", ref=ref, piece=None)

    @rule(ref=st.sampled_from(list(ON_IT)))
    def put_back(self, ref: str) -> None:
        if ref in self.out and self.history.piece(ref) is None:
            lot, piece = self.out.pop(ref)
            lot.refresh_from_db()
            if lot.condition != "faulty":
                self.up.put_back(lot, ref)
                self.history.write("move", ref=ref, piece=piece)

    @rule(ref=st.sampled_from(list(ON_IT)), condition=st.sampled_from(["good", "untested"]))
    def fit_another(self, ref: str, condition: str) -> None:
        if self.history.piece(ref) is None:
            self.up.fit(ref, condition=condition)
            self.pieces += 1
            self.history.write("move", ref=ref, piece=str(self.pieces))
            self.history.write("judged", piece=str(self.pieces), **{"as": condition})

    @rule(ref=st.sampled_from(list(ON_IT)), verdict=st.sampled_from(["good", "suspect", "faulty"]))
    def judge(self, ref: str, verdict: str) -> None:
        piece = self.history.piece(ref)
        if piece is not None:
            trials.record(by=None, lot=self.up.lot_at(ref), method="looked at", verdict=verdict)
            self.history.write("judged", piece=piece, **{"as": verdict})

    @rule(check=st.sampled_from(["inspection", "supply", "first_power"]), right=st.booleans())
    def confirm(self, check: str, right: bool) -> None:
        self.up.post("checks/", check=check, right=right)
        self.history.write(check, right=right)

    @rule(ref=st.sampled_from(TURNED), right=st.booleans())
    def see(self, ref: str, right: bool) -> None:
        if self.history.piece(ref) is not None:
            self.up.post("orientation/", refs=[ref], right=right)
            self.history.write("orientation", ref=ref, right=right, noted=self.noted if ref == "C1" else "")

    @rule(setting=st.sampled_from(["1-2", "2-3"]))
    def set_link(self, setting: str) -> None:
        self.up.post("links/", settings={"LK1": setting})
        self.history.write("link", setting=setting)

    @rule(
        stage=st.sampled_from(["ohms", "chips_out", "at_pins"]),
        rail=st.sampled_from(list(WINDOWS)),
        ref=st.sampled_from(["U1", "U2", "R2"]),
        well=st.booleans(),
    )
    def measure(self, stage: str, rail: str, ref: str, well: bool) -> None:
        amount = ("220" if well else "2") if stage == "ohms" else WINDOWS[rail][0] if well else "0.1"
        at, protects = ref if stage == "at_pins" else "", self.history.protects
        if at and at not in protects[rail]:
            return
        self.up.post("rails/", rail=rail, stage=stage, reading=amount, **({"refs": [at]} if at else {}))
        there = {each for each in ON_IT if self.history.piece(each) is not None}
        self.history.write(stage, rail=rail, ref=at, amount=Decimal(amount), there=there, protects=protects)

    @rule(protects=st.sampled_from(DRAWN))
    def correct_what_the_rails_protect(self, protects: dict[str, tuple[str, ...]]) -> None:
        rails = [{**rail, "protects": list(protects[str(rail["name"])])} for rail in RAILS]
        self.up.change_design(rails=rails)
        self.history.write("drawn", protects=protects)

    @rule(passed=st.booleans())
    def board_trial(self, passed: bool) -> None:
        verdict = "good" if passed else "faulty"
        self.up.post(
            "/api/v1/trials/", board=self.up.board.pk, method="soak", in_circuit=True, verdict=verdict
        )
        self.history.write("trial", passed=passed)

    @rule(check=st.sampled_from(["position", "condition"]), ref=st.sampled_from(list(ON_IT)))
    def accept(self, check: str, ref: str) -> None:
        of = "" if self.history.piece(ref) is None else self.history.condition(ref)
        answer = self.up.client.post(
            f"{self.up.here}exceptions/", {"check": check, "subjects": [ref], "why": "known from before"}
        )
        assert answer.status_code in (201, 409)
        if answer.status_code == 201:
            self.history.write("accept", check=check, ref=ref, of=of)

    @rule()
    def explain_the_failure(self) -> None:
        answer = self.up.client.post(
            f"{self.up.here}exceptions/", {"check": "trial", "subjects": [""], "why": "a wire lay across it"}
        )
        assert (answer.status_code == 201) == (not self.history.no_failure_is_unexplained())
        if answer.status_code == 201:
            self.history.write("accept", check="trial")

    @rule(text=st.sampled_from(["", "plus to 0 V", "near the edge"]))
    def note_on_the_bead(self, text: str) -> None:
        self.up.change_position("C1", note=text)
        self.noted = text
        self.history.write("note", text=text)


def test_the_verdict_never_disagrees_with_a_slow_reading_of_the_history(bench: Any) -> None:
    run_state_machine_as_test(
        lambda: BoardAndHistory(bench),
        settings=settings(
            max_examples=examples(3, 24),
            stateful_step_count=20,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
