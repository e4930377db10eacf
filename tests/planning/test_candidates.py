"""The shelf misses nothing that the judge would let through, and spares it most of the rest."""

import itertools
import random
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from inventory.spec import GRADES, KINDS, Fit, Reason, Spec, fits
from repairs.planning.candidates import MUST_AGREE, Market, Offer

D = Decimal
FACTS: dict[str, dict[str, list[Any]]] = {
    "resistor": {
        "value": [
            0,
            1_000_000,
            4700 * 10**6,
            4750 * 10**6,
            4300 * 10**6,
            5100 * 10**6,
            5170 * 10**6,
            9400 * 10**6,
        ],
        "tolerance_percent": [D(1), D(10), D(20), D(50)],
        "watts": [D("0.25"), D(1)],
    },
    "capacitor": {
        "value": [
            80 * 10**9,
            90 * 10**9,
            100 * 10**9,
            110 * 10**9,
            119 * 10**9,
            150 * 10**9,
            200 * 10**9,
            201 * 10**9,
        ],
        "tolerance_percent": [D(5), D(20)],
        "dielectric": ["film", "class2", "aluminium", "aluminium_polymer", "aluminium_bipolar"],
        "volts": [D(16), D(63)],
        "traits": [
            {"use": "filter"},
            {"use": "bypass"},
            {"use": "timing"},
            {"tolerance_low_percent": "20", "tolerance_high_percent": "80"},
        ],
    },
    "inductor": {
        "value": [10**8, 105 * 10**6, 110 * 10**6, 2 * 10**8],
        "tolerance_percent": [D(10)],
        "number": ["L1"],
    },
    "crystal": {
        "value": [4 * 10**9, 4 * 10**9 + 10**5, 4_433_619_000],
        "traits": [{"ppm": "50"}, {"load_pf": "20"}],
    },
    "diode": {
        "number": ["1N4001", "1N4007", "1N4148", "BY127"],
        "volts": [D(50), D(400)],
        "amps": [D(1)],
        "traits": [
            {"function": "rectifier"},
            {"function": "signal"},
            {"function": "fast_rectifier"},
            {"function": "zener", "zener_volts": "5.1"},
            {"function": "zener", "zener_volts": "5.2"},
            {"function": "led", "colour": "red"},
            {"function": "led", "colour": "green"},
        ],
    },
    "transistor": {
        "number": ["2N3904", "2n3904", "BC547", "BC557"],
        "volts": [D(30), D(45)],
        "amps": [D("0.1"), D("0.2")],
        "traits": [
            {"polarity": "npn", "pin_order": "EBC"},
            {"polarity": "pnp", "pin_order": "EBC"},
            {"polarity": "npn"},
        ],
    },
    "ic": {
        "number": [
            "74LS04",
            "SN74LS04N",
            "74HCT04",
            "7404",
            "74LS08",
            "4164",
            "MB8264",
            "K555",
            "2114",
            "HM6514",
        ],
        "lead_style": ["dip"],
        "traits": [
            {"function": "04", "family": "ls"},
            {"function": "dram", "organisation": "64Kx1"},
            {"function": "sram"},
            {"function": "rom"},
            {"function": "eprom"},
        ],
    },
    "regulator": {
        "number": ["7805", "LM7805C", "78M05", "7905", "LM317"],
        "amps": [D(1), D("0.5")],
        "traits": [{"output_volts": "5", "pin_order": "in-gnd-out"}, {"adjustable": True}],
    },
    "fuse": {
        "number": ["F1", "T1A250V", "F 1 A 250 V"],
        "amps": [D(1), D(2)],
        "volts": [D(250)],
        "traits": [{"speed": "fast"}, {"body": "glass"}],
    },
    "connector": {"number": ["J1", "J2"], "traits": [{"ways": "10"}, {"ways": "20", "plating": "gold"}]},
    "socket": {"number": ["S1", "S2"], "traits": [{"ways": "14"}, {"ways": "16"}, {"plating": "tin"}]},
    "switch": {"number": ["S1", "S2"], "traits": [{"poles": "1", "throws": "2"}, {"action": "toggle"}]},
    "transformer": {
        "number": ["T1", "T2"],
        "volts": [D(12)],
        "traits": [{"secondary_volts": "12"}, {"secondary_volts": "12", "rewound": True}, {"rewound": True}],
    },
    "lamp": {"number": ["L1", "L2"], "volts": [D(6), D(12)]},
    "thermistor": {
        "value": [10 * 10**9, 9_900 * 10**6, 22 * 10**9],
        "tolerance_percent": [D(1), D(5)],
        "traits": [{"curve": "ntc"}, {"curve": "ptc"}, {"curve": "ntc", "b_k": "3950"}],
    },
    "other": {"number": ["X1", "X2"], "volts": [D(6)]},
}


def specs(kind: str) -> Iterator[Spec]:
    """Every way of stating each of these facts or leaving it open."""
    names = list(FACTS[kind])
    for facts in itertools.product(*(([None, *FACTS[kind][name]]) for name in names)):
        yield Spec(kind, **{name: fact for name, fact in zip(names, facts, strict=True) if fact is not None})


def worth_asking(requirement: Spec, offer: Spec) -> bool:
    """Not a part of another or no type number where one side does not state what it would be judged by."""
    fact = MUST_AGREE.get(offer.kind, "number")
    if "value" in offer.known or not (offer.number or fact in offer.known):
        return True
    if requirement.number:
        return not offer.number and fact in requirement.known
    return fact in offer.known


@pytest.mark.parametrize("kind", KINDS)
def test_the_shelf_gives_every_offer_that_the_judge_lets_through(kind: str) -> None:
    dice = random.Random(kind)
    known = list(specs(kind))
    requirements = dice.sample(known, min(len(known), 150))
    offers = [Offer(spec, None) for spec in dice.sample(known, min(len(known), 150))]
    offers += [
        Offer(
            offer.spec,
            offer.spec.value * dice.choice((85, 100, 115)) // 100,
            measured_tolerance=dice.choice((None, D("0.1"), D(5))),
        )  # fmt: skip
        for offer in offers[::3]
        if offer.spec.value
    ]
    careless = [{**spec.traits, "any": ["number", "value", "amps"]} for spec in requirements[:20]]
    requirements += [
        Spec(kind, number=spec.number, value=spec.value, volts=spec.volts, traits=traits)
        for spec, traits in zip(requirements[:20], careless, strict=True)
    ]
    market = Market(offers, fits)
    let_through = 0
    for requirement in requirements:
        shelved = {index for _, indices in market.offers(requirement) for index in indices}
        for index, (spec, measured, _, percent) in enumerate(offers):
            grade = fits(requirement, spec, measured=measured, measured_tolerance=percent).grade
            if grade in GRADES[:3] or (grade == "ask" and worth_asking(requirement, spec)):
                let_through += 1
                assert index in shelved, (grade, requirement.key, spec.key, measured)
    assert let_through > 20


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_asked_for_to_serve_leaves_out_nothing_that_serves_without_a_note(kind: str) -> None:
    dice = random.Random(kind)
    known = list(specs(kind))
    requirements = dice.sample(known, min(len(known), 150))
    requirements += [replace(spec, traits={**spec.traits, "any": ["value"]}) for spec in requirements[:10]]
    offers = [Offer(spec, None) for spec in dice.sample(known, min(len(known), 300))]
    market = Market(offers, fits)
    serve = 0
    for requirement in requirements:
        shelved = {index for _, found in market.offers(requirement, serving=True) for index in found}
        for index, offer in enumerate(offers):
            if fits(requirement, offer.spec).grade in ("same", "drop_in"):
                serve += 1
                assert index in shelved, (requirement.key, offer.spec.key)
    assert serve > 5


def test_of_2000_values_on_sale_each_is_judged_for_few_of_2000_requirements() -> None:
    """A part of the same tolerance serves at its own value alone: at any other its spread sticks out."""
    judged = []

    def judge(requirement: Spec, offer: Spec, **_more: object) -> Fit:
        judged.append(offer.value)
        return fits(requirement, offer)

    values = [
        Spec("resistor", value=ohms * 10**6, tolerance_percent=D(5)) for ohms in range(1000, 75_000, 37)
    ]
    market = Market([Offer(spec, None) for spec in values], judge)
    for spec in values:
        assert [found for _, found in market.offers(spec, serving=True)]
    assert len(judged) == len(values) == 2000


def test_of_many_values_only_those_near_the_required_one_are_judged() -> None:
    judged = []

    def judge(requirement: Spec, offer: Spec, *, measured: int | None = None, **_recorded: object) -> Fit:
        judged.append(offer.value)
        return fits(requirement, offer, measured=measured)

    offers = [Offer(Spec("resistor", value=ohms * 10**6), None) for ohms in range(1000, 2000)]
    requirement = Spec("resistor", value=1500 * 10**6, tolerance_percent=D(5))
    assert list(Market(offers, judge).offers(requirement))
    assert len(judged) < 320


def test_a_pair_is_judged_once_in_the_life_of_a_judge() -> None:
    calls = []

    def judge(requirement: Spec, offer: Spec, *, measured: int | None = None, **_recorded: object) -> Fit:
        calls.append(measured)
        return Fit("same", (Reason("all", "", "", "", "same"),), 0)

    spec = Spec("resistor", value=10**6)
    offers = [Offer(spec, None), Offer(spec, None), Offer(spec, 10**6)]
    for _ in range(2):
        assert [indices for _, indices in Market(offers, judge).offers(spec)] == [[0, 1], [2]]
    assert calls == [None, 10**6]
