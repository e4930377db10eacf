"""Parts of answers about trials: reasons of a verdict, what keeps a failure from being believed, cautions."""

from typing import Annotated, Any

from pydantic import WithJsonSchema
from rest_framework import serializers

from inventory.answers import COMPONENT
from repairs.proving.cautions import Caution


class TrialReasonSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    detail = serializers.CharField()

    def get_fields(self) -> dict[str, Any]:
        # Not declared above: `source` is a field's own name for where it reads from.
        source = serializers.CharField(allow_blank=True, help_text="Where the figure comes from.")
        return {**super().get_fields(), "source": source}


class UnsettledSerializer(serializers.Serializer[Any]):
    check = serializers.CharField()
    subject = serializers.CharField(allow_blank=True)
    state = serializers.CharField()
    reason = serializers.CharField(allow_blank=True)


class TrialCautionSerializer(serializers.Serializer[Any]):
    step = serializers.CharField()
    text = serializers.CharField()
    blocked = serializers.BooleanField(help_text="It is not done here at all.")


TrialReasons = Annotated[
    list[dict[str, str]], WithJsonSchema({"type": "array", "items": {COMPONENT: "TrialReason"}})
]
StillUnsettled = Annotated[
    list[dict[str, str]], WithJsonSchema({"type": "array", "items": {COMPONENT: "Unsettled"}})
]
Cautions = Annotated[list[Caution], WithJsonSchema({"type": "array", "items": {COMPONENT: "TrialCaution"}})]
