"""How the colours of capacitors stand in a row, over the tables (and sources) of capacitor_colours.py."""

from __future__ import annotations

from typing import Any

from . import capacitor_colours as colours
from .bands import FIGURES, FIRST_FIGURE, BandRole, Scheme
from .candidates import Notation

POLARITY_BEAD = "with the spot facing you the positive lead is on the right; never fit a tantalum reversed"

first, figure = BandRole("figure", FIRST_FIGURE), BandRole("figure", FIGURES)
picofarads = BandRole("multiplier", colours.PICOFARAD_MULTIPLIER)
microfarads = BandRole("multiplier", colours.BEAD_MULTIPLIER)
generic = BandRole("multiplier", colours.GENERIC_MULTIPLIER)
generic_tolerance = BandRole("tolerance", colours.GENERIC_TOLERANCE)
zeros = BandRole("multiplier", colours.RMA_MULTIPLIER)
rma_volts, rma_tolerance = BandRole("volts", colours.RMA_VOLTS), BandRole("tolerance", colours.RMA_TOLERANCE)
tubular = (figure, figure, BandRole("multiplier", colours.TUBULAR_MULTIPLIER))
tubular_tolerance = BandRole("small tolerance", colours.TUBULAR_TOLERANCE)
any_end = BandRole("mark", colours.ANY_COLOUR)
dots = (
    BandRole("trait", colours.SIX_DOT_TYPE),
    figure,
    figure,
    BandRole("multiplier", colours.SIX_DOT_MULTIPLIER),
    BandRole("tolerance", colours.SIX_DOT_TOLERANCE),
)
characteristic = BandRole("temperature", {**colours.CHARACTERISTICS, **colours.NO_CHARACTERISTIC})

KEYWORDS = {
    colours.TROPICAL.name: ("polyester", "c280", "tropical", "film"),
    colours.BEAD.name: ("bead", "tantalum bead", "tantalum"),
    colours.DIPPED.name: ("dipped", "dipped tantalum", "type j", "tantalum"),
    colours.ELECTROLYTIC.name: ("electrolytic",),
    colours.LEAD_END.name: ("electrolytic", "lead end"),
    colours.GENERIC.name: ("generic", "4-band", "5-band", "eia capacitor"),
    colours.SIX_DOT.name: ("mica six", "six-dot", "six dot", "6-dot", "mica top"),
    colours.RMA.name: ("rma", "three-dot", "three dot", "3-dot", "mica"),
    colours.TUBULAR.name: ("tubular", "ceramic"),
    colours.PLATE_END.name: ("plate", "ceramic end", "end colour", "coloured end"),
}


def scheme(notation: Notation, *places: BandRole, either_end: bool = False, **more: Any) -> Scheme:
    return Scheme(notation, places, either_end=either_end, **{"keywords": KEYWORDS[notation.name], **more})


def volts(table: Any) -> BandRole:
    return BandRole("volts", table)


bead = (first, figure, microfarads)
pico = (first, figure, picofarads)
tropical = (*pico, BandRole("tolerance", colours.TROPICAL_TOLERANCE))
dipped_volts = volts(colours.DIPPED_VOLTS)
plain = (first, figure, generic)

SCHEMES = (
    scheme(colours.TROPICAL, *tropical, volts(colours.TROPICAL_VOLTS)),
    scheme(colours.TROPICAL, *tropical, weight=0.5),
    scheme(colours.BEAD, *bead, cautions=(POLARITY_BEAD,)),
    scheme(colours.BEAD, *bead, volts(colours.BEAD_VOLTS), cautions=(POLARITY_BEAD,)),
    scheme(colours.DIPPED, *pico),
    scheme(colours.DIPPED, *pico, dipped_volts),
    scheme(colours.DIPPED, *pico, dipped_volts, BandRole("tolerance", colours.DIPPED_TOLERANCE)),
    scheme(colours.ELECTROLYTIC, *bead, volts(colours.COLUMN_M), cautions=(colours.UNSURE_VOLTS,)),
    scheme(
        colours.ELECTROLYTIC, *bead, volts(colours.COLUMN_N), weight=0.8, cautions=(colours.UNSURE_VOLTS,)
    ),
    scheme(colours.LEAD_END, *bead, volts(colours.LEAD_END_VOLTS), cautions=(colours.UNSURE_VOLTS,)),
    scheme(colours.GENERIC, *plain, weight=0.3, either_end=True),
    scheme(colours.GENERIC, *plain, generic_tolerance, either_end=True),
    scheme(
        colours.GENERIC, *plain, generic_tolerance, volts(colours.GENERIC_VOLTS), weight=0.5, either_end=True
    ),
    scheme(
        colours.GENERIC,
        *plain,
        generic_tolerance,
        volts(colours.COLUMN_K),
        weight=0.3,
        either_end=True,
        keywords=(*KEYWORDS[colours.GENERIC.name], "type k", "mica"),
    ),
    scheme(colours.SIX_DOT, *dots, make=colours.six_dot),
    scheme(colours.SIX_DOT, *dots, characteristic, make=colours.six_dot),
    scheme(
        colours.SIX_DOT,
        *dots,
        characteristic,
        volts(colours.GENERIC_VOLTS),
        BandRole("trait", colours.TEMPERATURE_RANGE),
        BandRole("trait", colours.VIBRATION),
    ),
    scheme(colours.RMA, figure, figure, zeros, make=colours.three_dot),
    scheme(colours.RMA, figure, figure, zeros, rma_volts, rma_tolerance),
    scheme(
        colours.RMA,
        figure,
        figure,
        figure,
        rma_volts,
        rma_tolerance,
        zeros,
        weight=0.3,
        cautions=("the exact dot order of the six-dot RMA form is not confirmed",),
    ),
    scheme(
        colours.TUBULAR,
        BandRole("temperature", colours.COEFFICIENT),
        *tubular,
        tubular_tolerance,
        either_end=True,
    ),
    scheme(
        colours.TUBULAR,
        BandRole("mark", colours.STEEP_FIGURE),
        BandRole("mark", colours.STEEP_FACTOR),
        *tubular,
        tubular_tolerance,
        weight=0.2,
        either_end=True,
        cautions=("six-band tubular ceramics: the two slope bands are from memory and not computed",),
    ),
    scheme(colours.PLATE_END, BandRole("temperature", colours.PLATE_ENDS)),
    scheme(colours.PLATE_END, any_end, any_end, make=colours.two_colour_end),
)
