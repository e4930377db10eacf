"""Fresh partial markings: how often the truth comes first, beside the best that any rule could reach.

Run: python -m tests.benchmarks.partial_markings [SEED]

Capacitors of E24 in five decades, E6 four times and E12 twice as common as the rest of E24 (common practice,
no source), printed in seven forms; one to three characters are hidden. The best possible posterior knows all
of that: the form, the population, how the meter errs. The decoder is told the body and, every second time,
the kind. Fresh markings of tests/decoding/data are read for the reliability table.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Iterator
from math import exp, log
from time import process_time
from typing import NamedTuple

from inventory.decoding import Question, decode
from tests.decoding.fresh import fresh
from tests.decoding.generated import E24

E6, E12 = E24[::4], E24[::2]
ERROR = 0.03
CASES = 240
PICO = 1000


class Form(NamedTuple):
    name: str
    body: str
    printed: Callable[[int, int], str]
    value: Callable[[int, int], int]


def pointed(figures: int, power: int) -> str:
    """47 and 2, in pF: 4n7 by IEC 60062."""
    digits, unit, place = str(figures), "pnµ"[(power + 1) // 3], (power + 1) % 3
    if place == 0:
        return f"{digits[0]}{unit}{digits[1]}"
    return f"{digits}{unit}" if place == 1 else f"{digits}0{unit}"


def picofarads(figures: int, power: int) -> int:
    return figures * 10**power * PICO


def bead(power: int) -> int:
    return 3 + (power + 1) // 2


def microfarads(figures: int, power: int) -> int:
    return figures * 10 ** max(power - 2, 0) * 10**9


FORMS = (
    Form("code and letter", "ceramic disc", lambda f, p: f"{f}{p}K", picofarads),
    Form("code, letter, volts", "film", lambda f, p: f"{f}{p}J 100V", picofarads),
    Form("runs together", "film", lambda f, p: f"{pointed(f, p)}J100", picofarads),
    Form("number and volts", "electrolytic", lambda f, p: f"{f * 10 ** max(p - 2, 0)} 25", microfarads),
    # A bead holds some 5,000 µF times volts at most: 100 nF to 91 µF.
    Form(
        "code and volts",
        "tantalum bead",
        lambda f, p: f"{f}{bead(p)} 25",
        lambda f, p: picofarads(f, bead(p)),
    ),
    Form("order code", "multilayer ceramic", lambda f, p: f"CK05BX{f}{p}K", picofarads),
    Form("unit and volts", "electrolytic", lambda f, p: f"{f * 10 ** max(p - 2, 0)}µF 16V", microfarads),
)


def common(figures: int) -> float:
    return 4.0 if figures in E6 else 2.0 if figures in E12 else 1.0


POPULATION = [(figures, power) for power in range(1, 6) for figures in E24]


def hide(text: str, count: int, chance: random.Random) -> str:
    places = chance.sample([at for at, each in enumerate(text) if each != " "], count)
    return "".join("?" if at in places else each for at, each in enumerate(text))


def best_possible(form: Form, seen: str, measured: int | None) -> float:
    """The share of the likeliest value among all that print so, and may measure so."""
    shares: dict[int, float] = {}
    for figures, power in POPULATION:
        text = form.printed(figures, power)
        if len(text) == len(seen) and all(a in ("?", b) for a, b in zip(seen, text, strict=True)):
            value = form.value(figures, power)
            miss = 0.0 if measured is None else log(measured / value) / ERROR
            shares[value] = shares.get(value, 0.0) + common(figures) * exp(-miss * miss / 2)
    return max(shares.values()) / sum(shares.values())


def cases(form: Form, chance: random.Random) -> Iterator[tuple[str, int]]:
    weights = [common(figures) for figures, _ in POPULATION]
    for figures, power in chance.choices(POPULATION, weights, k=CASES):
        yield (
            hide(form.printed(figures, power), chance.choice((1, 1, 2, 3)), chance),
            form.value(figures, power),
        )


def partial(seed: int) -> list[float]:
    chance = random.Random(seed)
    taken: list[float] = []
    print(f"partial markings, seed {seed}, {CASES} a form: first, best possible; with a meter ±3 %: the same")
    for form in FORMS:
        figures = []
        for with_meter in (False, True):
            first = best = 0.0
            for at, (seen, value) in enumerate(list(cases(form, chance))):
                measured = round(value * chance.gauss(1, ERROR)) if with_meter else None
                start = process_time()
                readings = decode(
                    Question(
                        marking=seen, body=form.body, kind="capacitor" if at % 2 else "",
                        measured=None if measured is None else {"capacitor": measured},
                    )
                ).readings  # fmt: skip
                taken.append(process_time() - start)
                first += bool(readings) and (readings[0].kind, readings[0].value) == ("capacitor", value)
                best += best_possible(form, seen, measured)
            figures += [100 * first / CASES, 100 * best / CASES]
        print("  {:22}{:6.1f} %{:8.1f} %{:12.1f} %{:8.1f} %".format(form.name, *figures))
    return taken


def reliability() -> None:
    bins: dict[int, list[float]] = {tenth: [0, 0.0, 0] for tenth in range(10)}
    for each in fresh():
        for reading, right in zip(each.readings, each.right, strict=True):
            row = bins[min(int(reading.score * 10), 9)]
            row[0] += 1
            row[1] += reading.score
            row[2] += right
    print("\nfresh markings, body and era told: of readings with such a score, so many were right")
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
