"""Colour codes of capacitors: polyester, tantalum bead and dipped, mica, tubular ceramic, ceramic ends,
generic EIA.

Sources, by scheme: polyester: C280 code, from memory; tubular ceramic: EIA RS-198, from memory; tantalum
bead: a maker's page (Suntan); dipped tantalum: a textbook (Grob 11e), the rest common practice, no source,
as are the ceramic ends and the voltage columns K, M and N (K above 300 V, M and N rebuilt from a flattened
text); mica: US Army subcourse OD1647, AN 16-40BC224-2 as quoted, RMA code from memory. Six-band tubular
ceramics: from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

from .bands import DIGIT_COLOURS, Entry, Scheme, Table, table
from .candidates import Candidate, Notation, Tolerance, lopsided, percent, picofarads
from .temperature import of_class, of_slope

PICO, MICRO = 10**3, 10**9
TROPICAL = Notation(
    "polyester colour bands",
    "C280 style, makers' practice",
    "capacitor",
    0.6,
    {"film": 8, "disc": 0.1},
    1960,
    1990,
)
BEAD = Notation("tantalum bead colours", "makers' practice", "capacitor", 0.3, {"tantalum": 10}, 1960, 1985)
DIPPED = Notation("dipped tantalum colours", "EIA, column J", "capacitor", 0.2, {"tantalum": 8}, 1960, 1990)
ELECTROLYTIC = Notation(
    "electrolytic colours", "EIA, columns M and N", "capacitor", 0.03, {"electrolytic": 10}, 1950, 1985
)
LEAD_END = Notation(
    "electrolytic colours, lead end", "one country's practice", "capacitor", 0.01, {"electrolytic": 3}
)
GENERIC = Notation("generic capacitor colours", "EIA", "capacitor", 0.3)
SIX_DOT = Notation(
    "mica six dots",
    "AWS, JAN, MIL-C-5 and EIA RS-153",
    "capacitor",
    0.5,
    {"mica": 10, "paper": 5},
    1935,
    1970,
)
RMA = Notation("mica dots, RMA", "RMA", "capacitor", 0.3, {"mica": 10}, 1935, 1965)
TUBULAR = Notation(
    "tubular ceramic colours", "RMA / EIA, IEC 62", "capacitor", 0.4, {"tubular": 10, "disc": 3}, 1940, 1980
)
PLATE_END = Notation("single-plate ceramic end colour", "IEC 62", "capacitor", 0.3, {"disc": 3})


def multipliers(unit: int, powers: Mapping[str, int], symbol: str, weights: Mapping[str, float]) -> Table:
    return table(
        **{
            colour: Entry(
                (unit * 10 ** max(power, 0), 10 ** max(-power, 0)),
                f"x10^{power} {symbol}",
                weights.get(colour, 1.0),
            )
            for colour, power in powers.items()
        }
    )


def powers(count: int) -> dict[str, int]:
    return {colour: power for power, colour in enumerate(DIGIT_COLOURS[:count])}


Amounts = str | tuple[tuple[str, str, float], ...]
"""An amount, or rivals as (amount, caution, weight), the lowest being the safe one."""


def _entries(amounts: Mapping[str, Amounts], entry: Callable[[str, float, str], Entry]) -> Table:
    return table(
        **{
            colour: tuple(
                entry(amount, weight, caution)
                for amount, caution, weight in (((each, "", 1.0),) if isinstance(each, str) else each)
            )
            for colour, each in amounts.items()
        }
    )


def volts(**amounts: Amounts) -> Table:
    """Volts by colour."""
    return _entries(
        amounts, lambda amount, weight, caution: Entry(Decimal(amount), f"{amount} V", weight, caution)
    )


def tolerances(**amounts: Amounts) -> Table:
    """Per cent by colour."""
    return _entries(
        amounts, lambda amount, weight, caution: Entry(percent(amount), f"±{amount} %", weight, caution)
    )


PICOFARAD_MULTIPLIER = multipliers(PICO, powers(7), "pF", {"blue": 0.3, "black": 0.5})

TROPICAL_TOLERANCE = tolerances(black="20", white="10", green="5", red="2", brown="1")
TROPICAL_VOLTS = volts(brown="100", red="250", yellow="400", blue="630")

UNSURE_VOLTS = "tantalum colours have at least three voltage lists; take the lowest that fits as the safe one"
BEAD_MULTIPLIER = multipliers(
    MICRO, {"black": 0, "brown": 1, "red": 2, "grey": -2, "white": -1}, "µF", {"red": 0.3}
)
BEAD_VOLTS = volts(
    yellow=(("6.3", UNSURE_VOLTS, 1.0),),
    black=(("10", UNSURE_VOLTS, 1.0),),
    green=(("16", UNSURE_VOLTS, 1.0),),
    blue=(("20", UNSURE_VOLTS, 1.0),),
    grey=(("25", UNSURE_VOLTS, 1.0),),
    white=(
        ("3", "white is 3 V on most charts, 30 V on one: take 3 V", 0.6),
        ("30", "white is 3 V on most charts", 0.1),
    ),
    pink=(("35", "faded pink can look white, grey or red", 1.0),),
)
DIPPED_VOLTS = volts(
    black="4",
    brown="6",
    red="10",
    orange="15",
    yellow="20",
    green="25",
    blue=(("35", UNSURE_VOLTS, 1.0),),
    violet="50",
    white="3",
)
DIPPED_TOLERANCE = tolerances(silver="10", gold="5", black="20", none="20")
COLUMN_M = volts(
    black="10", brown="1.6", red="4", orange="40", yellow="6.3", green="16", grey="25", white="2.5"
)
COLUMN_N = volts(black="10", red="35", yellow="6", green="15", blue="20", grey="25", white="3")
LEAD_END_VOLTS = volts(
    black="4", brown="6.3", red="10", orange="16", yellow="25", green="32", blue="40", violet="50", grey="63"
)
COLUMN_K = volts(
    black="100", brown="200", red="300", orange="400", yellow="500", green="600", blue="700", violet="800",
    grey="900",
    white="1000", gold="2000",
)  # fmt: skip
GENERIC_VOLTS = volts(brown="100", orange="300", green="500", gold="1000")

GREEN = "green is 0.5 % in the generic table, 5 % in ceramic and polyester tables"
GENERIC_MULTIPLIER = multipliers(PICO, powers(5), "pF", {})
GENERIC_TOLERANCE = tolerances(
    black="20",
    brown="1",
    red="2",
    green=(("5", GREEN, 0.6), ("0.5", GREEN, 0.3)),
    gold="5",
    silver="10",
    white="10",
)

CHARACTERISTIC = {
    "brown": ("B", "not specified, or ±500 ppm/K"), "red": ("C", "±200 ppm/K"), "orange": ("D", "±100 ppm/K"),
    "yellow": ("E", "-20 to +100 ppm/K"), "green": ("F", "0 to +70 ppm/K"),
}  # fmt: skip
CHARACTERISTICS = table(
    **{
        colour: Entry(
            {"code": letter, "drift": drift, "standard": "MIL-C-5"}, f"characteristic {letter}: {drift}"
        )
        for colour, (letter, drift) in CHARACTERISTIC.items()
    }
)
NO_CHARACTERISTIC = table(**dict.fromkeys(("black",), Entry({}, "no characteristic", 0.3)))
TEMPERATURE_RANGE = table(
    black=Entry({"operating": "-55 to +70 °C"}, "-55 to +70 °C"), red=Entry({"operating": "-55 to +85 °C"},
    "-55 to +85 °C"),
    yellow=Entry({"operating": "-55 to +125 °C"}, "-55 to +125 °C"),
    blue=Entry({"operating": "-55 to +150 °C"}, "-55 to +150 °C"),
)  # fmt: skip
VIBRATION = table(
    black=Entry({"vibration": "10 to 55 Hz"}, "10 to 55 Hz"), yellow=Entry({"vibration": "10 to 2000 Hz"},
    "10 to 2000 Hz"),
    white=Entry({}, "EIA part"),
)  # fmt: skip
SIX_DOT_TYPE = table(
    black=Entry({"dielectric": "mica"}, "mica, military"),
    white=Entry({"dielectric": "mica"}, "mica, EIA"),
    silver=Entry({"dielectric": "paper"}, "paper, military"),
    none=Entry({"dielectric": "paper"}, "paper, commercial (body colour)", 0.3),
)
SIX_DOT_MULTIPLIER = table(
    **{colour: Entry((PICO * 10**power, 1), f"x10^{power} pF") for colour, power in powers(5).items()},
    gold=Entry((PICO, 10), "x0.1 pF", 0.3),
)
SIX_DOT_TOLERANCE = tolerances(
    gold="5", silver="10", red="2", brown="1", black="20",
    yellow=(("4", "4 % in one reading; another chart leaves yellow blank", 0.2),),
    blue=(("2", "the Army text prints blue = 2 %: taken for a misprint of red", 0.05),),
    green=(("5", GREEN, 0.2), ("0.5", GREEN, 0.1)),
)  # fmt: skip


def six_dot(
    row: list[Entry], weight: float, used: tuple[tuple[str, str], ...], scheme: Scheme
) -> Candidate | None:
    """AWS three-arrow micas carry no voltage dot: 500 V below 6800 pF, 300 V up to 10 nF."""
    kind, one, two, multiplier, tolerance = row[:5]
    scale, divisor = multiplier.amount
    value, rest = divmod((one.amount * 10 + two.amount) * scale, divisor)
    if rest or not value:
        return None
    rating = Decimal(500) if value < 6800 * PICO else Decimal(300) if value <= 10_000 * PICO else None
    cautions = tuple(each.caution for each in row if each.caution)
    if rating is not None:
        cautions = (*cautions, "no dot gives the volts: the scheme's usual rating is shown")
    temperature = row[5].amount if len(row) > 5 else {}
    return Candidate(
        scheme.notation, value, used, weight, tolerance.amount, rating, cautions, (), temperature, kind.amount
    )  # fmt: skip


RMA_VOLTS = volts(
    brown="100", red="200", orange="300", yellow="400", green="500", blue="600", violet="700", grey="800",
    white="900",
    gold=(("1000", "the gold and silver cells of this chart were rebuilt by order", 1.0),),
    silver=(("2000", "the gold and silver cells of this chart were rebuilt by order", 1.0),), none="500",
)  # fmt: skip
RMA_TOLERANCE = tolerances(
    brown="1", red="2", orange="3", yellow="4", green="5", blue="6", violet="7", grey="8", white="9",
    gold="5", silver="10",
    none="20",
)  # fmt: skip
RMA_MULTIPLIER = table(
    **{
        colour: Entry((PICO * 10**power, 1), f"{power} zeros, pF", 1.0 if power < 5 else 0.01)
        for power, colour in enumerate(DIGIT_COLOURS)
    }
)
RMA_DEFAULTS = "missing dots mean 500 V and 20 %"


def three_dot(
    row: list[Entry], weight: float, used: tuple[tuple[str, str], ...], scheme: Scheme
) -> Candidate | None:
    one, two, multiplier = row[:3]
    value = (one.amount * 10 + two.amount) * multiplier.amount[0]
    if not value:
        return None
    tolerance = percent("20")
    return Candidate(
        scheme.notation, value, used, weight, tolerance, Decimal(500), (RMA_DEFAULTS,),
        traits={"dielectric": "mica"},
    )  # fmt: skip


BROWN_END = "brown is -33 ppm/K on banded tubular parts, -150 ppm/K on coloured ends of plates"
SLOPES = {
    "black": 0,
    "brown": -33,
    "red": -75,
    "orange": -150,
    "yellow": -220,
    "green": -330,
    "blue": -470,
    "violet": -750,
}
COEFFICIENT = table(
    **{
        colour: Entry(
            of_slope(ppm), "NP0" if ppm == 0 else f"{ppm} ppm/K", 1.0, BROWN_END if colour == "brown" else ""
        )
        for colour, ppm in SLOPES.items()
    },
    gold=Entry(of_slope(100), "+100 ppm/K", 0.2),
    grey=Entry(of_slope(30), "+30 ppm/K", 0.1, "elsewhere grey marks general purpose or high K"),
)
TUBULAR_MULTIPLIER = multipliers(
    PICO,
    {**powers(7), "grey": -2, "white": -1, "gold": -1, "silver": -2},
    "pF",
    {"gold": 0.3, "silver": 0.3, "blue": 0.1},
)


def by_size(
    above: Tolerance | None, below: Tolerance | None, weight: float = 1.0, caution: str = ""
) -> Entry:
    text = f"{above.text if above else '-'} above 10 pF, {below.text if below else '-'} up to 10 pF"
    return Entry((above, below), text, weight, caution)


TUBULAR_TOLERANCE = table(
    black=by_size(percent("20"), picofarads("2.0")), brown=by_size(percent("1"), picofarads("0.1")),
    red=by_size(percent("2"), picofarads("0.25")), orange=by_size(percent("3"), None, 0.2),
    yellow=by_size(percent("4"), None, 0.1),
    green=(by_size(percent("5"), picofarads("0.5"), 1.0, GREEN), by_size(percent("0.5"), None, 0.02, GREEN)),
    white=by_size(percent("10"), picofarads("1.0")), grey=by_size(lopsided("-20", "80"), None, 0.5),
    gold=by_size(percent("5"), None, 0.3), silver=by_size(percent("10"), None, 0.3),
)  # fmt: skip
STEEP_FIGURE = table(**{colour: Entry(colour, "first figure of the slope") for colour in DIGIT_COLOURS[1:]})
STEEP_FACTOR = table(**{colour: Entry(colour, "multiplier of the slope") for colour in DIGIT_COLOURS[:5]})

PLATE_ENDS = table(
    green=Entry(of_class("high K"), "high K"), yellow=Entry(of_class("medium K"), "medium K"),
    black=Entry(of_slope(0), "NP0"),
    brown=Entry(of_slope(-150), "-150 ppm/K", 1.0, BROWN_END), violet=Entry(of_slope(-750), "-750 ppm/K"),
)  # fmt: skip
TWO_COLOUR_ENDS = {("red", "violet"): 100, ("brown", "red"): -1500}


def two_colour_end(
    row: list[Entry], weight: float, used: tuple[tuple[str, str], ...], scheme: Scheme
) -> Candidate | None:
    ppm = TWO_COLOUR_ENDS.get((used[0][0], used[1][0]))
    if ppm is None:
        return None
    explained = ((f"{used[0][0]}/{used[1][0]}", f"{ppm:+d} ppm/K"),)
    return Candidate(scheme.notation, None, explained, weight, temperature=of_slope(ppm))


ANY_COLOUR = table(**{colour: Entry(colour, "end colour") for colour in DIGIT_COLOURS})
