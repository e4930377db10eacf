"""Random benches with contention in them, and the same bench as the referees see it: every pair judged."""

import random
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from inventory.spec import GRADES, Fit, Spec, fits
from repairs.planning import Demand, Plan, Supply, Tier
from repairs.planning.network import Arc, Stock

FAMILIES = (
    [
        Spec("resistor", value=value * 10**6, watts=watts, tolerance_percent=tolerance, lead_style="axial")
        for value in (4700, 4750, 5100)
        for watts in (Decimal("0.25"), Decimal("0.5"), Decimal(1))
        for tolerance in (Decimal(1), Decimal(10))
    ],
    [
        Spec(
            "capacitor",
            value=value * 10**9,
            volts=volts,
            dielectric=dielectric,
            lead_style=lead,
            polarised=True,
        )
        for value in (10, 15, 22)
        for volts in (Decimal(16), Decimal(25), None)
        for dielectric, lead in (("aluminium", "radial"), ("aluminium", "axial"), ("tantalum", "radial"))
    ],
    [
        Spec("ic", number=f"74{family}{function}", lead_style="dip")
        for family in ("", "LS", "HCT", "HC")
        for function in ("00", "04")
    ],
)


def scatter(
    seed: int, *, demands: int, supplies: int, pieces: int = 3, people: Sequence[str] = ()
) -> tuple[list[Demand], list[Supply]]:
    """A bench drawn from one or two families of parts that stand in for each other; of several `people`,
    where they are named, and everybody."""
    dice = random.Random(seed)
    whose = random.Random(f"whose {seed}")  # apart, so that without people benches are what they were
    owner_of = {job: whose.choice((None, *people)) for job in range(4)}
    pool = [spec for family in dice.sample(FAMILIES, dice.choice((1, 2))) for spec in dice.sample(family, 6)]
    due = [None, date(2026, 3, 1), date(2026, 3, 2)]
    jobs = {job: (dice.choice((1, 2, 3)), dice.choice(due)) for job in range(4)}
    wants = []
    for number in range(demands):
        job = dice.choice(list(jobs))
        priority, by = jobs[job]
        wants.append(
            Demand(number, dice.choice(pool), dice.randint(1, pieces), job, priority, by, owner=owner_of[job])
        )
    held = [
        Supply(
            number,
            dice.choice(pool),
            dice.randint(1, pieces),
            dice.choice(tuple(Tier)),
            dice.choice(("good", "untested", "untested", "suspect", "faulty")),
            measured=None,
            owner=whose.choice((None, *people)),
        )
        for number in range(supplies)
    ]
    return wants, held


def as_pairs(
    demands: Sequence[Demand], supplies: Sequence[Supply], *, allow_ask: bool = False, borrow: bool = False
) -> tuple[list[list[tuple[int, int]]], list[Stock], list[list[Arc]]]:
    """Every demand and every supply by itself, every pair judged.

    Sure from a drawer, a donor, on order; then the same in question; borrowed at the end, sure before not.
    """
    ladder = sorted({demand.rank for demand in demands})
    wanted = [[(ladder.index(demand.rank), demand.quantity)] for demand in demands]
    stocks = [Stock(supply.quantity, (0, 1, 2, 6)[supply.tier]) for supply in supplies]
    arcs = [
        [
            Arc(index, GRADES.index(grade), fit.closeness)
            if grade != "ask"
            else Arc(index, 2 + questions(fit, supply), fit.closeness, 3)
            for index, supply in enumerate(supplies)
            for fit in [fits(demand.spec, supply.spec, measured=supply.measured)]
            for grade in [graded(fit, supply)]
            if grade in GRADES[: 4 if allow_ask else 3]
            if supply.owner in (None, demand.owner)
            if supply.condition != "faulty" and (borrow or supply.tier != Tier.BORROW)
        ]
        for demand in demands
    ]
    return wanted, stocks, arcs


def questions(fit: Fit, supply: Supply) -> int:
    """How much is open; of a suspect piece also whether it is good."""
    return sum(reason.grade == "ask" for reason in fit.reasons) + (supply.condition == "suspect")


def graded(fit: Fit, supply: Supply) -> str:
    """A suspect piece is a question at best."""
    return "ask" if supply.condition == "suspect" and fit.grade != "no" else fit.grade


def as_drawn(plan: Plan, demands: Sequence[Demand], supplies: Sequence[Supply]) -> list[dict[int, int]]:
    """The plan's takes as the referees count them."""
    place = {supply.id: index for index, supply in enumerate(supplies)}
    drawn: dict[object, dict[int, int]] = {demand.id: {} for demand in demands}
    for take in plan.takes:
        pieces = drawn[take.demand]
        pieces[place[take.supply]] = pieces.get(place[take.supply], 0) + take.quantity
    return list(drawn.values())
