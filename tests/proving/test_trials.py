"""The pass windows and verdicts of trials, against published figures."""

import zlib
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.spec import KINDS, UNITS, Spec, fits, print_value
from repairs.proving import windows
from repairs.proving.meter import UnreadableReading, spoken
from repairs.proving.methods import NotJudged, judge, methods_for
from tests.proving.boards import part

R_4K7 = part("resistor", value="4k7", tolerance_percent="5")
C_22U = part("capacitor", value="22u", volts="10", dielectric="aluminium", tolerance_percent="20")
STATIC_MEMORY = part("ic", number="2114", traits={"function": "sram"})
NPN = part("transistor", number="BC337", traits={"polarity": "npn", "gain_min": "100", "gain_max": "630"})


def codes(judged: object) -> set[str]:
    return {reason.code for reason in judged.reasons}  # type: ignore[attr-defined]


# --- windows


def test_a_4k7_5_percent_window() -> None:
    window = windows.resistance(R_4K7)
    assert window is not None
    assert (window.low, window.high) == (Decimal(4465), Decimal(4935))  # arithmetic of the marked tolerance


def test_letter_m_on_22_microfarad() -> None:
    """17.6 to 26.4 µF: M is 20 % (IEC 60062, from memory; KEMET ordering codes)."""
    window = windows.capacitance(C_22U)
    assert window is not None
    assert window.text == "17.6 µF to 26.4 µF"


def test_an_unmarked_electrolytic_may_be_twice_its_value() -> None:
    """+100 -20 %: 800 to 2000 µF for 1000 µF (WIMA, Capacitance tolerance, wima.com/EN/tolerance.htm)."""
    window = windows.capacitance(part("capacitor", value="1000u", dielectric="aluminium"))
    assert window is not None
    assert window.text == "800 µF to 2000 µF"


def test_letter_z_on_100_nanofarad() -> None:
    """80 to 180 nF: Z is +80 -20 % (IEC 60062, from memory; KEMET ordering codes)."""
    spec = part(
        "capacitor", value="100n", dielectric="class2",
        traits={"tolerance_low_percent": "20", "tolerance_high_percent": "80"},
    )  # fmt: skip
    window = windows.capacitance(spec)
    assert window is not None
    assert window.text == "80 nF to 180 nF"


def test_a_5_volt_regulator_window() -> None:
    """4.8 to 5.2 V: uA7800 series, SLVS056 (from memory)."""
    window = windows.output_volts(part("regulator", number="7805"))
    assert window is not None
    assert (window.low, window.high) == (Decimal("4.80"), Decimal("5.20"))


# Typical ESR of standard grade at room temperature: Peak ESR60/ESR70 user guide, April 2012, p. 9.
PUBLISHED_ESR = [
    ("22u", "10", "9.0"), ("47u", "25", "2.9"), ("100u", "63", "0.93"), ("220u", "35", "0.51"),
    ("1000u", "16", "0.16"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "volts", "published"), PUBLISHED_ESR)
def test_the_typical_esr_is_the_published_one(value: str, volts: str, published: str) -> None:
    typical = windows.typical_esr(part("capacitor", value=value, volts=volts, dielectric="aluminium"))
    assert typical is not None
    assert abs(typical / Decimal(published) - 1) < Decimal("0.08")


def test_the_copying_slip_of_one_published_table_is_not_repeated() -> None:
    """A copied table prints 0.09 Ω for 100 µF 63 V where the manual of the meter has 0.93."""
    typical = windows.typical_esr(part("capacitor", value="100u", volts="63", dielectric="aluminium"))
    assert typical is not None
    assert typical > 5 * Decimal("0.09")


def test_esr_only_screens() -> None:
    """Published tables differ two to one, so nothing is suspect below twice the typical, and nothing is
    condemned.
    """
    assert judge(C_22U, "capacitance and ESR", "21.5 µF, 17 Ω", in_circuit=False).verdict == "good"
    assert judge(C_22U, "ESR", "19 Ω", in_circuit=False).verdict == "suspect"
    assert judge(C_22U, "ESR", "190 Ω", in_circuit=False).verdict == "suspect"


# --- verdicts out of circuit

VERDICTS = [
    (R_4K7, "ohms", "4.68 k", "good"),
    (R_4K7, "ohms", "5.2 k", "suspect"),  # +10.6 %
    (R_4K7, "ohms", "6.3 k", "faulty"),  # +34 %: the owner of the published stock discards at 30 %
    (R_4K7, "ohms", "OL", "faulty"),
    (R_4K7, "ohms", "3 Ω", "faulty"),
    (C_22U, "capacitance and ESR", "21.5 µF, 0.8 Ω", "good"),
    (C_22U, "capacitance and ESR", "9 µF, 0.8 Ω", "faulty"),
    (C_22U, "capacitance", "15 µF", "suspect"),
    (C_22U, "ohms", "0.3 Ω", "faulty"),
    (C_22U, "ohms", "> 20 M", "inconclusive"),
    (NPN, "gain", "hFE 210", "good"),
    (NPN, "gain", "60", "suspect"),
    (NPN, "gain", "1", "faulty"),
    (part("regulator", number="7912"), "supply with light load", "-11.9 V into 100 Ω", "good"),
    (part("regulator", number="7912"), "supply with light load", "11.9 V", "inconclusive"),
    (part("regulator", number="7805"), "supply with light load", "7.1 V", "faulty"),
    (part("diode", number="1N823", tolerance_percent="5", traits={"function": "zener", "zener_volts": "6.2"}),
     "zener volts", "6.15 V", "good"),
    (part("inductor", value="100u", tolerance_percent="10"), "inductance", "98 µH", "good"),
    (part("inductor", value="100u", tolerance_percent="10"), "inductance", "8 µH", "faulty"),
    (part("fuse", amps="1"), "ohms", "OL", "faulty"),
    (part("crystal", value="4M", traits={"ppm": "50"}), "frequency", "3.99985 MHz", "good"),
    (part("crystal", value="4M", traits={"ppm": "50"}), "frequency", "3.9990 MHz", "suspect"),
    (part("ic", number="4116", traits={"function": "dram"}), "known good board, memory "
                                                             "soak", "no fault in 2 h", "good"),
    (part("ic", number="2114", traits={"function": "sram"}), "soak", "01C0: wrote 00, read 04", "faulty"),
    (part("ic", number="74LS245"), "truth table", "match", "good"),
]  # fmt: skip


@pytest.mark.parametrize(("spec", "method", "reading", "verdict"), VERDICTS)
def test_a_reading_out_of_circuit_is_judged(spec: Spec, method: str, reading: str, verdict: str) -> None:
    judged = judge(spec, method, reading, in_circuit=False)
    assert judged.verdict == verdict, judged.reasons
    assert all(reason.detail for reason in judged.reasons)


def test_an_aged_resistor_goes_by_its_reading() -> None:
    """Old 100 k stock reads 107 to 122 k (common practice, no source): it serves as 120 k."""
    aged = part("resistor", value="100k", tolerance_percent="10")
    judged = judge(aged, "ohms", "122 k", in_circuit=False)
    assert judged.verdict == "suspect"
    assert judged.measured == 122_000 * UNITS["resistor"][1]
    fit = fits(part("resistor", value="120k", tolerance_percent="5"), aged, measured=judged.measured)
    assert fit.grade == "with_note"
    assert (
        fits(part("resistor", value="100k", tolerance_percent="5"), aged, measured=judged.measured).grade
        == "no"
    )


@pytest.mark.parametrize(
    ("tolerance", "reading", "grade"),
    [("5", "4.68k", "same"), ("10", "4.7k", "with_note"), ("10", "5.08k", "no")],
)
def test_a_reading_inside_the_marking_is_kept_and_judged_against_the_place(
    tolerance: str, reading: str, grade: str
) -> None:
    """5.08 k is inside a 10 % marking of 4k7, and outside the 5 % that the place asks (common arithmetic)."""
    marked = part("resistor", value="4k7", tolerance_percent=tolerance)
    judged = judge(marked, "ohms", reading, in_circuit=False)
    assert judged.verdict == "good"
    assert (
        fits(part("resistor", value="4k7", tolerance_percent="5"), marked, measured=judged.measured).grade
        == grade
    )


def test_in_circuit_a_good_reading_says_what_it_proves_and_is_not_kept() -> None:
    judged = judge(R_4K7, "ohms", "4.6k", in_circuit=True)
    assert (judged.verdict, judged.measured) == ("good", None)
    assert "not proven until a leg is lifted" in judged.reasons[-1].detail


# --- words of a test: common practice, no source; a verdict is chosen, not parsed from prose

EPROM = part("ic", number="2716", traits={"function": "eprom"})
DRAM = part("ic", number="4116", traits={"function": "dram"})


@pytest.mark.parametrize(
    "words", ["pass", "passed", "OK", "good", "no fault in 2 h", "0 faults", "match", "no errors"]
)
def test_the_few_words_that_say_nothing_else_pass(words: str) -> None:
    assert judge(DRAM, "soak", words, in_circuit=False).verdict == "good"


@pytest.mark.parametrize(
    "words", ["fail", "failed after 10 min", "not ok", "did not pass", "dead", "does not match"]
)
def test_the_few_words_that_say_nothing_else_fail(words: str) -> None:
    assert judge(DRAM, "soak", words, in_circuit=False).verdict == "faulty"


@pytest.mark.parametrize(
    "words",
    [
        "never passes", "doesn't match the table", "did not fail", "no longer works", "works badly",
        "ok until warm", "passes, but gets hot", "fails to fail", "not bad", "hardly any faults",
        "no fault found in the socket, chip dead", "pass?", "it would not pass", "error free", "01C0 04",
        "1 fault",
    ],
)  # fmt: skip
def test_any_other_words_are_asked_back(words: str) -> None:
    with pytest.raises(NotJudged, match="say the verdict"):
        judge(DRAM, "soak", words, in_circuit=False)


@pytest.mark.parametrize(
    "text", ["crc 16 1234", "crc16 1234", "crc 1234", "sum 9C41 5A", "sum 9C41 sum 9C42"]
)
def test_a_checksum_that_may_mean_two_things_is_asked_back(text: str) -> None:
    with pytest.raises(UnreadableReading):
        judge(EPROM, "checksum", text, in_circuit=False, expected="sum 9C41")


@pytest.mark.parametrize(
    "text",
    ["sum 0000", "sum F800", "xor 00", "crc32 F1E8BA9E", "sum F800, xor 00"],
)
def test_the_checksum_of_nothing_is_never_good(text: str) -> None:
    """2048 bytes of 00 or FF add up to 0000 and F800 (255 * 2048 = 7F800); their CRC-32 by zlib."""
    assert zlib.crc32(bytes(2048)) == 0xF1E8BA9E
    assert judge(EPROM, "checksum", text, in_circuit=False, expected=text).verdict == "inconclusive"


@pytest.mark.parametrize(
    ("text", "order"), [("E-B-C", "E-B-C"), ("cbe", "C-B-E"), ("in gnd out", "IN-GND-OUT")]
)
def test_legs_are_read_as_a_tester_or_a_data_sheet_writes_them(text: str, order: str) -> None:
    kind = "regulator" if "gnd" in text else "transistor"
    judged = judge(part(kind, number="XT547"), "test the legs", text, in_circuit=False)
    assert (judged.verdict, judged.pin_order) == ("inconclusive", order)


@pytest.mark.parametrize("text", ["E-B", "E-E-B", "left to right", "0.65"])
def test_what_is_no_order_of_legs_is_asked_back(text: str) -> None:
    with pytest.raises(UnreadableReading):
        judge(part("transistor", number="XT547"), "pin order", text, in_circuit=False)


# --- junctions: about 0.5 to 0.8 V, turned round OL: Minipa ET-3702A multimeter, its maker's manual, p. 36


@pytest.mark.parametrize("drop", ["0.5", "0.6", "0.7", "0.8"])
def test_a_silicon_junction_passes_inside_the_published_band(drop: str) -> None:
    diode = part("diode", number="1N4148")
    assert judge(diode, "diode range", f"{drop}, OL", in_circuit=False).verdict == "good"
    assert judge(NPN, "diode range", f"b-e {drop}, b-c {drop}, rest open", in_circuit=False).verdict == "good"


@pytest.mark.parametrize("drop", ["0.45", "0.85"])
def test_a_silicon_junction_outside_the_band_is_suspect(drop: str) -> None:
    assert judge(part("diode"), "diode range", f"{drop}, OL", in_circuit=False).verdict == "suspect"


def test_a_meter_that_shows_millivolts_is_understood() -> None:
    assert judge(part("diode"), "diode range", "620, OL", in_circuit=False).verdict == "good"


def test_a_blown_transistor_fails() -> None:
    """c-b 0.057 both ways, b-e open both ways (as reported by a repairer; common practice, no source)."""
    judged = judge(NPN, "diode range", "c-b 0.057 both ways, b-e open both ways", in_circuit=False)
    assert judged.verdict == "faulty"
    assert {"shorted", "open"} <= codes(judged)


def test_a_pnp_is_taken_the_other_way() -> None:
    pnp = part("transistor", traits={"polarity": "pnp"})
    assert judge(pnp, "diode range", "e-b 0.66, c-b 0.65, rest open", in_circuit=False).verdict == "good"
    assert (
        judge(pnp, "diode range", "b-e 0.66, b-c 0.65, rest open", in_circuit=False).verdict == "inconclusive"
    )


def test_what_was_not_taken_is_no_pass() -> None:
    judged = judge(NPN, "diode range", "b-e 0.66, b-c 0.65", in_circuit=False)
    assert judged.verdict == "inconclusive"
    assert "not_taken" in codes(judged)


def test_germanium_drops_less() -> None:
    """About 0.3 V (PeakTech 1080 manual, 4.8)."""
    spec = part("diode", traits={"material": "germanium"})
    assert judge(spec, "diode range", "0.3, OL", in_circuit=False).verdict == "good"
    assert judge(part("diode"), "diode range", "0.3, OL", in_circuit=False).verdict == "suspect"


# --- in circuit: an open or high reading is credible, a short or low one is not (paths beside it: arithmetic)


def test_a_high_reading_in_circuit_is_believed() -> None:
    """10 k reads 14 k in circuit: high or open, parallel paths can only lower it (arithmetic)."""
    judged = judge(part("resistor", value="10k", tolerance_percent="5"), "ohms", "14 k", in_circuit=True)
    assert judged.verdict == "faulty"
    assert "high" in codes(judged)


def test_a_winding_across_a_good_transistor_reads_short_and_condemns_nothing() -> None:
    judged = judge(NPN, "diode range", "c-b 0.002 both ways", in_circuit=True)
    assert judged.verdict == "inconclusive"
    assert "lift_a_leg" in codes(judged)


LOW_IN_CIRCUIT = [
    (R_4K7, "ohms", "{} Ω"),
    (C_22U, "ohms", "{} Ω"),
    (C_22U, "ESR", "{} Ω"),
    (part("fuse", amps="1"), "ohms", "{} Ω"),
    (part("transformer"), "ohms", "{} Ω"),
    (part("diode"), "diode range", "{} both ways"),
    (NPN, "diode range", "c-e {0} both ways, b-e {0} both ways, b-c {0} both ways"),
]


@pytest.mark.parametrize(("spec", "method", "written"), LOW_IN_CIRCUIT)
@given(st.decimals(min_value=0, max_value="0.099", places=3))
def test_no_low_reading_in_circuit_is_ever_a_fault(
    spec: Spec, method: str, written: str, low: Decimal
) -> None:
    judged = judge(spec, method, written.format(f"{low:f}"), in_circuit=True)
    assert judged.verdict == "inconclusive"
    assert "lift_a_leg" in codes(judged)


@given(st.integers(1, 10**9), st.integers(1, 10**9))
def test_a_parallel_path_never_turns_a_good_resistor_into_a_bad_one(ohms: int, beside: int) -> None:
    spec = part("resistor", value=str(ohms), tolerance_percent="5")
    together = Decimal(ohms) * beside / (ohms + beside)
    judged = judge(spec, "ohms", f"{together:.9f} Ω", in_circuit=True)
    assert judged.verdict in ("good", "inconclusive")


@given(st.integers(10, 10**9), st.decimals(min_value="1.4", max_value=100, places=2), st.integers(1, 10**9))
def test_in_circuit_a_fault_is_only_reported_of_a_part_that_is_high(
    ohms: int, times: Decimal, beside: int
) -> None:
    """Whatever lies beside it, a verdict of faulty is true: the part itself is at least what was read."""
    spec = part("resistor", value=str(ohms), tolerance_percent="5")
    own = ohms * times
    read = own * beside / (own + beside)
    judged = judge(spec, "ohms", f"{read:.9f} Ω", in_circuit=True)
    if judged.verdict == "faulty":
        assert own >= ohms * Decimal("1.3")


# --- methods as they are offered


@pytest.mark.parametrize(
    "kind", [kind for kind in KINDS if kind not in ("connector", "socket", "switch", "other")]
)
def test_every_electrical_kind_has_a_trial_that_says_what_to_connect(kind: str) -> None:
    methods = methods_for(Spec(kind=kind))
    assert methods
    assert all(method.connect and method.expect and method.write for method in methods)


def test_an_electrolytic_says_discharge_and_shows_its_window() -> None:
    big = part("capacitor", value="220u", volts="350", dielectric="aluminium", tolerance_percent="20")
    first = methods_for(big)[0]
    assert first.name == "capacitance and ESR"
    assert [window.text for window in first.windows][0] == "176 µF to 264 µF"
    assert any("resistor, not a screwdriver" in caution.text for caution in first.cautions)


def test_a_free_method_wants_a_persons_verdict() -> None:
    with pytest.raises(NotJudged, match="say the verdict"):
        judge(R_4K7, "tide log over 24 h", "no gap", in_circuit=False)
    with pytest.raises(NotJudged, match="neither pass nor fail"):
        judge(part("ic"), "truth table", "channel 3 closed at 0 and at 1", in_circuit=False)


@given(
    st.sampled_from([R_4K7, C_22U, NPN, part("diode"), STATIC_MEMORY, part("crystal", value="4M")]),
    st.sampled_from(["ohms", "capacitance and ESR", "diode range", "gain", "soak", "checksum", "?"]),
    st.text(max_size=210),
    st.booleans(),
)  # fmt: skip
def test_any_reading_is_judged_or_refused_in_words(
    spec: Spec, method: str, text: str, in_circuit: bool
) -> None:
    try:
        judged = judge(spec, method, text, in_circuit=in_circuit)
        assert judged.verdict in ("good", "suspect", "faulty", "inconclusive")
        assert judged.reasons
    except (NotJudged, UnreadableReading):
        return


@given(st.integers(1, 10**15))
def test_a_resistor_that_reads_its_own_value_is_good(units: int) -> None:
    spec = Spec(kind="resistor", value=units, tolerance_percent=Decimal(5))
    amount = windows.amount_of(spec)
    assert amount is not None
    reading = f"{amount:f} Ω"
    assert judge(spec, "ohms", reading, in_circuit=False).verdict == "good", (
        print_value("resistor", units),
        spoken(amount, "ohms"),
    )
