"""What a part is, what a place requires, and whether the one will do for the other. No Django here."""

from inventory.spec.fields import Problem
from inventory.spec.fits import Fit, fits
from inventory.spec.judging import GRADES, UNKNOWN, Reason
from inventory.spec.quantities import (
    UNITS,
    AmbiguousValue,
    UnreadableValue,
    parse_value,
    plain_value,
    print_value,
    values_in_text,
)
from inventory.spec.recorded import Recorded, Substitution
from inventory.spec.spec import Spec, SpecError
from inventory.spec.traits import KINDS, TRAITS
from inventory.spec.values import value_window

__all__ = [
    "GRADES",
    "KINDS",
    "TRAITS",
    "UNITS",
    "UNKNOWN",
    "AmbiguousValue",
    "Fit",
    "Problem",
    "Reason",
    "Recorded",
    "Spec",
    "SpecError",
    "Substitution",
    "UnreadableValue",
    "fits",
    "parse_value",
    "plain_value",
    "print_value",
    "value_window",
    "values_in_text",
]
