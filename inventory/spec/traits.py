"""What else can be said of a part, by kind: the schema that a Spec's `traits` are read by.

A trait is kept in a form that JSON holds exactly: figures as plain decimal text, flags, words, lists of them.
To teach the bench a new trait, add one line to TRAITS; the rules that judge by it are in the rules_* modules.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from inventory.spec.figures import plain, read_figure, short
from inventory.spec.quantities import SAME_CHARACTER

KINDS: tuple[str, ...] = (
    "resistor",
    "capacitor",
    "inductor",
    "diode",
    "transistor",
    "ic",
    "crystal",
    "regulator",
    "fuse",
    "connector",
    "socket",
    "switch",
    "transformer",
    "lamp",
    "other",
)

TOKEN = re.compile(r"[a-z0-9][a-z0-9_]{0,31}")
_ORGANISATION = re.compile(r"([0-9]{1,6})([KMG]?)x([0-9]{1,3})")


def token(given: object) -> str:
    """Lower-case word with underscores ("TO can" -> "to_can"), or ValueError."""
    word = (
        "_".join(given.lower().replace("-", " ").replace("/", " ").split()) if isinstance(given, str) else ""
    )
    if not TOKEN.fullmatch(word):
        raise ValueError(f"want a word of at most 32 letters, figures and underscores, found {short(given)}")
    return word


def line(given: object, longest: int) -> str:
    """One line of printable text with single spaces, or ValueError."""
    if not isinstance(given, str):
        raise ValueError(f"want text, found {short(given)}")
    text = " ".join(given.translate(SAME_CHARACTER).split()) if len(given) <= 10 * longest else given
    if len(text) > longest:
        raise ValueError(f"at most {longest} characters, found {len(text)}")
    if not text.isprintable():
        raise ValueError("control characters are not kept")
    return text


@dataclass(frozen=True)
class Flag:
    """Yes or no."""

    about: str

    def read(self, given: object) -> bool:
        if isinstance(given, bool):
            return given
        answer = given.strip().lower() if isinstance(given, str) else ""
        if answer in ("yes", "true", "y"):
            return True
        if answer in ("no", "false", "n"):
            return False
        raise ValueError(f"want yes or no, found {short(given)}")


@dataclass(frozen=True)
class Word:
    """One word of a list; any word where the list is empty."""

    about: str
    listed: str = ""

    def read(self, given: object) -> str:
        word = token(given)
        if self.listed and word not in self.listed.split():
            raise ValueError(f"want one of {self.listed}, found {short(given)}")
        return word


@dataclass(frozen=True)
class Words:
    """Some words of a list, in the list's order."""

    about: str
    listed: str

    def read(self, given: object) -> tuple[str, ...]:
        words = self.listed.split()
        items = re.split(r"[,;\s]+", given.strip()) if isinstance(given, str) else given
        if not isinstance(items, list | tuple) or not 1 <= len(items) <= len(words):
            raise ValueError(f"want some of {self.listed}, found {short(given)}")
        chosen = {token(item) for item in items}
        if not chosen <= set(words):
            raise ValueError(f"want some of {self.listed}, found {short(given)}")
        return tuple(word for word in words if word in chosen)


@dataclass(frozen=True)
class Number:
    """An exact figure, kept as plain decimal text."""

    about: str
    unit: str = ""
    least: Decimal = Decimal(0)
    most: Decimal = Decimal(10) ** 9
    places: int = 9

    def read(self, given: object) -> str:
        return plain(read_figure(given, self.unit, least=self.least, most=self.most, places=self.places))

    def typed(self, kept: str) -> Decimal:
        return Decimal(kept)


@dataclass(frozen=True)
class Numbers:
    """A few exact figures, largest first."""

    about: str
    unit: str = ""

    def read(self, given: object) -> tuple[str, ...]:
        items = re.split(r"[;\s]+|,\s+", given.strip()) if isinstance(given, str) else given
        if not isinstance(items, list | tuple) or not 1 <= len(items) <= 16:
            raise ValueError(f"want 1 to 16 numbers, found {short(given)}")
        bound = Decimal(10) ** 6
        figures = {read_figure(item, self.unit, least=-bound, most=bound, places=6) for item in items}
        return tuple(plain(figure) for figure in sorted(figures, reverse=True))

    def typed(self, kept: tuple[str, ...]) -> tuple[Decimal, ...]:
        return tuple(map(Decimal, kept))


@dataclass(frozen=True)
class Text:
    """Free text on one line."""

    about: str
    longest: int = 64
    capitals: bool = False

    def read(self, given: object) -> str:
        text = line(given, self.longest)
        if not text:
            raise ValueError("empty")
        return line(text.upper(), self.longest) if self.capitals else text


@dataclass(frozen=True)
class Pins:
    """What the legs carry, in order: `E-B-C`, `in-gnd-out`. Single letters may be run together."""

    about: str

    def read(self, given: object) -> str:
        text = line(given, 64).upper() if isinstance(given, str) else ""
        names = re.split(r"[\s,/-]+", text)
        if len(names) == 1 and names[0].isalpha() and len(names[0]) <= 4:
            names = list(names[0])
        if not 2 <= len(names) <= 16 or not all(re.fullmatch(r"[A-Z0-9]{1,8}", name) for name in names):
            raise ValueError(f"want what the legs carry in order, such as E-B-C, found {short(given)}")
        return "-".join(names)


@dataclass(frozen=True)
class Organisation:
    """Words by bits of a memory: `64Kx1`, `8Kx8`."""

    about: str

    def read(self, given: object) -> str:
        text = (
            "".join(given.split()).upper().replace("X", "x").replace("×", "x")
            if isinstance(given, str)
            else ""
        )
        if not _ORGANISATION.fullmatch(text):
            raise ValueError(f"want words by bits such as 64Kx1, found {short(given)}")
        return text

    def typed(self, kept: str) -> tuple[int, int]:
        found = _ORGANISATION.fullmatch(kept)
        assert found is not None  # only what `read` let through is kept
        return int(found[1]) * 1024 ** " KMG".index(found[2] or " "), int(found[3])


Trait = Flag | Word | Words | Number | Numbers | Text | Pins | Organisation

JUDGED = (
    "number value tolerance_percent volts watts amps dielectric package lead_style pitch_mm polarised"
    " speed_ns make technology temperature_char temp_max_c material colour plating tab lead_mm height_mm"
)

_EVERY_KIND: dict[str, Trait] = {
    "any": Words("properties that this place does not mind", JUDGED),
    "exact": Words("properties in which nothing else will do, however good", JUDGED),
    "lead_mm": Number("how thick the leads are; of a place, the thickest that its holes take", "mm"),
    "height_mm": Number("how far it stands off the board; of a place, the room there is", "mm"),
}
_TEMPERATURE = Number("highest rated temperature", "°C", least=Decimal(-100), most=Decimal(1000))

TRAITS: dict[str, dict[str, Trait]] = {
    "resistor": {
        "technology": Word(
            "what the element is",
            "carbon_composition carbon_film metal_film metal_oxide film thick_film thin_film foil"
            " cermet wirewound",
        ),
        "use": Word("what the place asks", "general surge rf timing sense"),
        "fusible": Flag("opens safely on overload"),
        "flameproof": Flag("does not burn on overload"),
        "tcr_ppm": Number("temperature coefficient, ppm per kelvin"),
        "temp_max_c": _TEMPERATURE,
        "elements": Number("resistors in one network", least=Decimal(1), most=Decimal(64), places=0),
        "taper": Word("law of a variable resistor", "linear log reverse_log"),
    },
    "capacitor": {
        "tolerance_low_percent": Number("how far below the value", "%", most=Decimal(100), places=4),
        "tolerance_high_percent": Number("how far above the value", "%", most=Decimal(1000), places=4),
        "use": Word(
            "what the place asks",
            "filter timing oscillator tuned bypass coupling switching_output rf surge general",
        ),
        "temperature_char": Text("temperature code: X7R, N750", 12, capitals=True),
        "temp_max_c": _TEMPERATURE,
        "rail_volts": Number("volts the place really carries", "V"),
        "ac_volts": Number("rated AC volts", "V"),
        "esr_ohm": Number("equivalent series resistance, highest", "Ω"),
        "esr_min_ohm": Number("equivalent series resistance, lowest that the place allows", "Ω"),
        "low_esr": Flag("low series resistance grade"),
        "ripple": Number("ripple current", "A"),
        "reversal": Flag("the place may see reversed volts"),
    },
    "inductor": {
        "dcr_ohm": Number("winding resistance", "Ω"),
        "saturation_amps": Number("saturation current", "A"),
        "shielded": Flag("magnetically shielded"),
        "core": Word("core material"),
        "rewound": Flag("wound again to the figures of the one it replaces"),
        "use": Word("what the place asks", "general rf filter switching"),
    },
    "diode": {
        "function": Word(
            "what it is for",
            "rectifier fast_rectifier signal schottky zener detector bridge led varicap"
            " suppressor photodiode thyristor triac diac tunnel",
        ),
        "material": Word("semiconductor", "silicon germanium selenium"),
        "vr": Number("reverse volts", "V"),
        "if": Number("forward current", "A"),
        "surge_amps": Number("single surge current", "A"),
        "zener_volts": Number("regulating volts", "V"),
        "recovery_ns": Number("reverse recovery, ns"),
        "forward_volts": Number("forward drop", "V"),
        "drop_matters": Flag("whether the place needs the low drop of a Schottky; unsaid, it does"),
        "colour": Word("light"),
        "pin_order": Pins("legs in order"),
    },
    "transistor": {
        "polarity": Word("conductivity", "npn pnp n_channel p_channel"),
        "device": Word("structure", "bipolar darlington jfet mosfet unijunction igbt"),
        "material": Word("semiconductor", "silicon germanium"),
        "vceo": Number("collector-emitter (drain-source) volts", "V"),
        "ic": Number("collector (drain) current", "A"),
        "ptot": Number("dissipation", "W"),
        "gain_min": Number("least current gain"),
        "gain_max": Number("greatest current gain"),
        "ft_mhz": Number("transition frequency, MHz"),
        "pin_order": Pins("legs in order, flat or print towards you"),
        "matched": Flag("one of a matched pair"),
        "tab": Word("what the metal tab is joined to"),
    },
    "ic": {
        "function": Word("what it does: dram, rom, eprom, sram, op_amp, or the logic number 04"),
        "family": Word("logic family: ls, hct, std, cmos_4000"),
        "organisation": Organisation("memory words by bits"),
        "access_ns": Number("access time, ns"),
        "refresh": Number("rows refreshed in one interval", most=Decimal(65536), places=0),
        "refresh_ms": Number("refresh interval, ms"),
        "half": Word("which half of a half-good memory works; whole where all of it does"),
        "pins": Number("legs", least=Decimal(1), most=Decimal(2000), places=0),
        "suffix": Text("type suffix", 16),
        "rails": Numbers("supply volts", "V"),
        "open_collector": Flag("outputs need a pull-up"),
        "drivers": Word("what drives the inputs here", "cmos ttl pulled_up"),
        "load_ma": Number("current that its outputs must sink here", "mA"),
        "use": Word("what the place asks", "general oscillator timing"),
        "content": Text("what is programmed in"),
        "pin_order": Pins("legs in order"),
    },
    "crystal": {
        "load_pf": Number("load capacitance, pF"),
        "resonance": Word("circuit it is cut for", "series parallel"),
        "cut": Word("cut of the quartz"),
        "overtone": Number("overtone, 1 is fundamental", least=Decimal(1), most=Decimal(15), places=0),
        "ppm": Number("frequency tolerance, ppm"),
        "esr_ohm": Number("series resistance", "Ω"),
    },
    "regulator": {
        "output_volts": Number("output", "V", least=Decimal(-10000), most=Decimal(10000)),
        "polarity": Word("sign of the output", "positive negative"),
        "adjustable": Flag("output set by resistors"),
        "dropout": Number("least input above output", "V"),
        "input_max_volts": Number("highest input", "V"),
        "input_volts": Number("input that the place gives it", "V"),
        "load_amps": Number("current that the place draws", "A"),
        "pin_order": Pins("legs in order"),
        "tab": Word("what the metal tab is joined to"),
    },
    "fuse": {
        "speed": Word("how fast it blows", "very_fast fast medium slow very_slow"),
        "breaking": Number("breaking capacity", "A"),
        "body": Word("material", "glass ceramic wire plastic"),
        "i2t": Number("melting integral, A²s"),
    },
    "connector": {
        "ways": Number("contacts", least=Decimal(1), most=Decimal(2000), places=0),
        "rows": Number("rows of contacts", least=Decimal(1), most=Decimal(100), places=0),
        "plating": Word("contact surface", "gold tin silver nickel"),
        "gender": Word("plug or socket", "plug socket edge"),
    },
    "socket": {
        "ways": Number("contacts", least=Decimal(1), most=Decimal(2000), places=0),
        "plating": Word("contact surface", "gold tin silver nickel"),
        "contact": Word("how it grips", "turned dual_leaf single_leaf lever"),
    },
    "switch": {
        "poles": Number("separate circuits", least=Decimal(1), most=Decimal(64), places=0),
        "throws": Number("positions", least=Decimal(1), most=Decimal(64), places=0),
        "action": Word("how it moves"),
    },
    "transformer": {
        "primary_volts": Numbers("primary windings", "V"),
        "secondary_volts": Numbers("secondary windings", "V"),
        "va": Number("rating, VA"),
        "rewound": Flag("wound again to the figures of the one it replaces"),
    },
    "lamp": {
        "base": Word("cap"),
        "colour": Word("light"),
    },
    "other": {},
}
for _schema in TRAITS.values():
    _schema.update(_EVERY_KIND)

SAME_FIGURE: dict[str, dict[str, str]] = {
    "transistor": {"vceo": "volts", "ic": "amps", "ptot": "watts"},
    "diode": {"vr": "volts", "if": "amps", "recovery_ns": "speed_ns"},
    "ic": {"access_ns": "speed_ns"},
}
"""Kind -> trait -> the field that says the same; either may be given, not two different figures."""


ORDERED = (("gain_min", "gain_max"), ("esr_min_ohm", "esr_ohm"))
"""Traits that bound a range from below and above."""


@lru_cache(maxsize=8192)
def typed_trait(kind: str, name: str, kept: Any) -> Any:
    """The kept form of a trait as the rules want it: Decimal, tuple, word or flag."""
    trait = TRAITS[kind][name]
    return trait.typed(kept) if isinstance(trait, Number | Numbers | Organisation) else kept


def read_traits(kind: str, given: object) -> tuple[dict[str, Any], list[tuple[tuple[str, ...], str, str]]]:
    """(traits in kept form, problems as (path, code, detail)); names with null are left out."""
    if not isinstance(given, Mapping):
        return {}, [((), "unreadable", f"want an object of traits, found {short(given)}")]
    schema = TRAITS[kind]
    kept: dict[str, Any] = {}
    problems: list[tuple[tuple[str, ...], str, str]] = []
    for name, value in given.items():
        if name not in schema:
            detail = f"a {kind} has the traits {', '.join(sorted(schema))}"
            problems.append(((short(name).strip('"'),), "unknown", detail))
        elif value is not None:
            try:
                kept[name] = _read_text(kind, name, value) if type(value) is str else schema[name].read(value)
            except ValueError as refused:
                problems.append(((name,), "unreadable", str(refused)))
    for low, high in ORDERED:
        if low in kept and high in kept and Decimal(kept[low]) > Decimal(kept[high]):
            problems.append(((low,), "contradiction", f"{low} is above {high}"))
    return dict(sorted(kept.items())), problems


@lru_cache(maxsize=8192)
def _read_text(kind: str, name: str, value: str) -> Any:
    """As the schema reads it; the same texts come by the thousand when a stock is loaded."""
    return TRAITS[kind][name].read(value)
