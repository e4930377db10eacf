"""Links, rails and banks of a design as the document describes them; `inventory.design_facts` reads them."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.design_facts import HAZARDS, MAX_ENTRIES, MAX_TEXT, PROPERTIES


class EntryField(serializers.JSONField):
    """An entry of a design, as it was sent: the one reader says what is wrong with it."""

    def to_internal_value(self, data: Any) -> Any:
        return data


@extend_schema_field(
    {"oneOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}]}
)
class AnyOfTexts(EntryField):
    """A text, or several of which any."""


@extend_schema_field({"type": ["string", "integer"], "maxLength": 12})
class FigureField(EntryField):
    """Volts or ohms: a decimal as text, or a whole number."""


def _text(*, needed: bool = False, about: str = "") -> serializers.CharField:
    return serializers.CharField(
        required=needed, allow_blank=not needed, max_length=MAX_TEXT, help_text=about
    )


def _refs(about: str, *, needed: bool = False) -> serializers.ListField:
    return serializers.ListField(
        child=serializers.CharField(),
        required=needed,
        min_length=int(needed),
        max_length=MAX_ENTRIES,
        help_text=about,
    )


def _count(about: str = "") -> serializers.IntegerField:
    return serializers.IntegerField(required=False, min_value=0, max_value=MAX_ENTRIES, help_text=about)


class DesignWhenSerializer(serializers.Serializer[Any]):
    """What must hold of the parts that are fitted at `ref`, or all over `bank`."""

    ref = serializers.CharField(required=False, help_text="A position of the design.")
    bank = serializers.CharField(required=False, help_text="A bank of the design, instead of `ref`.")
    number = AnyOfTexts(required=False)
    make = AnyOfTexts(required=False)
    suffix = AnyOfTexts(required=False)
    half = AnyOfTexts(required=False)
    count = _count("How many of the bank are fitted.")


class DesignLinkRuleSerializer(serializers.Serializer[Any]):
    setting = serializers.CharField(help_text="One of the link's settings.")
    when = DesignWhenSerializer()
    note = _text()


class DesignLinkSerializer(serializers.Serializer[Any]):
    """A wire link or jumper; without rules it is a choice of the user's."""

    name = _text(needed=True)
    purpose = _text()
    settings = serializers.ListField(child=serializers.CharField(), min_length=1, max_length=MAX_ENTRIES)
    rules = DesignLinkRuleSerializer(many=True, required=False)
    note = _text()


class DesignRailSerializer(serializers.Serializer[Any]):
    """A supply rail with its window."""

    name = _text(needed=True)
    nominal = FigureField(help_text="In volts.")
    low = FigureField(help_text="In volts.")
    high = FigureField(help_text="In volts.")
    order = _count("In which it is proven.")
    at = _text(about="Where to measure.")
    protects = _refs("Positions that stay empty until it is proven.")
    ohms_low = FigureField(required=False, help_text="To ground, of a sound board.")
    ohms_high = FigureField(required=False, help_text="To ground, of a sound board.")
    note = _text()


class DesignSpanSerializer(serializers.Serializer[Any]):
    """A stretch of addresses, and which position holds which bit."""

    start = serializers.RegexField("^[0-9A-Fa-f]{1,8}$", help_text="Hexadecimal.")
    end = serializers.RegexField("^[0-9A-Fa-f]{1,8}$", help_text="Hexadecimal.")
    bits = serializers.DictField(child=serializers.CharField(), help_text='As in {"D0-D3": "IC12"}.')
    note = _text()


class DesignBankSerializer(serializers.Serializer[Any]):
    """Chips that belong together."""

    name = _text(needed=True)
    refs = _refs("Its positions.", needed=True)
    equal = serializers.ListField(
        child=serializers.ChoiceField(PROPERTIES), required=False, help_text="What is alike over all of them."
    )
    counts = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=MAX_ENTRIES),
        required=False,
        help_text="How many may be fitted.",
    )
    map = DesignSpanSerializer(many=True, required=False)
    note = _text()


@extend_schema_field(DesignWhenSerializer)
class WhenField(EntryField):
    pass


@extend_schema_field(DesignLinkSerializer)
class LinkField(EntryField):
    pass


@extend_schema_field(DesignRailSerializer)
class RailField(EntryField):
    pass


@extend_schema_field(DesignBankSerializer)
class BankField(EntryField):
    pass


@extend_schema_field({"type": "string", "enum": list(HAZARDS)})
class HazardField(EntryField):
    pass


def entries_of(child: EntryField, about: str) -> serializers.ListField:
    """A list of such entries in the body of a design."""
    return serializers.ListField(child=child, required=False, max_length=MAX_ENTRIES, help_text=about)
