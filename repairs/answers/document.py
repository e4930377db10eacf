"""Answers in the OpenAPI document: what pydantic says of them, as components."""

from typing import Any

from drf_spectacular.drainage import set_override
from drf_spectacular.extensions import OpenApiSerializerExtension
from drf_spectacular.plumbing import ResolvedComponent
from pydantic.json_schema import GenerateJsonSchema

from inventory.answers import COMPONENT, adapter
from inventory.api.designs import ReasonSerializer
from inventory.api.fields import SpecSerializer
from repairs.answers.log_lines import LineSerializer
from repairs.answers.trial_parts import TrialCautionSerializer, TrialReasonSerializer, UnsettledSerializer

_REF = "#/components/schemas/"
_ELSEWHERE = {
    "Line": LineSerializer, "Spec": SpecSerializer, "Reason": ReasonSerializer,
    "TrialReason": TrialReasonSerializer, "TrialCaution": TrialCautionSerializer,
    "Unsettled": UnsettledSerializer,
}  # fmt: skip
"""Name of a component that a serializer describes -> that serializer."""


class _EveryField(GenerateJsonSchema):
    """A field of an answer is in it although it has a default where it is made, but for one that says when it
    is left out.
    """

    def field_is_required(self, field: Any, total: bool) -> bool:
        return "serialization_exclude_if" not in field

    def default_schema(self, schema: Any) -> Any:
        return self.generate_inner(schema["schema"])


class AnswerExtension(OpenApiSerializerExtension):  # type: ignore[no-untyped-call]
    target_class = "inventory.answers.Answer"
    match_subclasses = True

    def get_name(self, auto_schema: Any, direction: Any) -> str:
        set_override(self.target, "suppress_collision_warning", True)
        return str(self.target.__name__)

    def map_serializer(self, auto_schema: Any, direction: Any) -> Any:
        whole = adapter(self.target).json_schema(
            mode="serialization",
            by_alias=True,
            ref_template=f"{_REF}{{model}}",
            schema_generator=_EveryField,
        )
        for name, part in whole.pop("$defs", {}).items():
            described = self._described(auto_schema, direction, part)
            auto_schema.registry.register_on_missing(
                ResolvedComponent(name, ResolvedComponent.SCHEMA, described, name)  # type: ignore[no-untyped-call]
            )
        return self._described(auto_schema, direction, whole)

    def _described(self, auto_schema: Any, direction: Any, schema: Any) -> Any:
        """The schema with references to what is described elsewhere, without the titles that repeat names."""
        match schema:
            case {"x-component": name}:
                return auto_schema.resolve_serializer(_ELSEWHERE[name], direction).ref
            case dict():
                return {
                    key: self._described(auto_schema, direction, value)
                    for key, value in schema.items()
                    if key != "title" or not isinstance(value, str)
                }
            case list():
                return [self._described(auto_schema, direction, each) for each in schema]
        return schema


assert COMPONENT == "x-component"  # the pattern above
