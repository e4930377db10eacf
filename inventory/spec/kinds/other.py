"""Whatever has no rules of its own."""

from decimal import Decimal

from inventory.spec.judging import DATA_SHEET, Case, Rule, exact, plainly, shape_of_many_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Number, Trait, Word

TRAITS: dict[str, Trait] = {
    "device": Word(
        "what it is",
        "relay speaker buzzer microphone earphone battery battery_holder fuse_holder lamp_holder heatsink"
        " motor fan meter varistor surge_arrester solenoid valve picture_tube photoresistor delay_line filter"
        " display tape_head antenna knob cable insulator thermostat module",
    ),
    "poles": Number("separate circuits", least=Decimal(1), most=Decimal(64), places=0),
    "contacts": Word("contacts of a relay", "change_over normally_open normally_closed"),
    "ohms": Number("impedance of a speaker, resistance of a coil", "Ω"),
}


def _other_number(case: Case) -> None:
    if not case.differs("number", vouched=False):
        return
    if plainly(case.need["number"]) == plainly(case.have["number"]):
        return
    if "device" in case.need and case.need["device"] == case.have.get("device"):
        case.add_reason("number", "ask", "another type of the same sort: compare the data sheets", DATA_SHEET)
    else:
        case.add_reason("number", "no", "another thing")


_FOR_ITS_VOLTS = frozenset(("relay", "solenoid", "battery", "motor", "fan"))
"""What wants or gives its own volts: more are no reserve (common practice, no source)."""


def _other_figure(name: str) -> Rule:
    """Nobody knows whether more is better."""

    def rule(case: Case) -> None:
        if not case.differs(name, vouched=False):
            return
        if case.have[name] < case.need[name]:
            case.add_reason(name, "no", "less than required")
        elif name == "volts" and case.need.get("device") in _FOR_ITS_VOLTS:
            case.add_reason(name, "no", "made for other volts")
        else:
            case.add_reason(name, "ask", "another figure: what it means is not known")

    return rule


RULES: tuple[Rule, ...] = (
    exact("device", "another sort of thing"),
    _other_number,
    *map(_other_figure, ("volts", "watts", "amps", "speed_ns", "tolerance_percent", "poles", "ohms")),
    exact("contacts", "other contacts"),
    shape_of_many_legs,
)

OTHER = Kind(
    name="other",
    traits=TRAITS,
    rules=RULES,
    words=("misc",),
)
