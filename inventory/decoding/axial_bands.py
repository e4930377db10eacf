"""Colour bands on inductors (EIA, MIL, one choke family) and on diodes (the figures of the 1N number).

Sources: EIA inductor code: a maker's page (Token), the rest from memory; MIL-C-15305, from memory; the
choke family with the point between the figures: common practice, no source; diodes: EIA RS-236, from
memory.
"""

from __future__ import annotations

from .bands import DIGIT_COLOURS, FIGURES, FIRST_FIGURE, BandRole, Entry, Scheme, table
from .candidates import Candidate, NamedType, Notation, percent

MICROHENRY = 10**6
EIA = Notation("inductor colour bands", "EIA", "inductor", 1.0, {"axial": 1.5})
MIL = Notation("inductor colour bands, military", "MIL-C-15305", "inductor", 1.0, {"military": 2})
CHOKE = Notation("inductor bands, point after the first figure", "one choke maker", "inductor", 0.03)
DIODE = Notation("diode colour bands", "JEDEC EIA-236", "diode", 0.05, {"axial": 1.5}, until=1990)

MULTIPLIER = table(
    **{
        colour: Entry((MICROHENRY * 10**power, 1), f"x10^{power} µH", 1.0 if power < 5 else 0.1)
        for power, colour in enumerate(DIGIT_COLOURS[:7])
    },
    gold=Entry((MICROHENRY, 10), "x0.1 µH"),
    silver=Entry((MICROHENRY, 100), "x0.01 µH", 0.7),
)
TOLERANCE = table(
    **{
        colour: Entry(percent(amount), f"±{amount} %", weight)
        for colour, amount, weight in (
            ("gold", "5", 1.0), ("silver", "10", 1.0), ("black", "20", 0.7), ("none", "20", 0.5), ("brown",
            "1", 0.15),
            ("red", "2", 0.15), ("orange", "3", 0.1), ("yellow", "4", 0.05),
        )
    }
)  # fmt: skip
MARKER = table(silver=Entry(None, "military part; the start"))
POINT = table(gold=Entry(None, "decimal point"))
GOLD_MULTIPLIER = table(
    gold=(
        Entry(
            (MICROHENRY, 100),
            "x0.01 µH",
            0.05,
            "one page counts gold here as x0.01; by the MIL rule gold cannot stand here",
        ),
        Entry(
            (MICROHENRY, 10), "x0.1 µH", 0.02, "gold here is illegal by the MIL rule; x0.1 as in the EIA code"
        ),
    )
)
MIL_MULTIPLIER = table(
    **{
        colour: Entry((MICROHENRY * 10**power, 1), f"x10^{power} µH")
        for power, colour in enumerate(DIGIT_COLOURS[:5])
    }
)

first, figure = BandRole("figure", FIRST_FIGURE), BandRole("figure", FIGURES)
multiplier, tolerance = BandRole("multiplier", MULTIPLIER), BandRole("tolerance", TOLERANCE)
marker, point = BandRole("mark", MARKER), BandRole("mark", POINT)


def pointed(
    row: list[Entry], weight: float, used: tuple[tuple[str, str], ...], scheme: Scheme
) -> Candidate | None:
    """Military bands with a gold band as the point: below 10 µH."""
    number = "".join("." if each.amount is None else str(each.amount) for each in row[1:4])
    whole, _, fraction = number.partition(".")
    value = int(whole + fraction or "0") * MICROHENRY // 10 ** len(fraction)
    if not value:
        return None
    last = row[4] if len(row) > 4 else None
    return Candidate(scheme.notation, value, used, weight, last.amount if last else None)


INDUCTOR_SCHEMES = (
    Scheme(EIA, (first, figure, multiplier), 0.3, missing_tolerance=percent("20")),
    Scheme(EIA, (first, figure, multiplier, tolerance)),
    Scheme(MIL, (marker, point, figure, figure), either_end=False, make=pointed),
    Scheme(MIL, (marker, figure, point, figure), either_end=False, make=pointed),
    Scheme(MIL, (marker, first, figure, BandRole("multiplier", MIL_MULTIPLIER)), 0.5, either_end=False),
    Scheme(MIL, (marker, point, figure, figure, tolerance), either_end=False, make=pointed),
    Scheme(MIL, (marker, figure, point, figure, tolerance), either_end=False, make=pointed),
    Scheme(MIL, (marker, first, figure, BandRole("multiplier", MIL_MULTIPLIER), tolerance), either_end=False),
    Scheme(
        MIL, (marker, first, figure, BandRole("multiplier", GOLD_MULTIPLIER), tolerance), either_end=False
    ),
    Scheme(CHOKE, (first, figure, multiplier), 0.3, missing_tolerance=percent("20"), point_after_first=True,
           keywords=("es24", "choke", "point after")),
    Scheme(CHOKE, (first, figure, multiplier, tolerance), point_after_first=True, keywords=("es24", "choke",
    "point after")),
)  # fmt: skip

SUFFIX = table(
    black=Entry("", "no suffix", 0.5),
    **{
        colour: Entry(
            letter,
            f"suffix {letter}",
            0.5 if letter in "ABC" else 0.05,
            "" if letter in "ABC" else "suffix from memory",
        )
        for colour, letter in zip(DIGIT_COLOURS[1:], "ABCDEFGHJ", strict=True)
    },
)


def type_number(
    row: list[Entry], weight: float, used: tuple[tuple[str, str], ...], scheme: Scheme
) -> Candidate:
    number = "1N" + "".join(str(each.amount) for each in row)
    cautions = (
        *(each.caution for each in row if each.caution),
        *scheme.cautions,
        "start at the wide band, the cathode; some texts read the other way",
    )
    if weight and number[2] == "0":
        weight *= 0.01
    return Candidate(scheme.notation, None, used, weight, cautions=cautions, type=NamedType(number))


suffix = BandRole("suffix", SUFFIX)
# Numbers of two figures have a black band in front (JEDEC EIA-236, from memory).
lead = BandRole("mark", table(black=Entry("", "two figures follow")))
DIODE_SCHEMES = (
    Scheme(DIODE, (lead, first, figure), 0.6, make=type_number),
    Scheme(DIODE, (lead, first, figure, suffix), 0.6, make=type_number),
    Scheme(DIODE, (first, figure), 0.5, make=type_number),
    Scheme(DIODE, (first, figure, suffix), 0.4, make=type_number),
    Scheme(DIODE, (first, figure, figure), 1.0, make=type_number),
    Scheme(DIODE, (first, figure, figure, suffix), 0.2, make=type_number),
    Scheme(DIODE, (first, figure, figure, figure), 1.0, make=type_number),
    Scheme(DIODE, (first, figure, figure, figure, suffix), 1.0, make=type_number),
)
