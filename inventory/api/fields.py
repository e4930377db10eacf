"""Fields that every noun shares: a Spec flat or nested, a row by its id, a body that refuses the unknown."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from inventory.designs import is_ref
from inventory.models import REF_LENGTH, Part, StoredSpec
from inventory.refusals import Code
from inventory.spec import KINDS, FieldProblem, Spec, SpecError, of_type
from inventory.spec.spec import READ_ONLY

FIGURE = r"^[0-9]{1,5}(\.[0-9]{1,4})?$"


class RowField(serializers.PrimaryKeyRelatedField[Any]):
    """A row by its id: a whole number, nothing that only turns into one."""

    default_error_messages = {
        "does_not_exist": "there is none with the id {pk_value}",
        "incorrect_type": "expected an id, found {data_type}",
    }

    def to_internal_value(self, data: Any) -> Any:
        digits = isinstance(data, str) and data.isascii() and data.isdigit()
        if isinstance(data, bool) or not (isinstance(data, int) or digits):
            self.fail("incorrect_type", data_type=type(data).__name__)
        if not 0 < len(str(data)) <= 18:
            self.fail("does_not_exist", pk_value="…")
        return super().to_internal_value(int(data))


class TrueOrFalse(serializers.BooleanField):
    """`true` or `false` and no word that only might mean one."""

    def to_internal_value(self, data: Any) -> bool:
        if not isinstance(data, bool):
            raise ValidationError([ErrorDetail("expected true or false", Code.INVALID)])
        return data


class RefField(serializers.CharField):
    """A reference designator such as R7; blank where the place has no positions."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_blank": True, "max_length": REF_LENGTH, **options})

    def to_internal_value(self, data: Any) -> str:
        ref = super().to_internal_value(data)
        if ref and not is_ref(ref):
            raise ValidationError([ErrorDetail("expected one reference such as R7", Code.UNREADABLE)])
        return ref


@contextmanager
def errors_together(problems: Mapping[str, Any]) -> Iterator[None]:
    """What is wrong already is told with whatever else is found wrong."""
    try:
        yield
    except ValidationError as wrong:
        if not isinstance(wrong.detail, dict):
            raise
        raise ValidationError({**problems, **wrong.detail}) from None
    if problems:
        raise ValidationError(dict(problems))


class StrictSerializer(serializers.Serializer[Any]):
    """A body whose unknown members are refused; what is only read may be sent back and is passed over."""

    def to_internal_value(self, data: Any) -> Any:
        with errors_together(self.unknown_members(data) if isinstance(data, Mapping) else {}):
            return super().to_internal_value(data)

    def unknown_members(self, data: Mapping[str, Any]) -> dict[str, list[ErrorDetail]]:
        return {
            name: [ErrorDetail(f"unknown field; expected {', '.join(self.fields)}", Code.UNKNOWN)]
            for name in data
            if name not in self.fields
        }


class SpecFields(serializers.Serializer[Any]):
    """The members of a Spec, as the document describes them; `Spec.from_dict` reads them."""

    kind = serializers.ChoiceField(KINDS)
    number = serializers.CharField(required=False, allow_blank=True, max_length=64)
    value = serializers.CharField(
        required=False, allow_null=True, help_text="Any notation; answered as a plain decimal of the unit."
    )
    tolerance_percent = serializers.RegexField(FIGURE, required=False, allow_null=True)
    volts = serializers.RegexField(FIGURE, required=False, allow_null=True)
    watts = serializers.RegexField(FIGURE, required=False, allow_null=True)
    amps = serializers.RegexField(FIGURE, required=False, allow_null=True)
    dielectric = serializers.CharField(required=False, allow_blank=True, max_length=32)
    package = serializers.CharField(required=False, allow_blank=True, max_length=64)
    lead_style = serializers.CharField(required=False, allow_blank=True, max_length=32)
    pitch_mm = serializers.RegexField(FIGURE, required=False, allow_null=True)
    polarised = serializers.BooleanField(required=False, allow_null=True)
    safety_class = serializers.CharField(required=False, allow_blank=True, max_length=32)
    speed_ns = serializers.RegexField(FIGURE, required=False, allow_null=True)
    make = serializers.CharField(required=False, allow_blank=True, max_length=64)
    traits = serializers.DictField(required=False, help_text="By kind: polarity, gain, organisation …")
    value_text = serializers.CharField(read_only=True, help_text="As the trade writes it: 4k7.")
    spec_text = serializers.CharField(read_only=True, help_text="The one-line reading.")
    of_type = serializers.DictField(
        child=serializers.CharField(),
        required=False,
        help_text="What the type number adds. What is sent of it is passed over.",
    )


SPEC_NAMES = tuple(SpecFields().fields)


class SpecSerializer(SpecFields):
    """A Spec as a member of its own: an object in, a Spec for the code, an object out."""

    def to_internal_value(self, data: Any) -> Spec:
        try:
            return Spec.from_dict(data)
        except SpecError as wrong:
            raise ValidationError(by_member(wrong.problems)) from None

    def to_representation(self, instance: StoredSpec | Spec) -> dict[str, Any]:
        spec = instance if isinstance(instance, Spec) else instance.spec
        return spec.to_dict() | {"of_type": of_type(spec)}


class FlatSpecSerializer(SpecFields, StrictSerializer):
    """A row whose Spec lies flat among its own members; the Spec comes out as `validated_data["spec"]`.

    The row has its StoredSpec as `spec`.  In a PATCH what is not sent stays as it is.
    """

    @property
    def _writable_fields(self) -> list[serializers.Field[Any, Any, Any, Any]]:
        return [field for field in super()._writable_fields if field.field_name not in SPEC_NAMES]

    @property
    def _readable_fields(self) -> list[serializers.Field[Any, Any, Any, Any]]:
        return [field for field in super()._readable_fields if field.field_name not in SPEC_NAMES]

    def to_internal_value(self, data: Any) -> Any:
        problems: dict[str, Any] = {}
        spec = None
        if isinstance(data, Mapping):
            try:
                spec = self._spec({name: data[name] for name in SPEC_NAMES if name in data})
            except SpecError as wrong:
                problems = by_member(wrong.problems)
        with errors_together(problems):
            read = super().to_internal_value(data)
        if spec is not None:
            read["spec"] = spec
        return read

    def _spec(self, sent: Mapping[str, Any]) -> Spec | None:
        if not self.partial:
            return Spec.from_dict(sent)
        if not sent.keys() - {*READ_ONLY}:
            return None
        known = self.instance.spec.spec.to_dict() if self.instance is not None else {}
        if sent.get("kind", known.get("kind")) != known.get("kind"):
            if known["value"] is not None and "value" not in sent:
                raise SpecError(
                    [FieldProblem("/value", Code.REQUIRED, "the kind changes: say the value too")]
                )
            known = {name: fact for name, fact in known.items() if name != "traits"}
        if "value" in sent:
            known.pop("value_text")
        return Spec.from_dict({**known, **sent})

    def to_representation(self, instance: Any) -> dict[str, Any]:
        shown: dict[str, Any] = super().to_representation(instance)
        spec = instance.spec.spec
        shown.update(spec.to_dict(), of_type=of_type(spec))
        return shown


def by_member(problems: Iterable[FieldProblem]) -> dict[str, Any]:
    """Problems with pointers as the framework nests them."""
    nested: dict[str, Any] = {}
    for problem in problems:
        *above, last = [
            name.replace("~1", "/").replace("~0", "~") for name in problem.pointer.split("/")[1:]
        ] or ["non_field_errors"]
        inner = nested
        for name in above:
            inner = inner.setdefault(name, {})
            if isinstance(inner, list):  # the whole was refused already
                break
        else:
            details = inner.setdefault(last, [])
            if isinstance(details, list):
                details.append(ErrorDetail(problem.detail, problem.code))
    return nested


class PartField(serializers.Field[Any, Any, int, Any]):
    """A part: by its id, or a Spec object to find it or make it.  Answered as the id.

    The Spec is kept only when the request goes through: the view calls `Part.of` on it.
    """

    def to_internal_value(self, data: Any) -> Part | Spec:
        if isinstance(data, Mapping):
            return SpecSerializer().to_internal_value(data)
        by_id = RowField(queryset=Part.objects.select_related("spec"))
        by_id.bind("part", self.parent)
        part: Part = by_id.to_internal_value(data)
        return part

    def to_representation(self, value: Part) -> int:
        return value.pk


def kept_part(part: Part | Spec) -> Part:
    """The part that a PartField read."""
    return part if isinstance(part, Part) else Part.of(part)


class PartFieldInDocument(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]
    target_class = PartField

    def map_serializer_field(self, auto_schema: Any, direction: str) -> dict[str, Any]:
        if direction == "response":
            return {"type": "integer"}
        return {"oneOf": [{"type": "integer"}, auto_schema.resolve_serializer(SpecSerializer, direction).ref]}
