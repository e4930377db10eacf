"""What remains to be bought: merged, in whole packs, and what it completes."""

import random
from collections import defaultdict
from dataclasses import replace
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.spec import Spec, fits
from repairs.planning import Demand, Supply, Tier, plan
from repairs.planning.buying import BuyList, OnSale, buy_list

CAN = Spec(
    "capacitor",
    value=100 * 10**9,
    volts=Decimal(50),
    dielectric="aluminium",
    lead_style="radial",
    polarised=True,
)
CAN_16, CAN_35 = replace(CAN, volts=Decimal(16)), replace(CAN, volts=Decimal(35))
CHIP = Spec("ic", number="74LS04", lead_style="dip")
TRANSISTOR = Spec("transistor", number="BC547")


def bought(found: BuyList) -> list[tuple[object, int, int, int]]:
    """(part, pieces needed, packs, pieces for stock)"""
    return [(line.part, line.quantity, line.packs, line.for_stock) for line in found.lines]


def test_one_part_is_bought_for_all_that_it_serves() -> None:
    short = [Demand(1, CAN_16, 2, "A"), Demand(2, CAN_35, 1, "B"), Demand(3, CAN, 1, "C")]
    found = buy_list(short, [OnSale("can", CAN, Decimal("0.30"))])
    assert bought(found) == [("can", 4, 4, 0)]
    assert found.price == Decimal("1.20")


def test_packs_are_whole_and_what_is_over_goes_to_stock() -> None:
    found = buy_list([Demand(1, CAN, 7, "A")], [OnSale("can", CAN, Decimal("1.50"), pack_size=5)])
    assert bought(found) == [("can", 7, 2, 3)]
    assert found.lines[0].price == Decimal("3.00")


def test_what_nobody_knows_a_price_of_is_bought_as_it_is_required() -> None:
    found = buy_list([Demand(1, TRANSISTOR, 1, "A")], [])
    (line,) = found.lines
    assert (line.part, line.spec, line.price) == (None, TRANSISTOR, None)
    assert found.price is None


def test_short_lines_of_unknown_price_are_merged_too() -> None:
    found = buy_list([Demand(1, CAN_16, 1, "A"), Demand(2, CAN_35, 1, "B")], [])
    assert [(line.spec, line.quantity) for line in found.lines] == [(CAN_35, 2)]


def test_two_cheap_parts_are_bought_where_one_for_both_is_dearer() -> None:
    short = [Demand(1, CAN_16, 10, "A"), Demand(2, CAN, 1, "B")]
    shelf = [OnSale("16 V", CAN_16, Decimal("0.10")), OnSale("50 V", CAN, Decimal("0.50"))]
    assert bought(buy_list(short, shelf)) == [("16 V", 10, 10, 0), ("50 V", 1, 1, 0)]


def test_of_equal_prices_fewer_lines_are_bought() -> None:
    short = [Demand(1, CAN_16, 1, "A"), Demand(2, CAN, 1, "B")]
    shelf = [OnSale("16 V", CAN_16, Decimal("0.50")), OnSale("50 V", CAN, Decimal("0.50"))]
    assert bought(buy_list(short, shelf)) == [("50 V", 2, 2, 0)]


def test_nothing_is_bought_that_would_need_a_note() -> None:
    # 50 V aluminium for a 10 V place: more than four times, and the judge asks for a note.
    short = [Demand(1, replace(CAN, volts=Decimal(10)), 1, "A"), Demand(2, CAN, 1, "B")]
    assert len(buy_list(short, []).lines) == 2


def test_the_jobs_that_a_set_of_lines_completes_are_ranked() -> None:
    short = [
        Demand(1, CAN, 1, "A"),
        Demand(2, CHIP, 1, "A"),
        Demand(3, CAN, 1, "B"),
        Demand(4, TRANSISTOR, 1, "C"),
    ]
    shelf = [
        OnSale("can", CAN, Decimal(1)),
        OnSale("chip", CHIP, Decimal(2)),
        OnSale("t", TRANSISTOR, Decimal(5)),
    ]
    found = buy_list(short, shelf)
    place = {line.part: number for number, line in enumerate(found.lines)}
    assert [(each.lines, each.jobs, each.price) for each in found.completions] == [
        ((place["can"],), ("B",), Decimal(2)),
        ((place["t"],), ("C",), Decimal(5)),
        (tuple(sorted((place["can"], place["chip"]))), ("A", "B"), Decimal(4)),
    ]
    assert found.lines[place["can"]].completes == ("B",)
    assert found.lines[place["chip"]].completes == ()


def test_only_what_the_plan_cannot_give_is_bought() -> None:
    demands = [Demand(1, CAN, 3, "A"), Demand(2, CHIP, 1, "A")]
    result = plan(demands, [Supply(1, CAN, 1, Tier.DRAWER), Supply(2, CHIP, 1, Tier.ON_ORDER)])
    assert bought(buy_list(result.lacking(demands), [OnSale("can", CAN)])) == [("can", 2, 2, 0)]


def test_a_large_family_is_served_too() -> None:
    volts = (16, 20, 25, 30, 35, 40, 45, 50)
    short = [Demand(n, replace(CAN, volts=Decimal(each)), 1, "A") for n, each in enumerate(volts)]
    assert bought(buy_list(short, [OnSale("can", CAN, Decimal("0.10"))])) == [("can", 8, 8, 0)]


def test_what_a_person_wants_anyway_serves_first() -> None:
    short = [Demand(1, CAN_16, 2, "A"), Demand(2, CHIP, 1, "B")]
    shelf = [OnSale("16 V", CAN_16, Decimal("0.10")), OnSale("50 V", CAN, Decimal("0.50"))]
    found = buy_list(short, shelf, wished={"50 V": 2})
    assert bought(found) == [("50 V", 2, 2, 0), (None, 1, 1, 0)]
    assert found.lines[0].completes == ("A",)


def test_all_pieces_of_the_packs_that_a_person_wants_serve() -> None:
    shelf = [OnSale("can", CAN, Decimal("1.50"), pack_size=5)]
    assert bought(buy_list([Demand(1, CAN, 5, "A")], shelf, wished={"can": 3})) == [("can", 5, 1, 0)]
    assert bought(buy_list([Demand(1, CAN, 6, "A")], shelf, wished={"can": 3})) == [("can", 6, 2, 4)]
    assert bought(buy_list([], shelf, wished={"can": 6})) == [("can", 0, 2, 10)]


def test_of_named_jobs_only_what_they_lack_is_listed() -> None:
    short = [Demand(1, CAN, 1, "A"), Demand(2, CAN, 1, "B"), Demand(3, CHIP, 1, "A")]
    shelf = [OnSale("can", CAN, Decimal(1)), OnSale("t", TRANSISTOR, Decimal(1))]
    assert bought(buy_list(short, shelf, jobs={"B"})) == [("can", 1, 1, 0)]
    # One can is wanted anyway, and A is first in line: B has to buy another.
    (line,) = buy_list(short, shelf, jobs={"B"}, wished={"can": 1, "t": 1}).lines
    assert (line.part, line.quantity, line.wished) == ("can", 1, 0)


def test_a_pack_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one piece"):
        buy_list([], [OnSale("can", CAN, pack_size=0)])


def test_nothing_short_needs_nothing() -> None:
    assert buy_list([], [OnSale("can", CAN)], postage=Decimal(3)).lines == ()


@given(
    st.decimals(min_value=0, max_value=50, places=2),
    st.lists(st.one_of(st.none(), st.decimals(min_value=0, max_value=20, places=2)), min_size=1, max_size=5),
)
def test_the_shares_of_the_postage_are_the_postage(postage: Decimal, prices: list[Decimal | None]) -> None:
    specs = [replace(CHIP, number=f"K{n}") for n in range(len(prices))]
    shelf = [OnSale(n, spec, price) for n, (spec, price) in enumerate(zip(specs, prices, strict=True))]
    found = buy_list([Demand(n, spec, 1, "A") for n, spec in enumerate(specs)], shelf, postage=postage)
    assert sum(line.postage or 0 for line in found.lines) == postage


def test_postage_is_shared_by_price() -> None:
    shelf = [OnSale("chip", CHIP, Decimal(3)), OnSale("t", TRANSISTOR, Decimal(1))]
    found = buy_list([Demand(1, CHIP, 1, "A"), Demand(2, TRANSISTOR, 1, "A")], shelf, postage=Decimal(2))
    assert {line.part: line.postage for line in found.lines} == {
        "chip": Decimal("1.50"),
        "t": Decimal("0.50"),
    }


# ── Against trying everything ────────────────────────────────────────────────────────────────────


def least_price(short: list[Demand], shelf: list[OnSale]) -> tuple[Decimal, int]:
    """(price, lines) of the cheapest way to give each demand one part that is the same or better."""
    ways = []
    for chosen in product(shelf, repeat=len(short)):
        if all(
            fits(demand.spec, part.spec).grade in ("same", "drop_in")
            for demand, part in zip(short, chosen, strict=True)
        ):
            pieces: defaultdict[int, int] = defaultdict(int)
            for demand, part in zip(short, chosen, strict=True):
                pieces[part.id] += demand.quantity
            price = sum(
                (
                    -(-count // shelf[number].pack_size) * shelf[number].price
                    for number, count in pieces.items()
                ),
                Decimal(0),
            )
            ways.append((price, len(pieces)))
    return min(ways)


@pytest.mark.parametrize("seed", range(60))
def test_no_other_way_to_buy_is_cheaper(seed: int) -> None:
    dice = random.Random(seed)
    volts = dice.sample([16, 20, 25, 35, 50, 63], 5)
    short = [
        Demand(n, replace(CAN, volts=Decimal(each)), dice.randint(1, 6), f"job {n}")
        for n, each in enumerate(volts)
    ]
    shelf = [
        OnSale(
            n,
            replace(CAN, volts=Decimal(each)),
            Decimal(dice.randint(5, 40)) / 100,
            dice.choice((1, 1, 2, 5)),
        )
        for n, each in enumerate([max(volts), *dice.sample([20, 25, 35, 50, 63], 3)])
    ]
    shelf = list({part.spec.key: part for part in shelf}.values())
    shelf = [replace(part, id=n) for n, part in enumerate(shelf)]
    found = buy_list(short, shelf)
    assert (found.price, len(found.lines)) == least_price(short, shelf)
