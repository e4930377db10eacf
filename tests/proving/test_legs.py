"""Leg by leg on the diode range: each figure beside its source."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.spec import Spec
from repairs.proving.legs import pairs_of
from repairs.proving.meter import UnreadableReading
from repairs.proving.methods import NotJudged, judge, methods_for
from tests.proving.boards import part

BRIDGE = part("diode", traits={"function": "bridge"})
THYRISTOR = part("diode", traits={"function": "thyristor"})
TRIAC = part("diode", traits={"function": "triac"})
DIAC = part("diode", traits={"function": "diac"})
LED = part("diode", traits={"function": "led"})
LOW_ZENER = part("diode", traits={"function": "zener", "zener_volts": "2.7"})
ZENER = part("diode", traits={"function": "zener", "zener_volts": "12"})
GERMANIUM = part("diode", traits={"material": "germanium"})
DARLINGTON = part("transistor", traits={"device": "darlington", "polarity": "npn"})
P_DARLINGTON = part("transistor", traits={"device": "darlington", "polarity": "pnp"})
JFET = part("transistor", traits={"device": "jfet", "polarity": "n_channel"})
MOSFET = part("transistor", traits={"device": "mosfet", "polarity": "n_channel"})
P_MOSFET = part("transistor", traits={"device": "mosfet", "polarity": "p_channel"})
IGBT = part("transistor", traits={"device": "igbt", "polarity": "n_channel"})

VERDICTS = [
    # 0.40 to 0.80 V each diode, turned round OL (meter FLIR CM174, manual, 5.8); open between the waves
    (BRIDGE, "n-a 0.52, n-b 0.52, a-p 0.53, b-p 0.52, rest open", "good"),
    (BRIDGE, "minus to a 0.4, minus to b 0.6, a to plus 0.5, b to plus 0.5, rest open", "good"),
    (BRIDGE, "n-a 0.000 both ways, n-b 0.52, a-p 0.53, b-p 0.52, rest open", "faulty"),  # a shorted diode
    (BRIDGE, "n-a OL, n-b 0.52, a-p 0.53, b-p 0.52, rest open", "faulty"),  # an open diode
    (BRIDGE, "n-a 0.52, n-b 0.52, a-p 0.53, b-p 0.52, a-b 0.7, rest open", "faulty"),
    (BRIDGE, "n-a 0.52, n-b 0.52", "inconclusive"),
    # anode open both ways (NEETS module 21, p. 2-21); gate to cathode common practice, no source
    (THYRISTOR, "g-k 0.235, rest open", "good"),
    (THYRISTOR, "g-k 0.62, a-k OL both ways, a-g OL both ways", "good"),
    (THYRISTOR, "g-k 0.62, a-k 0.0 both ways, a-g OL both ways", "faulty"),
    (THYRISTOR, "g-k OL, rest open", "faulty"),
    # gate to main terminal one tens to hundreds of ohms both ways (common practice, no source)
    (TRIAC, "g-k 85 both ways, rest open", "good"),
    (TRIAC, "g-k 85 both ways, a-k 3 both ways, rest open", "faulty"),
    # from memory: a diac breaks over near 30 V
    (DIAC, "a-k OL both ways", "good"),
    (DIAC, "a-k 0.001 both ways", "faulty"),
    # LEDs 1.5 to 2.0 V (Yokogawa 734 manual, p. 23), germanium about 0.3 V (PeakTech 1080 manual, 4.8)
    (LED, "1.8, OL", "good"),
    (LED, "OL both ways", "inconclusive"),  # from memory: blue and white are above many a meter's range
    (LED, "0.02, OL", "faulty"),
    (GERMANIUM, "0.2, OL", "good"),
    (GERMANIUM, "0.25, 1.4", "suspect"),
    (GERMANIUM, "0.25, 0.25", "faulty"),
    # from memory: a zener below the meter's volts shows them in reverse
    (LOW_ZENER, "0.71, 2.2", "good"),
    (LOW_ZENER, "0.71, OL", "good"),
    (ZENER, "0.71, 2.2", "faulty"),
    # from memory: two junctions in series, 1.2 to 1.4 V, less with resistors inside; a damper diode in many
    (DARLINGTON, "b-e 1.25, b-c 0.66, e-c 0.52, rest open", "good"),
    (DARLINGTON, "b-e 1.3, b-c 0.66, rest open", "good"),
    (DARLINGTON, "b-e 0.72, b-c 0.66, e-c 0.5, c-b OL, c-e OL", "good"),
    (DARLINGTON, "b-e 1.25, b-c 0.66, c-e 0.003 both ways, rest open", "faulty"),
    (P_DARLINGTON, "e-b 1.25, c-b 0.66, c-e 0.52, rest open", "good"),
    (P_DARLINGTON, "b-e 1.25, b-c 0.66, rest open", "faulty"),
    # channel 100 to 1000 Ω, the same both ways; gate conducts one way (common practice, no source)
    (JFET, "g-s 0.68, g-d 0.68, d-s 0.21 both ways, rest open", "good"),
    (JFET, "g-s 0.68, g-d 0.68, d-s 220 Ω both ways, rest open", "good"),
    (JFET, "g-s 0.68, g-d 0.68, d-s OL both ways, rest open", "faulty"),
    (JFET, "g-s 0.68 both ways, g-d 0.68, d-s 0.21 both ways, rest open", "faulty"),
    # the gate is insulated: open to every leg; body diode from memory
    (MOSFET, "s-d 0.52, rest open", "good"),
    (MOSFET, "s-d 0.001 both ways, rest open", "faulty"),
    (MOSFET, "s-d 0.52, g-s 0.2, rest open", "faulty"),
    (P_MOSFET, "d-s 0.52, rest open", "good"),
    (IGBT, "e-c 0.48, rest open", "good"),
    (IGBT, "rest open", "good"),
]


def method_of(spec: Spec) -> str:
    return "ohms" if spec is TRIAC else "diode range"


@pytest.mark.parametrize(("spec", "reading", "verdict"), VERDICTS)
def test_a_reading_out_of_circuit_is_judged(spec: Spec, reading: str, verdict: str) -> None:
    judged = judge(spec, method_of(spec), reading, in_circuit=False)
    assert judged.verdict == verdict, judged.reasons
    assert all(reason.source for reason in judged.reasons)


@pytest.mark.parametrize("spec", [BRIDGE, THYRISTOR, TRIAC, DARLINGTON, JFET, MOSFET, IGBT])
@given(low=st.decimals(min_value=0, max_value="0.019", places=3))
def test_joined_legs_in_circuit_condemn_nothing(spec: Spec, low: Decimal) -> None:
    """A winding across it reads the same (arithmetic: paths beside it lower a reading)."""
    legs = {leg for pair in pairs_of(spec) for leg in (pair.plus, pair.minus)}
    every = ", ".join(f"{one}-{two} {low:f}" for one in legs for two in legs if one != two)
    judged = judge(spec, method_of(spec), every, in_circuit=True)
    assert judged.verdict == "inconclusive"
    assert "lift_a_leg" in {reason.code for reason in judged.reasons}


@pytest.mark.parametrize(
    ("spec", "reading"),
    [
        (BRIDGE, "0.5, OL"), (BRIDGE, "b-e 0.5"), (MOSFET, "b-e 0.6"), (TRIAC, "g-k 0.6 V"),
        (JFET, "g-g 0.6"),
        (DARLINGTON, "rest 0.6"), (MOSFET, "s-d 12 nF"),
    ],
)  # fmt: skip
def test_legs_that_it_does_not_have_are_refused_with_those_it_has(spec: Spec, reading: str) -> None:
    with pytest.raises(UnreadableReading, match="expected"):
        judge(spec, method_of(spec), reading, in_circuit=False)


@pytest.mark.parametrize(
    "spec", [BRIDGE, THYRISTOR, TRIAC, DIAC, LED, DARLINGTON, JFET, MOSFET, IGBT, GERMANIUM]
)
def test_each_says_what_to_connect_and_its_own_example_passes(spec: Spec) -> None:
    first = methods_for(spec)[0]
    assert first.name == method_of(spec)
    assert first.connect
    assert first.expect
    if pairs_of(spec):
        assert judge(spec, first.name, first.write, in_circuit=False).verdict == "good"
        assert first.windows or spec is DIAC


def test_an_led_may_be_lit_from_a_supply() -> None:
    assert judge(LED, "light", "works", in_circuit=False).verdict == "good"
    assert {"light", "diode range"} <= {method.name for method in methods_for(LED)}


def test_a_channel_that_nobody_knows_has_no_window() -> None:
    unknown = part("transistor", traits={"device": "mosfet"})
    assert "diode range" not in {method.name for method in methods_for(unknown)}
    with pytest.raises(NotJudged):
        judge(unknown, "diode range", "s-d 0.5, rest open", in_circuit=False)


@pytest.mark.parametrize(
    ("reading", "in_circuit", "verdict"),
    [("12 k", False, "inconclusive"), ("0.4 Ω", False, "faulty"), ("0.4 Ω", True, "inconclusive")],
)
def test_a_chip_is_judged_shorted_or_fit_to_be_tried(reading: str, in_circuit: bool, verdict: str) -> None:
    """Ohms pass before it goes into a good board (common practice, no source)."""
    chip = part("ic", number="4116")
    assert judge(chip, "ohms, supply to ground", reading, in_circuit=in_circuit).verdict == verdict
