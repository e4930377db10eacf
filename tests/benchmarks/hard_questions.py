"""Speed of hard questions: half read, sets, doubt, long lines. Run: python -m tests.benchmarks.hard_questions

Markings of tests/decoding/data/fresh_*.csv with one to four characters hidden or taken for a set, every third
time in doubt, measured or as a line of several; with a body or without. Processor time of one process,
the least of TIMES runs through all of them: another program on the machine slows any one run.  What stands
before the first question is set aside from collection of garbage, as config/wsgi.py does where it is served.
"""

from __future__ import annotations

import gc
import random
import sys
from collections.abc import Iterator
from itertools import chain
from time import process_time

from inventory.decoding import Question, decode
from inventory.decoding.attributes import attributes
from inventory.decoding.semiconductors import _read_cells, _types_of
from tests.decoding.fresh import TABLES
from tests.decoding.published import rows

COUNT, TIMES = 2500, 3
SETS = ("[8B]", "[1I7]", "[0OD]", "[5S6]", "[2Z7]", "[0123456789]", "[KMJ]")
MEASURED = {"resistor": 4_700_000_000, "capacitor": 100_000_000, "inductor": 100_000_000}
SHOWN = 12


def questions(seed: int) -> Iterator[Question]:
    chance = random.Random(seed)
    known = [
        (row["marking"], row["body"], row["kind"])
        for row in chain.from_iterable(map(rows, TABLES))
        if not row["marking"].startswith("bands:")
    ]
    for _ in range(COUNT):
        marking, body, kind = chance.choice(known)
        if chance.random() < 0.15:
            marking = " ".join((marking, *(chance.choice(known)[0] for _ in range(chance.randint(1, 3)))))
        hidden = chance.choice((0, 1, 1, 2, 3, 4))
        for at in sorted(chance.sample(range(len(marking)), min(hidden, len(marking))), reverse=True):
            if marking[at] not in " []?":
                marking = marking[:at] + chance.choice(("?", "?", chance.choice(SETS))) + marking[at + 1 :]
        measured = chance.random() < 0.2 and kind in MEASURED
        yield Question(
            marking=marking,
            body=body if chance.random() < 0.5 else "",
            kind=kind if measured and chance.random() < 0.5 else "",
            measured=MEASURED if measured else None,
            doubtful=chance.random() < 0.3,
        )


def main() -> None:
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 60066
    asked = list(questions(seed))
    least = [float("inf")] * COUNT
    decode(Question(marking="?4LS?0"))  # the forms of all systems are made once
    gc.collect()
    gc.freeze()
    for _ in range(TIMES):
        _types_of.cache_clear()  # what is remembered of a question is of no use to the next, as a rule
        attributes.cache_clear()
        _read_cells.cache_clear()
        for at, question in enumerate(asked):
            start = process_time()
            decode(question)
            least[at] = min(least[at], 1000 * (process_time() - start))
    taken = sorted(zip(least, asked, strict=True), key=lambda each: each[0])
    places = (0.5, 0.9, 0.99, 1.0)
    shown = ", ".join(f"{taken[min(int(at * COUNT), COUNT - 1)][0]:.1f}" for at in places)
    print(f"{COUNT} hard questions, seed {seed}: ms, median, 90, 99 of 100, slowest: {shown} (aim 10, 50)")
    for milli, question in reversed(taken[-SHOWN:]):
        told = f"{question.kind} {question.body}".strip() + (", in doubt" if question.doubtful else "")
        print(f"  {milli:7.1f} ms  {question.marking}  ({told or 'nothing told'})")


if __name__ == "__main__":
    main()
