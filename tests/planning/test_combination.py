"""Series and parallel, against a textbook, the standard library and a circuit solved by itself."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from statistics import harmonic_mean

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.planning.combination import Join, Joined, Leaf


def parts(kind: str, *values: object, tolerance: str | None = None) -> tuple[Leaf, ...]:
    spread = None if tolerance is None else Decimal(tolerance)
    return tuple(Leaf(kind, Fraction(str(value)), spread) for value in values)


def series_parallel_by_library(values: Sequence[Fraction]) -> Fraction:
    """1 / (1/a + 1/b + ...), from the harmonic mean of the standard library."""
    return harmonic_mean(values) / len(values)


def test_series_parallel_capacitors_come_out_as_in_the_textbook() -> None:
    # OpenStax College Physics, capacitors in series and parallel (figures from memory): 1, 5 and 8 µF in
    # series 0.755 µF; 1 and 5 µF in series 0.833 µF, with 8 µF in parallel 8.833 µF.
    three = Joined("capacitor", "series", parts("capacitor", 1, 5, 8))
    series = Joined("capacitor", "series", parts("capacitor", 1, 5))
    whole = Joined("capacitor", "parallel", (series, *parts("capacitor", 8)))
    assert float(three.value) == pytest.approx(0.755, abs=0.0005)
    assert float(series.value) == pytest.approx(0.833, abs=0.0005)
    assert float(whole.value) == pytest.approx(8.833, abs=0.0005)


@pytest.mark.parametrize(
    ("kind", "adding", "other"),
    [
        ("resistor", "series", "parallel"),
        ("inductor", "series", "parallel"),
        ("capacitor", "parallel", "series"),
    ],
)
def test_values_add_one_way_and_their_reciprocals_the_other(kind: str, adding: Join, other: Join) -> None:
    values = [Fraction(33), Fraction(33), Fraction(47)]
    leaves = parts(kind, *values)
    assert Joined(kind, adding, leaves).value == sum(values)
    assert Joined(kind, other, leaves).value == series_parallel_by_library(values)


def test_equal_tolerances_stay_as_they_are() -> None:
    # Both ends of 250 ohm 0.01 %, twice in parallel, by the library.
    pair = Joined("resistor", "parallel", parts("resistor", 250, 250, tolerance="0.01"))
    low, high = Fraction("249.975"), Fraction("250.025")
    assert pair.at_worst(-1) == series_parallel_by_library([low, low])
    assert pair.at_worst(1) == series_parallel_by_library([high, high])


def test_unequal_tolerances_count_by_share() -> None:
    # 900 ohm 1 % and 100 ohm 10 % in series: 9 + 10 ohm of 1000 (arithmetic).
    pair = Joined(
        "resistor",
        "series",
        (*parts("resistor", 900, tolerance="1"), *parts("resistor", 100, tolerance="10")),
    )
    assert pair.at_worst(1) == 1019


def test_one_unknown_tolerance_leaves_the_whole_unknown() -> None:
    pair = Joined("resistor", "series", (*parts("resistor", 900, tolerance="1"), *parts("resistor", 100)))
    assert pair.at_worst(1) is None


def test_power_in_series_goes_with_the_resistance() -> None:
    # 100 and 220 ohm carrying 50 mA: 0.25 W and 0.55 W of 0.80 W (P = I²R).
    pair = Joined("resistor", "series", parts("resistor", 100, 220))
    assert [share["watts"] for share in pair.shares({"watts": Fraction("0.8")})] == [
        Fraction("0.25"),
        Fraction("0.55"),
    ]


def test_volts_on_capacitors_in_series_go_against_the_capacitance() -> None:
    # V1 = E * C2 / (C1 + C2) (Rubycon, technical notes, series connection): 2 and 8 µF on 50 V, 40 and 10 V.
    pair = Joined("capacitor", "series", parts("capacitor", 2, 8))
    assert [share["volts"] for share in pair.shares({"volts": Fraction(50)})] == [40, 10]


def test_current_in_parallel_inductors_goes_against_the_inductance() -> None:
    # 1 mH and 3 mH share 4 A as 3 A and 1 A (arithmetic: the volts are common, dI/dt = V/L).
    pair = Joined("inductor", "parallel", parts("inductor", 1, 3))
    assert [share["amps"] for share in pair.shares({"amps": Fraction(4)})] == [3, 1]


ohms = st.integers(1, 10**6)
joins: st.SearchStrategy[Join] = st.sampled_from(["series", "parallel"])


@given(ohms, ohms, ohms, joins, joins)
def test_the_shares_are_those_of_the_circuit_solved_node_by_node(
    a: int, b: int, c: int, inner: Join, outer: Join
) -> None:
    pair = Joined("resistor", inner, parts("resistor", a, b))
    whole = Joined("resistor", outer, (pair, *parts("resistor", c)))
    # Nodes: 0 ground, 1 the supply, 2 between a and b, 3 between the pair and c.
    wires: dict[tuple[Join, Join], list[tuple[int, int, int]]] = {
        ("series", "series"): [(1, 2, a), (2, 3, b), (3, 0, c)],
        ("parallel", "series"): [(1, 3, a), (1, 3, b), (3, 0, c)],
        ("series", "parallel"): [(1, 2, a), (2, 0, b), (1, 0, c)],
        ("parallel", "parallel"): [(1, 0, a), (1, 0, b), (1, 0, c)],
    }
    branches = wires[inner, outer]
    nodes = sorted({node for one, other, _ in branches for node in (one, other)} - {0})
    admittance = np.zeros((len(nodes), len(nodes)))
    for one, other, resistance in branches:
        for node in {one, other} - {0}:
            admittance[nodes.index(node), nodes.index(node)] += 1 / resistance
        if 0 not in (one, other):
            admittance[nodes.index(one), nodes.index(other)] -= 1 / resistance
            admittance[nodes.index(other), nodes.index(one)] -= 1 / resistance
    volts = np.linalg.solve(
        admittance, [1.0 if node == 1 else 0.0 for node in nodes]
    )  # one ampere in at node 1
    at = {0: 0.0, **dict(zip(nodes, volts, strict=True))}
    assert float(whole.value) == pytest.approx(at[1], rel=1e-6)
    shares = list(whole.shares({"watts": Fraction(1), "volts": Fraction(1)}))
    for (one, other, resistance), share in zip(branches, shares, strict=True):
        drop = abs(at[one] - at[other])
        assert float(share["volts"]) == pytest.approx(drop / at[1], rel=1e-5)
        assert float(share["watts"]) == pytest.approx(drop**2 / resistance / at[1], rel=1e-5)
