"""How each kind is tested: what to connect, what to expect, the pass window, and the verdict on a reading.

To teach the bench a trial, add one `_Method` to METHODS; the rule that judges its reading stands beside its
kin.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Protocol

from inventory.spec import Spec
from repairs.proving import cautions, digital, legs, passive, semiconductors, windows
from repairs.proving.cautions import Caution
from repairs.proving.meter import LONGEST, UnreadableReading
from repairs.proving.verdict import Judgement
from repairs.proving.windows import Window


class NotJudged(ValueError):
    """The rules cannot judge this reading: a person says the verdict.  The message says why."""


class ReadingJudge(Protocol):
    def __call__(self, spec: Spec, text: str, *, in_circuit: bool) -> Judgement: ...


@dataclass(frozen=True)
class Method:
    """One way to test one part, as it is shown before the test.

    `write` is an example of a reading; `windows` are the limits that it is held to, () where there are none.
    """

    name: str
    connect: str
    expect: str
    write: str
    windows: tuple[Window, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class _Method:
    """A test for parts of these `kinds` that it `suits`; `aliases` (lower case) find it as its name does."""

    name: str
    kinds: tuple[str, ...]
    connect: str
    expect: str
    write: str
    judge: ReadingJudge
    windows: Callable[[Spec], tuple[Window | None, ...]] = lambda _spec: ()
    suits: Callable[[Spec], bool] = lambda _spec: True
    aliases: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = field(default=())

    def of(self, spec: Spec) -> Method:
        known = tuple(window for window in self.windows(spec) if window is not None)
        # The screen for ESR only means something where there are rated volts; the rest is said as expected.
        return Method(
            self.name, self.connect, self.expect, self.write, known, (*cautions.of_part(spec), *self.cautions)
        )


def _function(*words: str) -> Callable[[Spec], bool]:
    return lambda spec: spec.known.get("function") in words


def _bipolar(spec: Spec) -> bool:
    known = spec.known
    return known.get("device", "bipolar") == "bipolar" and known.get("polarity", "npn") in ("npn", "pnp")


def _legs(*words: str) -> Callable[[Spec], bool]:
    """Of these functions or structures, where its polarity says which way the junctions lie."""
    return lambda spec: (
        bool(legs.pairs_of(spec))
        and bool({spec.known.get("function"), spec.known.get("device")} & set(words))
    )


PIN_ORDER = "pin order"
_DECIDED_BY_INPUTS = (None, "analogue_switch", "array", "driver", "receiver")
"""Chips of no logic family that have a truth table; those of which nothing is known may have one."""
_NOT_ONE_JUNCTION = ("bridge", "thyristor", "triac", "diac", "tunnel")

METHODS: tuple[_Method, ...] = (
    _Method(
        "ohms", ("resistor",),
        "One leg free. Short the leads first and take their ohms off below 10 Ω; keep "
        "fingers off above 100 kΩ.",
        "Inside the tolerance. Old carbon composition reads high, 10 to 20 % is usual.",
        "4.68 k, or OL", passive.ohms_of_resistor, lambda spec: (windows.resistance(spec),),
        aliases=("resistance", "ohmmeter"),
    ),
    _Method(
        "ohms at 25 °C", ("thermistor",),
        "One leg free, at room temperature for ten minutes and not held in the hand: skin warms it.",
        "Inside the tolerance at 25 °C. A breath on it moves the reading: down an NTC, up a PTC.",
        "9.8 k, or OL", passive.ohms_of_resistor, lambda spec: (windows.resistance(spec),), aliases=("ohms",),
    ),
    _Method(
        "capacitance and ESR", ("capacitor",),
        "Discharge it. Capacitance meter, then ESR meter, across the part alone.",
        "Capacitance inside its tolerance, ESR not above twice what is usual. No leak, no bulge.",
        "21.5 µF, 0.8 Ω", passive.capacitance_and_esr,
        lambda spec: (windows.capacitance(spec), windows.series_resistance(spec)),
        suits=lambda spec: windows.series_resistance(spec) is not None, aliases=("esr and capacitance",),
        cautions=(cautions.REFORMING,),
    ),
    _Method(
        "capacitance", ("capacitor",),
        "Discharge it. Capacitance meter across the part alone, one leg free.",
        "Inside its tolerance; film and ceramic within twice that after long storage.",
        "98.2 nF", passive.capacitance, lambda spec: (windows.capacitance(spec),),
        aliases=("capacitance meter",),
    ),
    _Method(
        "ESR", ("capacitor",),
        "Discharge it. ESR meter across it; it may stay in circuit for a high reading.",
        "Not above twice what is usual: published tables differ two to one, so this only screens.",
        "0.8 Ω", passive.esr, lambda spec: (windows.series_resistance(spec),),
        suits=lambda spec: windows.series_resistance(spec) is not None,
    ),
    _Method(
        "ohms", ("capacitor",),
        "Discharge it. Ohms across the part alone, plus lead to plus; wait until it settles.",
        "No short: above 10 Ω and rising. This does not measure the capacitance.",
        "above 20 M", passive.ohms_of_capacitor, aliases=("resistance",),
    ),
    _Method(
        "diode range", ("diode",),
        "Plus lead to the anode, then turned round (the band is the cathode).",
        "A drop one way, open the other.",
        "0.62, OL", semiconductors.diode_range_of_diode, lambda spec: (windows.junction(spec),),
        suits=lambda spec: spec.known.get("function") not in _NOT_ONE_JUNCTION,
        aliases=("diode test", "diode"),
    ),
    _Method(
        "diode range", ("diode",),
        "Call the legs p (plus), n (minus), a and b (the waves). Plus lead on n, minus lead on a and on b; "
        "plus lead on a and on b, minus lead on p; then all turned round, and a to b.",
        "Four drops; everything else is open.",
        "n-a 0.52, n-b 0.52, a-p 0.53, b-p 0.52, rest open", legs.leg_by_leg, legs.drops_of,
        suits=_legs("bridge"), aliases=("diode test", "diode"),
    ),
    _Method(
        "diode range", ("diode",),
        "Plus lead on the gate g, minus lead on the cathode k; then anode a to k and a to g, both ways.",
        "A drop from gate to cathode; anode open to both, both ways. A small one may be fired from the "
        "meter: join g to a, and it conducts until it is let go.",
        "g-k 0.62, rest open", legs.leg_by_leg, legs.drops_of,
        suits=_legs("thyristor"), aliases=("diode test", "diode"),
    ),
    _Method(
        "ohms", ("diode",),
        "Call main terminal one k, main terminal two a, the gate g. Ohms g to k, a to k, a to g, both ways.",
        "Tens to hundreds of ohms from the gate to main terminal one, both ways; everything else is open.",
        "g-k 85 both ways, rest open", legs.leg_by_leg, legs.drops_of, suits=_legs("triac"),
    ),
    _Method(
        "diode range", ("diode",),
        "Across it both ways.",
        "Open both ways: it breaks over far above a meter's volts. This does not show that it fires.",
        "a-k OL both ways", legs.leg_by_leg, suits=_legs("diac"), aliases=("diode test", "diode"),
    ),
    _Method(
        "light", ("diode",),
        "From 5 V through 1 kΩ, plus to the long leg; the flat, or the short leg, is the cathode.",
        "It lights; its drop may be taken meanwhile.",
        "works", digital.swapped, lambda spec: (windows.junction(spec),),
        suits=_function("led"), aliases=("lights",),
    ),
    _Method(
        "zener volts", ("diode",),
        "From a supply well above its volts through a resistor that lets a few mA through; meter across it.",
        "Its volts, inside the tolerance.",
        "6.15 V", semiconductors.volts_through_resistor, lambda spec: (windows.regulating_volts(spec),),
        suits=lambda spec: windows.regulating_volts(spec) is not None,
        aliases=("supply and series resistor",),
    ),
    _Method(
        "diode range", ("transistor",),
        "Plus lead on the first leg named: base to emitter, base to collector (PNP: the "
        "other way), all turned round,"
        " and collector to emitter both ways.",
        "Both junctions drop, everything else is open.",
        "b-e 0.66, b-c 0.65, rest open", semiconductors.diode_range_of_transistor,
        lambda spec: (windows.junction(spec),), suits=_bipolar, aliases=("diode test",),
    ),
    _Method(
        "diode range", ("transistor",),
        "Plus lead on the first leg named: base to emitter, base to collector, collector to base, "
        "collector to emitter, emitter to collector. PNP: all the other way round.",
        "Base to emitter drops twice, or less where resistors are inside; base to collector once; emitter to "
        "collector shows a damper diode, or open; the rest is open.",
        "b-e 1.25, b-c 0.66, e-c 0.52, rest open", legs.leg_by_leg, legs.drops_of,
        suits=_legs("darlington"), aliases=("diode test",),
    ),
    _Method(
        "diode range", ("transistor",),
        "Plus lead on the first leg named: gate to source and to drain, turned round, and drain to source "
        "both ways. P channel: all the other way round.",
        "Gate to channel drops one way only; drain to source is a path alike both ways (100 to 1000 Ω).",
        "g-s 0.68, g-d 0.68, d-s 0.21 both ways, rest open", legs.leg_by_leg, legs.drops_of,
        suits=_legs("jfet"), aliases=("diode test",),
    ),
    _Method(
        "diode range", ("transistor",),
        "Touch earth first, join all legs for a moment to empty the gate. Plus lead on the first leg named: "
        "source to drain, drain to source, gate to both, both ways. P channel: all the other way round.",
        "A body diode one way; the gate is open to everything.",
        "s-d 0.52, rest open", legs.leg_by_leg, legs.drops_of, suits=_legs("mosfet"), aliases=("diode test",),
    ),
    _Method(
        "diode range", ("transistor",),
        "Touch earth first, join all legs for a moment to empty the gate. Plus lead on the first leg named: "
        "emitter to collector, collector to emitter, gate to both, both ways.",
        "Emitter to collector shows a diode, or open where none is inside; everything else is open.",
        "e-c 0.48, rest open", legs.leg_by_leg, legs.drops_of, suits=_legs("igbt"), aliases=("diode test",),
    ),
    _Method(
        "gain", ("transistor",),
        "Gain socket of the meter, legs in the type's own order; junctions first.",
        "Inside the type's range; a meter tests at its own current.",
        "hFE 210", semiconductors.gain, lambda spec: (windows.current_gain(spec),),
        suits=_bipolar, aliases=("hfe",),
    ),
    _Method(
        "supply with light load", ("regulator",),
        "Input two or three volts above the output from a limited supply, 100 nF close "
        "to the legs, a light load.",
        "Its output volts.",
        "5.02 V into 100 Ω", semiconductors.light_load, lambda spec: (windows.output_volts(spec),),
        aliases=("light load", "supply"),
    ),
    _Method(
        "inductance", ("inductor",),
        "Inductance meter across the part alone, away from metal.",
        "Inside its tolerance; far too low means shorted turns.",
        "98 µH", passive.inductance, lambda spec: (windows.inductance(spec),),
    ),
    _Method(
        "ohms", ("inductor", "transformer", "fuse", "lamp"),
        "Ohms across the part; across each winding of a transformer, and between windings (open).",
        "A path; a winding near its stated resistance. Shorted turns do not show.",
        "0.8 Ω", passive.continuity, aliases=("continuity", "resistance"),
    ),
    _Method(
        "frequency", ("crystal",),
        "In a test oscillator of its kind (series or parallel, its load capacitance), counter on the output.",
        "Its frequency inside the tolerance.",
        "3.99985 MHz", passive.frequency, lambda spec: (windows.frequency(spec),), aliases=("counter",),
    ),
    _Method(
        "known good board, memory soak", ("ic",),
        "Known good socketed board, one chip at a time, same position: baseline passes, "
        "power off, swap, soak, put the"
        " good one back, baseline again.",
        "No fault over the soak, and not hot.",
        "no fault in 2 h, or 01C0: wrote 00, read 04", digital.soak,
        suits=_function("dram", "sram"), aliases=("memory soak", "soak"),
    ),
    _Method(
        "checksum", ("ic",),
        "Read it out on a programmer or in the board, twice; compare sum, XOR or CRC-32 "
        "with the label or a list.",
        "The listed checksum.",
        "sum 9C41", digital.listed_checksum, suits=_function("rom", "prom", "eprom", "eeprom"),
    ),
    _Method(
        "known good board",
        ("ic", "transistor", "regulator", "crystal", "other", "switch", "connector", "socket"),
        "Known good board, same position, power off for each swap; baseline before and after.",
        "The board works as before, the part is not hot.",
        "pass", digital.swapped, aliases=("swap", "socketed swap"),
    ),
    _Method(
        "ohms, supply to ground", ("ic",),
        "Out of its socket: ohms from each supply leg to its ground leg, both ways round.",
        "No short: well above 10 Ω. That comes before any good board; this does not show that it works.",
        "12 k", passive.ohms_of_supply, aliases=("ohms", "supply to ground"),
    ),
    _Method(
        "truth table", ("ic",),
        "Its supply and inputs by hand or on a tester; each output against the type's table.",
        "Every line matches.",
        "match", digital.swapped,
        suits=lambda spec: "family" in spec.known or spec.known.get("function") in _DECIDED_BY_INPUTS,
        aliases=("logic test",),
    ),
    _Method(
        PIN_ORDER, ("transistor", "regulator", "diode"),
        "Out of circuit, legs down, the flat or the print towards you. A tester names the legs; with a meter "
        "the base is the leg from which both others show a drop. Or read it in its maker's data sheet.",
        "What the legs carry, left to right. It is kept on the whole lot; whether it works is not judged.",
        "E-B-C", semiconductors.pin_order,
        suits=lambda spec: spec.kind != "diode" or spec.known.get("function") in _NOT_ONE_JUNCTION,
        aliases=("legs", "pinout", "test the legs"),
    ),
)  # fmt: skip


def methods_for(spec: Spec) -> tuple[Method, ...]:
    """The trials that this part can have, the most telling first."""
    return tuple(method.of(spec) for method in _suited(spec))


def _suited(spec: Spec) -> Iterator[_Method]:
    return (method for method in METHODS if spec.kind in method.kinds and method.suits(spec))


def judge(spec: Spec, method: str, reading: str, *, in_circuit: bool, expected: str = "") -> Judgement:
    """The verdict on a reading, with reasons.

    NotJudged: nobody knows that method for this part, or its reading is for a person to judge.
    UnreadableReading: the reading cannot be read as that method's.
    """
    chosen = _by_name(spec, method)
    if chosen is None:
        listed = ", ".join(each.name for each in _suited(spec)) or "none"
        raise NotJudged(
            f"{method[:60]!r} has no window for this part: say the verdict, or use one of: {listed}"
        )
    if not reading.strip():
        raise UnreadableReading(f"expected the reading, such as {chosen.write}")
    if len(reading) > LONGEST:
        raise UnreadableReading(f"a reading has at most {LONGEST} characters")
    if chosen.judge is digital.listed_checksum:
        return digital.listed_checksum(spec, reading, in_circuit=in_circuit, expected=expected)
    judged = chosen.judge(spec, reading, in_circuit=in_circuit)
    if not judged.verdict:
        raise NotJudged(f"{reading[:60]!r} says neither pass nor fail: say the verdict")
    return judged


def named(spec: Spec, method: str) -> Method | None:
    """The trial of that name for this part."""
    chosen = _by_name(spec, method)
    return chosen.of(spec) if chosen is not None else None


def _by_name(spec: Spec, method: str) -> _Method | None:
    """By its name or another that people use; failing that, by one that stands within what was written."""
    wanted = " ".join(method.lower().split())
    suited = list(_suited(spec))
    exact = (each for each in suited if wanted == each.name.lower() or wanted in each.aliases)
    within = (each for each in suited if any(name in wanted for name in (each.name.lower(), *each.aliases)))
    return next(exact, None) or next(within, None)
