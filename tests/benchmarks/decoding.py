"""Speed of the decoder and how far its scores can be trusted. Run: python -m tests.benchmarks.decoding

Times are processor time of one process, so that other work on the machine does not count. The generated cases
are those of tests/decoding/generated.py: E24 values in six decades, parts hidden; the truth is what was
hidden.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from statistics import median
from time import process_time

from inventory.decoding import Question, Readings, decode
from inventory.decoding.semiconductors import _types_of
from tests.decoding.generated import Whole, hidden, question, wholes
from tests.decoding.seldom import hidden_types

COMPLETE = (
    "104K", "473J", "4k7", "2n2", "R33", "01B", "1002", "472", "100", "2A474J", "n47", "S3", "A475", "8N2",
    "N750", "4R7J",
    "104K 100V", "µPx 104K 100V 8213", "4u7K 63", "SN74LS04N 8213", "BC547B", "0.1µF 250V",
)  # fmt: skip
COMPLETE_BANDS = (
    "yellow violet red gold",
    "yellow violet black brown brown",
    "brown black black red brown brown",
)
HARD = (
    "????????",
    "????",
    "?" * 50,
    "[0123456789KMJ]" * 8,
    "1|2|3|4|5|6|7|8|9 " * 6,
    "x" * 50,
    "104K " * 10,
    "BC5??",
    "9" * 400,
)
ERROR_PER_CENT = 5


def seconds(asked: Question, times: int) -> float:
    taken = []
    for _ in range(times):
        start = process_time()
        decode(asked)
        taken.append(process_time() - start)
    return median(taken)


def first_time(text: str) -> float:
    _types_of.cache_clear()
    return seconds(Question(marking=text), 1)


def speed() -> None:
    print("speed, median processor time")
    single = [(text, seconds(Question(marking=text), 100) * 1e6) for text in COMPLETE]
    single += [(text, seconds(Question(bands=tuple(text.split())), 100) * 1e6) for text in COMPLETE_BANDS]
    for text, micro in single:
        print(f"  {text:38}{micro:9.0f} µs")
    fresh = []  # types are remembered once read: here each is met for the first time
    for text in COMPLETE:
        fresh.append(min(first_time(text) for _ in range(5)) * 1e6)
    print(f"  met for the first time, median of all {median(fresh):9.0f} µs, slowest {max(fresh):.0f} µs")
    print(f"  complete markings, median of all      {median(micro for _, micro in single):9.0f} µs (aim 200)")
    for form in ("4-band", "5-band", "chip code", "capacitor code", "letter code"):
        chosen = [each for each in wholes() if each.form == form][::12]
        for count in (1, 2):
            taken = [
                seconds(question(whole, parts), 3) * 1e3 for whole in chosen for parts in hidden(whole, count)
            ]
            print(
                f"  {form + f', {count} hidden':38}{median(taken):9.2f} ms median, "
                f"{max(taken):7.2f} ms slowest (aim 5)"
            )
    for text in ("yellow violet ? ?", "? ? black brown brown", "yellow ? black ? brown"):
        milli = seconds(Question(bands=tuple(text.split())), 5) * 1e3
        print(f"  {text + ', no kind':38}{milli:9.2f} ms (aim 5)")
    for text in HARD:
        for doubtful in (False, True):
            milli = seconds(Question(marking=text, doubtful=doubtful), 3) * 1e3
            cut = decode(Question(marking=text, doubtful=doubtful)).truncated
            name = text[:26] + (", doubtful" if doubtful else "")
            print(f"  {name:38}{milli:9.2f} ms, truncated {cut} (aim 50)")


def rank(answer: Readings, whole: Whole) -> int | None:
    return next(
        (
            at
            for at, each in enumerate(answer.readings)
            if (each.kind, each.value) == (whole.kind, whole.value)
        ),
        None,
    )


def cases(count: int) -> Iterator[tuple[Whole, tuple[str, ...]]]:
    for whole in wholes():
        for parts in hidden(whole, count):
            yield whole, parts


def best_possible(value: int, legal: list[int]) -> float:
    """How often any rule could name this value from a figure that is uniform within ERROR_PER_CENT of it.

    All legal E24 values are equally common here. A figure that two of them may give is likelier from the
    lower, whose range is the narrower: the best rule gives it to the lower, and the higher loses it.
    """
    error = ERROR_PER_CENT / 100
    below = max((each for each in legal if each < value), default=0)
    return 1 - max(0.0, below * (1 + error) - value * (1 - error)) / (2 * error * value)


def recovery() -> None:
    chance = random.Random(60062)
    print(
        "\none part hidden, cases; then: truth among the readings, first, first if measured within 5 %, "
        "nearest legal E24 value to that measurement, the best that any rule can do (the aim of 99 % lies "
        "above it where neighbours of E24 overlap), first with the value expected"
    )
    legal: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    totals: dict[str, list[float]] = {}
    for whole, parts in cases(1):
        legal.setdefault((whole.form, parts), []).append(whole.value)
    for whole, parts in cases(1):
        row = totals.setdefault(whole.form, [0.0] * 7)
        measured = round(whole.value * (1 + chance.uniform(-ERROR_PER_CENT, ERROR_PER_CENT) / 100))
        found = rank(decode(question(whole, parts)), whole)
        nearest = min(legal[whole.form, parts], key=lambda value: max(value / measured, measured / value))
        row[0] += 1
        row[1] += found is not None
        row[2] += found == 0
        row[3] += rank(decode(question(whole, parts, measured=measured)), whole) == 0
        row[4] += nearest == whole.value
        row[5] += best_possible(whole.value, legal[whole.form, parts])
        row[6] += rank(decode(question(whole, parts, expected=whole.value)), whole) == 0
    totals["all"] = [sum(column) for column in zip(*totals.values(), strict=True)]
    for form, row in totals.items():
        shares = "".join(f"{100 * each / row[0]:14.1f} %" for each in row[1:])
        print(f"  {form:18}{row[0]:6.0f}{shares}")
    print("\ntwo parts hidden: share of cases     among 20   among 500")
    for form in ("4-band", "5-band", "capacitor code", "letter code", "chip code"):
        chosen = [(whole, parts) for whole, parts in cases(2) if whole.form == form][::3]
        few = sum(rank(decode(question(whole, parts)), whole) is not None for whole, parts in chosen)
        many = sum(
            rank(decode(question(whole, parts, limit=500)), whole) is not None for whole, parts in chosen
        )
        print(
            f"  {form:18}{len(chosen):6}{100 * few / len(chosen):14.1f} %{100 * many / len(chosen):10.1f} %"
        )


def reliability() -> None:
    """Of the readings given a score, how many were right? Value and kind are judged, tolerances joined."""
    chance = random.Random(60063)
    bins: dict[int, list[float]] = {each: [0, 0, 0] for each in range(10)}
    for count, measured_too in ((1, False), (1, True), (2, False)):
        for whole, parts in cases(count):
            if chance.random() > 0.5:
                continue
            more = {"measured": round(whole.value * chance.gauss(1, 0.02))} if measured_too else {}
            shares: dict[tuple[str, int | None], float] = {}
            for reading in decode(question(whole, parts, limit=500, **more)).readings:
                meant = (reading.kind, reading.value)
                shares[meant] = shares.get(meant, 0) + reading.score
            for meaning, score in shares.items():
                row = bins[min(int(score * 10), 9)]
                row[0] += 1
                row[1] += score
                row[2] += meaning == (whole.kind, whole.value)
    print("\nreliability: of readings with such a score, so many were right")
    print("  score         readings   mean score   right")
    for tenth, (number, total, right) in bins.items():
        if number:
            print(
                f"  {tenth / 10:.1f} to {tenth / 10 + 0.1:.1f}{int(number):12}"
                f"{total / number:12.3f}{right / number:9.3f}"
            )
    number = sum(row[0] for row in bins.values())
    error = sum(abs(row[1] - row[2]) for row in bins.values()) / number
    print(f"  mean distance of score and share right, by readings: {error:.4f}")


def seldom() -> None:
    """Type numbers from memory, many of them in no table: data/seldom_types_from_memory.csv."""
    print("\nseldom types, characters hidden: first, sure (over 0.8) and wrong; seed 60065")
    for with_body in (True, False):
        for count in (1, 2):
            every = list(hidden_types(count, with_body=with_body))
            first = sum(bool(each.right and each.right[0]) for each in every) / len(every)
            wrong = sum(each.sure_and_wrong for each in every) / len(every)
            name = f"{count} hidden, body {'given' if with_body else 'not given'}"
            print(f"  {name:26}{len(every):5}{100 * first:8.1f} %{100 * wrong:8.1f} %")


if __name__ == "__main__":
    speed()
    recovery()
    reliability()
    seldom()
