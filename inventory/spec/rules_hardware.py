"""Connectors, sockets, switches, lamps and whatever has no rules of its own."""

from inventory.spec.judging import Case, Rule, exact, not_less, plainly, shape_of_many_legs, shape_of_two_legs


def _number(case: Case) -> None:
    wanted, found = case.need.get("number"), case.have.get("number")
    if wanted is not None and (found is None or plainly(wanted) != plainly(found)):
        case.say("number", "ask", "another type: compare them side by side")


def _same_or_ask(name: str, why: str) -> Rule:
    return exact(name, why, otherwise="ask", vouched=False)


CONNECTOR: tuple[Rule, ...] = (
    exact("ways", "another number of ways"),
    exact("rows", "another number of rows"),
    exact("gender", "plug for socket or the reverse"),
    exact("plating", "another plating: gold against tin frets", otherwise="with_note"),
    not_less("volts"),
    not_less("amps"),
    _number,
    shape_of_many_legs,
)
SOCKET: tuple[Rule, ...] = (
    exact("ways", "another number of ways"),
    exact("plating", "another plating: gold against tin frets", otherwise="with_note"),
    exact("contact", "another contact: check the grip", otherwise="with_note"),
    shape_of_many_legs,
)
SWITCH: tuple[Rule, ...] = (
    exact("poles", "another number of poles"),
    exact("throws", "another number of positions"),
    exact("action", "moves another way", otherwise="ask"),
    not_less("volts"),
    not_less("amps"),
    _number,
    shape_of_many_legs,
)
LAMP: tuple[Rule, ...] = (
    _same_or_ask("volts", "another voltage: dim, or burnt"),
    _same_or_ask("amps", "another current: lamps in series share by it"),
    _same_or_ask("watts", "another power: heat, or dim"),
    exact("base", "another cap"),
    _same_or_ask("colour", "another colour"),
    _number,
    shape_of_two_legs,
)


def _other_number(case: Case) -> None:
    wanted, found = case.need.get("number"), case.have.get("number")
    if wanted is None:
        return
    if found is None:
        case.unknown("number")
    elif plainly(wanted) != plainly(found):
        case.say("number", "no", "another thing")


def _other_figure(name: str) -> Rule:
    """Nobody knows whether more is better: a relay coil wants its own volts."""

    def rule(case: Case) -> None:
        wanted, found = case.need.get(name), case.have.get(name)
        if wanted is None or wanted == found:
            return
        if found is None:
            case.unknown(name)
        elif found < wanted:
            case.say(name, "no", "less than required")
        else:
            case.say(name, "ask", "another figure: what it means is not known")

    return rule


OTHER: tuple[Rule, ...] = (
    _other_number,
    *map(_other_figure, ("volts", "watts", "amps", "speed_ns", "tolerance_percent")),
    shape_of_many_legs,
)
