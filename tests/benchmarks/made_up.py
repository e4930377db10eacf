"""How long made-up values take for all short lines: `python -m tests.benchmarks.made_up`.

200 missing resistors against 5,000 free pieces of distinct values; target 2 s for all of them.
"""

import random
import time
from decimal import Decimal

from inventory.spec import Spec
from repairs.planning import Supply, Tier
from repairs.planning.made_up import Pool
from tests.benchmarks import verdict

LINES, VALUES, SECONDS = 200, 5000, 2.0


def resistor(dice: random.Random, tolerances: tuple[int, ...], watts: tuple[str, ...]) -> Spec:
    return Spec(
        "resistor",
        value=int(10 ** dice.uniform(0, 6.5) * 1000) * 1000,
        tolerance_percent=Decimal(dice.choice(tolerances)),
        watts=Decimal(dice.choice(watts)),
        lead_style="axial",
    )


def main() -> None:
    dice = random.Random(1)
    parts: dict[int, Spec] = {}
    while len(parts) < VALUES:
        spec = resistor(dice, (1, 5), ("0.25", "0.5", "1"))
        parts[spec.value or 0] = spec
    free = [Supply(n, spec, dice.randint(1, 5), Tier.DRAWER) for n, spec in enumerate(parts.values())]
    missing = [resistor(dice, (1, 2, 5, 10), ("0.25", "0.5")) for _ in range(LINES)]
    start = time.process_time()
    pool = Pool(free)
    made = sum(bool(pool.make(requirement)) for requirement in missing)
    taken = time.process_time() - start
    print(f"{made} of {LINES} lines made from {VALUES} values")
    verdict("processor time for all lines", taken, SECONDS, unit=" s")


if __name__ == "__main__":
    main()
