"""Filters by what a part is, for every list whose rows have a Spec."""

from typing import Any

from django.db.models import Q, QuerySet
from django_filters import CharFilter

from inventory.api.lists import AnyOfFilter, AskedFilters, bad_query
from inventory.refusals import Code
from inventory.spec import KINDS, UNITS, AmbiguousValue, UnreadableValue, parse_value

LOOKUPS = {"value": "value", "value_min": "value__gte", "value_max": "value__lte"}


class SpecFilters(AskedFilters):
    """`spec_path` leads from the row to its StoredSpec, with the "__" at its end."""

    spec_path = "spec__"

    kind = AnyOfFilter(choices=[(kind, kind) for kind in KINDS], method="one_of")
    number = CharFilter(method="word", help_text="The type number, whatever its case.")
    make = CharFilter(method="word", help_text="The maker, whatever the case.")
    dielectric = CharFilter(method="word")
    package = CharFilter(method="word")
    lead_style = CharFilter(method="word")
    safety_class = CharFilter(method="word")
    value = CharFilter(method="by_value", help_text="Any notation; without a kind, of every kind it can be.")
    value_min = CharFilter(method="by_value", help_text="At least; needs the kind, or a value with its unit.")
    value_max = CharFilter(method="by_value", help_text="At most; needs the kind, or a value with its unit.")

    def one_of(self, rows: QuerySet[Any], name: str, values: list[str]) -> QuerySet[Any]:
        return rows.filter(**{f"{self.spec_path}{name}__in": values}) if values else rows

    def word(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(**{f"{self.spec_path}{name}__iexact": value})

    def by_value(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        readings = self._readings(name, value)
        if name != "value" and len({(UNITS[kind][0], units) for kind, units in readings}) > 1:
            listed = ", ".join(sorted({kind for kind, _units in readings}))
            detail = f"{value[:40]} could be of {listed}: say kind=, or write it with its unit"
            raise bad_query(name, detail, Code.AMBIGUOUS)
        found = Q(pk__in=[])
        for kind, units in readings:
            found |= Q(**{f"{self.spec_path}kind": kind, f"{self.spec_path}{LOOKUPS[name]}": units})
        return rows.filter(found)

    def _readings(self, name: str, text: str) -> list[tuple[str, int]]:
        """Each (kind, units) that the text can mean, of the kinds asked for; BadQuery where there is none."""
        asked = self.form.cleaned_data.get("kind")
        found: list[tuple[str, int]] = []
        refused: UnreadableValue | None = None
        for kind in asked or UNITS:
            if kind not in UNITS:
                refused = refused or UnreadableValue(text, f"a {kind} has no value")
                continue
            try:
                found.append((kind, parse_value(kind, text)))
            except AmbiguousValue as wrong:
                if asked:
                    raise bad_query(name, str(wrong), Code.AMBIGUOUS) from None
                found.extend((kind, units) for _written, units in wrong.choices)
            except UnreadableValue as wrong:
                refused = wrong
        if not found:
            wanted = str(refused) if asked else "expected a value such as 4k7, 100n, 4.7 µH or 4.096 MHz"
            raise bad_query(name, wanted)
        return found
