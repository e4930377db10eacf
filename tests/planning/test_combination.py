"""Series and parallel, against published worked answers and a circuit solved by itself."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.planning.combination import Join, Joined, Leaf


def parts(kind: str, *values: object, tolerance: str | None = None) -> tuple[Leaf, ...]:
    spread = None if tolerance is None else Decimal(tolerance)
    return tuple(Leaf(kind, Fraction(str(value)), spread) for value in values)


def test_series_parallel_capacitors_come_out_as_published() -> None:
    # Worked answer: (1.29 series 3.17) parallel 8.36 = 9.28, the series part 0.917
    # (https://partnerperformance.uonbi.ac.ke/preguntia/29012974).
    series = Joined("capacitor", "series", parts("capacitor", "1.29", "3.17"))
    whole = Joined("capacitor", "parallel", (series, *parts("capacitor", "8.36")))
    assert float(series.value) == pytest.approx(0.917, abs=0.0005)
    assert float(whole.value) == pytest.approx(9.28, abs=0.005)


def test_parallel_capacitors_add() -> None:
    # Worked answer: 0.5 + 2 + 6 = 8.5 (https://askanewquestion.com/questions/4042374).
    assert Joined("capacitor", "parallel", parts("capacitor", "0.5", 2, 6)).value == Fraction("8.5")


def test_parallel_resistors_come_out_as_published() -> None:
    # 33, 33 and 47 ohm: 12.2 ohm (Engineering ToolBox, "Electrical Resistance in Serial and Parallel
    # Networks", https://www.engineeringtoolbox.com/resistance-serial-parallel-connections-d_1881.html).
    assert float(Joined("resistor", "parallel", parts("resistor", 33, 33, 47)).value) == pytest.approx(
        12.2, abs=0.02
    )


def test_equal_tolerances_stay_as_they_are() -> None:
    # 250 ohm twice in parallel, 0.01 % each: 124.9875 to 125.0125 ohm
    # (All About Circuits forum, "Combining Tolerances of Resistors", 4 Nov 2013).
    pair = Joined("resistor", "parallel", parts("resistor", 250, 250, tolerance="0.01"))
    assert (pair.at_worst(-1), pair.at_worst(1)) == (Fraction("124.9875"), Fraction("125.0125"))


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
    # 100 and 220 ohm carrying 50 mA: 0.25 W and 0.55 W of 0.80 W (P = I²R; Engineering ToolBox, as above).
    pair = Joined("resistor", "series", parts("resistor", 100, 220))
    assert [share["watts"] for share in pair.shares({"watts": Fraction("0.8")})] == [
        Fraction("0.25"),
        Fraction("0.55"),
    ]


def test_volts_on_capacitors_in_series_go_against_the_capacitance() -> None:
    # 2 µF and 8 µF on 50 V: 40 V and 10 V (rule: https://claredot.net/en/sec-Electronics/series-capacitors.php).
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
