"""The next best check: the measurement or second glance that would settle most of what is still open."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from math import log

from inventory.spec.quantities import NOTATIONS

from .patterns import UNREAD
from .reading import Reading

PREFIXES = ((9, "G"), (6, "M"), (3, "k"), (0, ""), (-3, "m"), (-6, "µ"), (-9, "n"), (-12, "p"))
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
CONSIDERED = 12
SETTLED = 0.97
TELLS_APART = 1.25
"""A bench meter tells two values apart from this ratio up, tolerances included."""


def spoken(kind: str, units: int) -> str:
    """A value as a person says it: “10 pF”, “4.7 kΩ”."""
    notation = NOTATIONS.get(kind)
    symbol, places = (notation.unit, notation.exponent) if notation else ("", 0)
    if not units:
        return f"0 {symbol}"
    exponent = len(str(units)) - 1 - places
    for power, prefix in PREFIXES:
        if exponent >= power or power == -12:
            amount = Decimal(units).scaleb(-places - power)
            return f"{plain(amount)} {prefix}{symbol}"
    return str(units)


def plain(amount: Decimal) -> str:
    text = format(amount, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def entropy(weights: Iterable[float]) -> float:
    amounts = [each for each in weights if each > 0]
    total = sum(amounts)
    return -sum(each / total * log(each / total) for each in amounts) if total else 0.0


def next_check(readings: Sequence[Reading], bands: bool, measured: bool) -> str:
    """In words; "" when the best reading is as good as certain."""
    open_ = [each for each in readings[:CONSIDERED] if each.score > 0.01]
    if len(open_) < 2 or open_[0].score > SETTLED:
        return ""
    best, words = 0.0, ""
    for gain, check in (by_kind(open_), by_meter(open_), by_glance(open_, bands), by_date(open_)):
        if measured and check.startswith("measure"):
            gain *= 0.5
        if gain > best + 0.02:
            best, words = gain, check
    return words or f"look again with light across the face: what remains open is {still_open(open_)}"


def still_open(readings: Sequence[Reading]) -> str:
    """In what the readings still differ, in words."""
    facts: dict[str, list[object]] = {
        "the tolerance": [(each.tolerance_percent, each.tolerance_low_percent) for each in readings],
        "the volts": [each.volts for each in readings],
        "the date, or whether it is one": [each.date for each in readings],
        "the temperature characteristic": [each.temperature.get("code") for each in readings],
        "the speed": [each.traits.get("access_ns") for each in readings],
    }
    return " and ".join(name for name, values in facts.items() if len(set(values)) > 1) or "of little weight"


def by_kind(readings: Sequence[Reading]) -> tuple[float, str]:
    shares: dict[str, float] = {}
    called = {"ic": "IC", "other": "something else"}
    for each in readings:
        shares[each.kind] = shares.get(each.kind, 0.0) + each.score
        if each.kind == "other" and each.traits.get("device"):
            called["other"] = str(each.traits["device"])
    names = [called.get(kind, kind) for kind in sorted(shares, key=lambda kind: -shares[kind])[:3]]
    choice = " or ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else names[0]
    return entropy(shares.values()), f"settle what kind of part it is: {choice}"


def by_meter(readings: Sequence[Reading]) -> tuple[float, str]:
    """Group values a meter cannot tell apart; name the two likeliest groups and a range that covers them."""
    leading = readings[0].kind
    valued = sorted((each.value, each.score) for each in readings if each.kind == leading and each.value)
    if len(valued) < 2 or leading not in NOTATIONS:
        return 0.0, ""
    groups: list[tuple[float, int]] = []
    last = 0
    for value, score in valued:
        if groups and value < last * TELLS_APART:
            weight, likeliest = groups[-1]
            groups[-1] = (weight + score, likeliest if weight > score else value)
        else:
            groups.append((score, value))
        last = value
    if len(groups) < 2:
        return 0.0, ""
    top = sorted(groups, reverse=True)[:3]
    named = sorted(value for _, value in top)
    remaining = " and ".join(spoken(leading, value) for value in named)
    check = f"measure on the {meter_range(leading, named[-1])} range: {remaining} remain"
    return entropy(weight for weight, _ in groups), check


def meter_range(kind: str, units: int) -> str:
    """The smallest range of a 2-20-200 meter that holds the value."""
    power = len(str(units)) - 1
    for step in (2 * 10**power, 2 * 10 ** (power + 1)):
        if units < step:
            return spoken(kind, step)
    return spoken(kind, units)


def by_glance(readings: Sequence[Reading], bands: bool) -> tuple[float, str]:
    """The one band or character whose reading differs most among what is left."""
    size = len(readings[0].used)
    rows = [(each, [seen for seen, _ in each.used]) for each in readings if each.kind == readings[0].kind]
    if not bands:
        texts = [("".join(seen), each) for each, seen in rows]
        length = len(texts[0][0])
        pairs = [(list(text), each) for text, each in texts if len(text) == length]
    else:
        pairs = [
            (seen, each) for each, seen in rows
            if len(seen) == size and not any("other end" in caution for caution in each.cautions)
        ]  # fmt: skip
    best, check = 0.0, ""
    for place in range(len(pairs[0][0]) if pairs else 0):
        shares: dict[str, float] = {}
        for seen, each in pairs:
            shares[seen[place]] = shares.get(seen[place], 0.0) + each.score
        if len(shares) < 2:
            continue
        gain = entropy(shares.values())
        if gain > best:
            read = [name for name in shares if name != UNREAD]
            names = sorted(read, key=lambda name: -shares[name])[:3]
            ordinal = ORDINALS[place] if place < len(ORDINALS) else f"{place + 1}th"
            best, check = gain, f"is the {ordinal} {'band' if bands else 'character'} {' or '.join(names)}?"
    return best, check


def by_date(readings: Sequence[Reading]) -> tuple[float, str]:
    shares: dict[str, float] = {}
    for each in readings:
        shares[each.date] = shares.get(each.date, 0.0) + each.score
    dates = [each for each in sorted(shares, key=lambda name: -shares[name]) if each][:3]
    return entropy(
        shares.values()
    ) * 0.5, f"give the era of the equipment: {' or '.join(dates)} remain" if len(dates) > 1 else ""
