"""The demo's Gannet goes from stop to ready through the API: wrong links, a mixed bank, a reversed part and a
missing
rail are each caught on the way (boards and readings are invented)."""

from typing import Any

import pytest

from repairs import demo
from repairs.audit import audit
from repairs.proving_models import TrialRecord

API = "/api/v1/"


class Bench:
    """One person at the Gannet, by the API alone."""

    def __init__(self, client: Any) -> None:
        self.client = client
        boards = self.get("boards/?page_size=100&q=Gannet")["results"]
        self.board = next(board for board in boards if board["name"] == "Gannet, from the Merlin")
        self.here = f"boards/{self.board['id']}/"
        drawn = self.get(f"designs/{self.board['design']}/")["positions"]
        self.drawn = {position.pop("ref"): position for position in drawn}
        self.tray = self.post("places/", {"name": "Tray for the Gannet", "type": "tray"})["id"]

    def get(self, path: str) -> Any:
        answer = self.client.get(API + path)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def post(self, path: str, body: dict[str, Any], status: int = 201) -> Any:
        answer = self.client.post(API + path, body)
        assert answer.status_code == status, answer.content
        return answer.json()

    def ready(self) -> Any:
        return self.get(f"{self.here}ready/")

    def items(self, state: str, check: str = "") -> list[Any]:
        return [
            item for item in self.ready()["items"] if item["state"] == state and check in ("", item["check"])
        ]

    def empty(self) -> list[str]:
        return [ref for item in self.items("open", "position") for ref in item["refs"]]

    def receive(self, ref: str, **more: Any) -> int:
        """A good piece of what the position wants, from a shop."""
        spec = {name: value for name, value in self.drawn[ref].items() if name in SPEC}
        body = {
            "kind": "receive", "part": {**spec, **more.pop("spec", {})}, "quantity": 1, "to": self.tray,
            "origin": {"source": "bought", "from": "Slack Tide Components"}, "condition": "good", **more,
        }  # fmt: skip
        return int(self.post("movements/", body)["lot"])

    def fit(self, ref: str, lot: int) -> None:
        body = {"kind": "fit", "lot": lot, "from": self.tray, "board": self.board["id"], "ref": ref}
        self.post("movements/", body)

    def take_out(self, ref: str) -> int:
        body = {"kind": "lift", "board": self.board["id"], "refs": [ref], "to": self.tray}
        return int(self.post("movements/", body)["lot"])

    def rail(self, rail: str, stage: str, reading: str, *refs: str) -> None:
        body = {"rail": rail, "stage": stage, "reading": reading, **({"refs": list(refs)} if refs else {})}
        self.post(f"{self.here}rails/", body)

    def see(self, *refs: str, right: bool = True) -> None:
        self.post(f"{self.here}orientation/", {"refs": list(refs), "right": right})


SPEC = (
    "kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package",
    "lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits",
)  # fmt: skip
RAILS = {"-5V": "-5.02 V", "+5V": "4.98 V", "+12V": "12.1 V", "-12V": "-11.9 V", "+180V": "184 V"}
IN_SOCKETS = {"IC4", "IC5", "IC6"}


def test_the_gannet_goes_from_stop_to_ready(bench: Any) -> None:
    demo.load(by=bench.person)
    # Where the rules can judge what the workshop wrote down, they agree; a checksum wants its label.
    records = TrialRecord.objects.select_related("trial")
    differing = {result.trial.method for result in records if "by the window" in result.reasons[0]["detail"]}
    assert differing == {"checksum"}
    gannet = Bench(bench)
    result = gannet.ready()
    assert result["verdict"] == "stop"
    stops = {(item["check"], item["subject"]) for item in result["items"] if item["state"] == "stop"}
    # IC4 is in before the +12 V was ever measured, and its link stands for the other sort of gates.
    assert stops == {("rail", "+12V"), ("link", "LK2")}

    gates = gannet.take_out("IC4")
    for ref in sorted(set(gannet.empty()) - IN_SOCKETS):
        gannet.fit(ref, gannet.receive(ref))
    assert set(gannet.empty()) == IN_SOCKETS

    # Look, supply, heatsinks; then ohms before any power.
    for check in ("inspection", "supply", "heatsink"):
        gannet.post(f"{gannet.here}checks/", {"check": check, "right": True})
    for rail in RAILS:
        gannet.rail(rail, "ohms", "1k2")
    assert not gannet.items("open", "ohms")

    # A missing rail: nothing that it protects may go in.
    gannet.rail("-5V", "chips_out", "0.1 V")
    [missing] = gannet.items("stop", "rail")
    assert (missing["subject"], missing["refs"]) == ("-5V", ["IC6"])
    assert "IC6" in missing["reason"]
    eprom = gannet.receive("IC6", spec={"make": "Intel"}, marking="B2708 7939")
    gannet.fit("IC6", eprom)
    assert "must not be fitted" in gannet.items("stop", "rail")[0]["reason"]
    gannet.take_out("IC6")
    for rail, volts in RAILS.items():
        gannet.rail(rail, "chips_out", volts)
    assert not gannet.items("stop")
    assert not gannet.items("open", "rail")

    # Links as they were found: for a single-rail EPROM and A type gates.
    gannet.fit("IC4", gates)
    gannet.fit("IC6", eprom)
    wrong = {item["subject"]: item for item in gannet.items("stop", "link")}
    assert set(wrong) == {"LK1", "LK2"}
    assert "three rails" in wrong["LK1"]["reason"]
    assert any("CD4066BE" in line for line in wrong["LK2"]["evidence"])

    # A mixed bank: the other maker's gates work, but not beside these.
    other = gannet.receive("IC5", spec={"make": "Motorola"}, marking="MC14066BCP")
    gannet.fit("IC5", other)
    [mixed] = gannet.items("stop", "bank")
    assert "RCA in IC4" in mixed["reason"]
    assert "Motorola in IC5" in mixed["reason"]
    gannet.take_out("IC5")
    gannet.fit("IC5", gannet.receive("IC5", spec={"make": "RCA"}, marking="CD4066BE 8120"))
    assert not gannet.items("stop", "bank")

    gannet.post(f"{gannet.here}links/", {"settings": {"LK1": "1-2", "LK2": "1-2"}, "note": "moved"})
    assert not gannet.items("stop", "link")

    # A reversed part: a bead on the +5 V.
    keyed = [position["ref"] for position in gannet.get(f"{gannet.here}orientation/")["positions"]]
    gannet.see(*keyed)
    gannet.see("C3", right=False)
    [reversed_] = gannet.items("stop", "orientation")
    assert reversed_["refs"] == ["C3"]
    assert gannet.ready()["verdict"] == "stop"
    turned = gannet.take_out("C3")
    gannet.fit("C3", turned)
    assert "C3" in {ref for item in gannet.items("open", "orientation") for ref in item["refs"]}
    gannet.see("C3")

    # Solder was moved: the rails are measured again, chips out, then at the pins as each goes in.
    assert {item["check"] for item in gannet.items("open")} >= {"inspection", "ohms", "rail"}
    chips = {ref: gannet.take_out(ref) for ref in sorted(IN_SOCKETS)}
    gannet.post(f"{gannet.here}checks/", {"check": "heatsink", "right": True})
    for rail in RAILS:
        gannet.rail(rail, "ohms", "1k2")
    for rail, volts in RAILS.items():
        gannet.rail(rail, "chips_out", volts)
    for ref, lot in chips.items():
        gannet.fit(ref, lot)
    gannet.see(*IN_SOCKETS)
    gannet.post(f"{gannet.here}links/", {"settings": {"LK1": "1-2", "LK2": "1-2", "LK3": "1-2"}})
    gannet.post(f"{gannet.here}checks/", {"check": "inspection", "right": True})
    assert {item["check"] for item in gannet.items("open")} == {"ohms_in", "pins"}
    for rail in RAILS:
        gannet.rail(rail, "ohms", "820")
    assert {item["check"] for item in gannet.items("open")} == {"pins"}
    gannet.rail("-5V", "at_pins", "-5.01 V", "IC6")
    gannet.rail("+5V", "at_pins", "4.97 V", "IC6")
    gannet.rail("+12V", "at_pins", "12.0 V", "IC4", "IC5", "IC6")

    done = gannet.ready()
    assert done["verdict"] == "ready", [item for item in done["items"] if item["state"] != "pass"]
    assert any("local codes" in caution for caution in done["cautions"])
    assert any("discharge through a resistor" in caution for caution in done["cautions"])

    # And whatever is changed afterwards opens it again.
    gannet.take_out("IC6")
    assert gannet.ready()["verdict"] == "open"
    assert audit() == []


@pytest.mark.parametrize(
    "path", ["ready/", "links/", "rails/", "orientation/", "checks/", "exceptions/", "suspects/"]
)
def test_a_board_without_a_drawing_is_answered_and_not_ready(bench: Any, path: str) -> None:
    board = bench.post(f"{API}boards/", {"name": "No drawing", "purpose": "donor"}).json()
    result = bench.get(f"{API}boards/{board['id']}/{path}")
    assert result.status_code == 200
    if path == "ready/":
        assert result.json()["verdict"] == "open"
