"""Fresh partial markings: how often the truth comes first, beside the best that any rule could reach.

Run: python -m tests.benchmarks.partial_markings [SEED]

Capacitors of E24 in five decades, E6 four times and E12 twice as common as the rest of E24, printed in the
forms that their body carries, each with the share, letters and volts stated below (all of it common practice,
no source); one to three characters are hidden. The decoder is told the body and, every second time, the kind.

Two yardsticks, both by enumeration of all that could be printed and without the decoder's code: `best` knows
the shares of all that is drawn here, how parts and the meter err, and the body, as a reader may; `form known`
knows the form, which nobody who reads a part does. Fresh markings of tests/decoding/data are read for the
reliability table.
"""

from __future__ import annotations

import random
import re
import sys
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from math import exp, hypot, log
from time import process_time
from typing import NamedTuple

from inventory.decoding import Question, decode
from tests.decoding.fresh import fresh, meanings
from tests.decoding.generated import E24

E6, E12 = E24[::4], E24[::2]
METER, AGEING = 0.03, 0.015
CASES = 240
PICO = 1000
DECADES = range(1, 6)


def common(figures: int) -> float:
    return 4.0 if figures in E6 else 2.0 if figures in E12 else 1.0


POPULATION = [(figures, power) for power in DECADES for figures in E24]


class Printed(NamedTuple):
    """A marking, what it means in fF, and how often it is met among all of its body."""

    text: str
    value: int
    share: float
    spread: float
    """How far its makers let the part be off, as a fraction."""


def code(picofarads: int) -> str:
    """4700 as 472."""
    return f"{str(picofarads)[:2]}{len(str(picofarads)) - 2}"


def pointed(picofarads: int) -> str:
    """4700 as 4n7 by IEC 60062."""
    size = len(str(picofarads)) - 1
    digits, unit, before = str(picofarads)[:2], "pnµ"[size // 3], size % 3
    return f"{digits[0]}{unit}{digits[1]}" if before == 0 else f"{digits}{'0' * (before - 1)}{unit}"


def letter_first(picofarads: int) -> str:
    """220000 as µ22, what has fewer noughts as above."""
    size = len(str(picofarads)) - 1
    return f"{'nµm'[size // 3]}{str(picofarads)[:2]}" if size % 3 == 2 else pointed(picofarads)


def microfarads(picofarads: int) -> str:
    """4700000 as 4.7."""
    return f"{picofarads / 10**6:.6f}".rstrip("0").rstrip(".")


class Form(NamedTuple):
    name: str
    share: float
    printed: Callable[[int, str, str], str]
    """Of picofarads, a tolerance letter and volts."""


class Body(NamedTuple):
    name: str
    scale: Callable[[int], int]
    """How many noughts the two figures have, in pF, in the first to the fifth decade."""
    letters: tuple[tuple[str, float], ...]
    """Of tolerance, with their shares."""
    volts: tuple[str, ...]
    forms: tuple[Form, ...]


FILM_LETTERS = (("J", 0.4), ("K", 0.5), ("M", 0.1))
CERAMIC_LETTERS = (("J", 0.2), ("K", 0.5), ("M", 0.2), ("Z", 0.1))
NO_LETTER = (("", 1.0),)
SPREAD = {"J": 0.05, "K": 0.1, "M": 0.2, "Z": 0.5, "": 0.2}
BODIES = (
    Body("ceramic disc", lambda decade: decade - 1, CERAMIC_LETTERS, ("",), (
        Form("code and letter", 0.6, lambda pico, letter, _: f"{code(pico)}{letter}"),
        Form("code", 0.2, lambda pico, *_: code(pico)),
        Form("pointed and letter", 0.2, lambda pico, letter, _: f"{pointed(pico)}{letter}"),
    )),
    Body("film", lambda decade: decade, FILM_LETTERS, ("63", "100", "160", "250", "400", "630"), (
        Form("code, letter, volts", 0.4, lambda pico, letter, volts: f"{code(pico)}{letter} {volts}V"),
        Form("runs together", 0.2, lambda pico, letter, volts: f"{pointed(pico)}{letter}{volts}"),
        Form("runs together, µ22", 0.2, lambda pico, letter, volts: f"{letter_first(pico)}{letter}{volts}"),
        Form("unit and volts", 0.2, lambda pico, _, volts: f"{microfarads(pico)}µF {volts}V"),
    )),
    Body("electrolytic", lambda decade: max(decade, 2) + 4, NO_LETTER, ("10", "16", "25", "35", "50", "63"), (
        Form("number and volts", 0.4, lambda pico, _, volts: f"{microfarads(pico)} {volts}"),
        Form("unit and volts", 0.6, lambda pico, _, volts: f"{microfarads(pico)}µF {volts}V"),
    )),
    # A bead holds some 5,000 µF times volts at most: 100 nF to 91 µF.
    Body("tantalum bead", lambda decade: 3 + (decade + 1) // 2, NO_LETTER, ("10", "16", "20", "25", "35"), (
        Form("code and volts", 0.5, lambda pico, _, volts: f"{code(pico)} {volts}"),
        Form("number and volts", 0.3, lambda pico, _, volts: f"{microfarads(pico)} {volts}"),
        Form("unit and volts", 0.2, lambda pico, _, volts: f"{microfarads(pico)}µ {volts}V"),
    )),
    Body("multilayer ceramic", lambda decade: decade, CERAMIC_LETTERS, ("",), (
        Form("code and letter", 0.7, lambda pico, letter, _: f"{code(pico)}{letter}"),
        Form("order code", 0.3, lambda pico, letter, _: f"CK05BX{code(pico)}{letter}"),
    )),
)  # fmt: skip


@cache
def all_of(body: Body) -> dict[str, list[Printed]]:
    """Everything that such a body carries, by form."""
    every: dict[str, list[Printed]] = {form.name: [] for form in body.forms}
    for form in body.forms:
        for figures, decade in POPULATION:
            picofarads = figures * 10 ** body.scale(decade)
            for letter, share in body.letters:
                for volts in body.volts:
                    text = form.printed(picofarads, letter, volts)
                    weight = form.share * common(figures) * share / len(body.volts)
                    every[form.name].append(Printed(text, picofarads * PICO, weight, SPREAD[letter]))
    return every


def hide(text: str, count: int, chance: random.Random) -> str:
    places = chance.sample([at for at, each in enumerate(text) if each != " "], count)
    return "".join("?" if at in places else each for at, each in enumerate(text))


def width_of(printed: Printed) -> float:
    """How far a figure is off, as one standard deviation: a third of the part's tolerance, ageing, and of the
    meter's what leaves one figure in ten outside it.
    """
    return hypot(0.6 * METER, printed.spread / 3, AGEING)


def best(every: list[Printed], seen: str, measured: int | None, value: int) -> float:
    """Whether the likeliest value of all that may be printed so, and may measure so, is this one.

    Of equals each is named as often.
    """
    fits = re.compile(re.escape(seen).replace(r"\?", "[^ ]")).fullmatch
    shares: dict[int, float] = {}
    for each in every:
        if fits(each.text):
            share = each.share
            if measured is not None:
                width = width_of(each)
                miss = log(measured / each.value) / width
                share *= exp(-miss * miss / 2) / width
            shares[each.value] = shares.get(each.value, 0.0) + share
    likeliest = max(shares.values())
    equals = [each for each, share in shares.items() if share > likeliest * (1 - 1e-9)]
    return (value in equals) / len(equals)


def cases(body: Body, form: Form, chance: random.Random) -> Iterator[tuple[str, Printed]]:
    every = all_of(body)[form.name]
    for drawn in chance.choices(every, [each.share for each in every], k=CASES):
        count = chance.choice((1, 1, 2, 3))
        if count < len(drawn.text):
            yield hide(drawn.text, count, chance), drawn


def partial(seed: int) -> list[float]:
    chance = random.Random(seed)
    taken: list[float] = []
    print(
        f"partial markings, seed {seed}, {CASES} a form: first, best, form known; with a meter ±3 %: the same"
    )
    sums, total = [0.0] * 6, 0.0
    for body in BODIES:
        mixed = [each for every in all_of(body).values() for each in every]
        for form in body.forms:
            figures = []
            for with_meter in (False, True):
                first = of_all = of_form = 0.0
                asked = list(cases(body, form, chance))
                for at, (seen, drawn) in enumerate(asked):
                    measured = (
                        round(drawn.value * exp(chance.gauss(0, width_of(drawn)))) if with_meter else None
                    )
                    start = process_time()
                    readings = decode(
                        Question(
                            marking=seen, body=body.name, kind="capacitor" if at % 2 else "",
                            measured=None if measured is None else {"capacitor": measured},
                            measured_tolerance=Decimal(3),
                        )
                    ).readings  # fmt: skip
                    taken.append(process_time() - start)
                    first += bool(readings) and (readings[0].kind, readings[0].value) == (
                        "capacitor",
                        drawn.value,
                    )
                    of_all += best(mixed, seen, measured, drawn.value)
                    of_form += best(all_of(body)[form.name], seen, measured, drawn.value)
                figures += [100 * each / len(asked) for each in (first, of_all, of_form)]
            print(("  {:20}{:20}" + "{:9.1f}{:8.1f}{:8.1f}" * 2).format(body.name, form.name, *figures))
            share = form.share / len(BODIES)
            total += share
            sums = [each + share * figure for each, figure in zip(sums, figures, strict=True)]
    shown = [each / total for each in sums]
    print(("  {:40}" + "{:9.1f}{:8.1f}{:8.1f}" * 2).format("all, by their shares", *shown))
    return taken


def reliability() -> None:
    bins: dict[int, list[float]] = {tenth: [0, 0.0, 0] for tenth in range(10)}
    for each in fresh():
        for score, right in meanings(each):
            row = bins[min(int(score * 10), 9)]
            row[0] += 1
            row[1] += score
            row[2] += right
    print("\nfresh markings, body and era told: of meanings with such a score, so many were right")
    for tenth, (number, total, right) in bins.items():
        if number:
            shares = f"{total / number:9.3f}{right / number:8.3f}"
            print(f"  {tenth / 10:.1f} to {(tenth + 1) / 10:.1f}{number:8}{shares}")


def main() -> None:
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 60063
    taken = sorted(partial(seed))
    reliability()
    places = (0.5, 0.99, 1.0)
    shown = ", ".join(f"{1000 * taken[min(int(each * len(taken)), len(taken) - 1)]:.1f}" for each in places)
    print(f"\nprocessor time of a partial marking, ms: median, 99 of 100, slowest: {shown} (aim 10, 50)")


if __name__ == "__main__":
    main()
