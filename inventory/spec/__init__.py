"""What a part is, what a place requires, and whether the one will do for the other. No Django here."""

from inventory.spec.by_number import of_type, of_type_text
from inventory.spec.fields import FieldProblem
from inventory.spec.fits import Fit, fits, search_window, serving_window, value_window
from inventory.spec.judging import GRADES, UNKNOWN, Reason
from inventory.spec.kinds import KINDS as _KINDS
from inventory.spec.quantities import (
    UNITS,
    AmbiguousValue,
    UnreadableValue,
    parse_value,
    plain_value,
    print_value,
    values_in_text,
)
from inventory.spec.recorded import Recorded, SubstitutionRecord
from inventory.spec.safety import is_safety_part
from inventory.spec.spec import Spec, SpecError

KINDS = tuple(_KINDS)
TRAITS = {name: kind.traits for name, kind in _KINDS.items()}

__all__ = [
    "GRADES",
    "KINDS",
    "TRAITS",
    "UNITS",
    "UNKNOWN",
    "AmbiguousValue",
    "Fit",
    "FieldProblem",
    "Reason",
    "Recorded",
    "Spec",
    "SpecError",
    "SubstitutionRecord",
    "UnreadableValue",
    "fits",
    "is_safety_part",
    "of_type",
    "of_type_text",
    "parse_value",
    "plain_value",
    "print_value",
    "search_window",
    "serving_window",
    "value_window",
    "values_in_text",
]
