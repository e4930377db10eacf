"""`boards/{id}/links/`: what each link must be, how it stands, and the evidence."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer
from inventory.refusals import Code
from repairs import bringing_up, readiness
from repairs.api.of_board import OfBoard, one_of
from repairs.proving import confirmations
from repairs.proving import links as rules

STATES = (rules.AGREES, rules.CONFLICT, rules.UNDECIDED, rules.FREE, rules.UNSAID, rules.CONTRADICTION)
LINK = {
    "link": "LK1", "purpose": "EPROM pin 21", "settings": ["1-2", "2-3"], "state": "conflict",
    "required": "1-2", "present": "2-3", "refs": ["IC10", "IC11"],
    "reason": "1-2 is required: IC10 is Texas Instruments 2716; it stands at 2-3",
    "evidence": ["IC10 is Texas Instruments 2716 (marked TMS2716JL-45 8145)"],
    "written": 12,
}  # fmt: skip
SENT = {"settings": {"LK1": "1-2", "LK2": "1-2"}, "note": "moved to suit the TMS parts"}


class LinkSerializer(serializers.Serializer[Any]):
    link = serializers.CharField()
    purpose = serializers.CharField(allow_blank=True)
    settings = serializers.ListField(child=serializers.CharField())
    state = one_of(STATES)
    present = serializers.CharField(allow_blank=True, help_text="Blank: not recorded.")
    refs = serializers.ListField(child=serializers.CharField())
    reason = serializers.CharField()
    evidence = serializers.ListField(child=serializers.CharField())
    written = serializers.IntegerField(
        allow_null=True, help_text="What says how it stands, to be taken back; null: nothing does."
    )

    def get_fields(self) -> dict[str, Any]:
        # Not declared above: `required` is a field's own name for something else.
        required = serializers.CharField(
            allow_blank=True, help_text="Blank: nothing is asked, or it is unknown."
        )
        return {**super().get_fields(), "required": required}


@extend_schema_serializer(
    examples=[OpenApiExample("Set for another make", {"board": 9, "links": [LINK]}, response_only=True)]
)
class LinksSerializer(serializers.Serializer[Any]):
    board = serializers.IntegerField()
    links = LinkSerializer(many=True)


@extend_schema_serializer(examples=[OpenApiExample("Two links", SENT, request_only=True)])
class LinkSettingsSerializer(StrictSerializer):
    """How links stand now: link -> setting, of those that the drawing has."""

    settings = serializers.DictField(child=serializers.CharField(max_length=120))
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def validate_settings(self, settings: dict[str, str]) -> dict[str, str]:
        if not 0 < len(settings) <= 200:
            raise serializers.ValidationError("expected 1 to 200 links", Code.REQUIRED)
        return settings


class BoardLinks(OfBoard):
    @extend_schema(responses=LinksSerializer, operation_id="boards_links_list")
    def get(self, request: Request, pk: int) -> Response:
        """Each link of the board's drawing: required and present setting, conflict, and why."""
        return Response(self.answer())

    @extend_schema(
        request=LinkSettingsSerializer, responses={201: LinksSerializer}, operation_id="boards_links_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Write down how links stand; answered with what each must be."""
        read = LinkSettingsSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        bringing_up.set_links(
            self.board, data["settings"], by=self.person, note=data.get("note", ""), seen=self.seen
        )
        return Response(self.answer(), status=201)

    def answer(self) -> dict[str, Any]:
        facts = readiness.facts_of(self.board)
        drawn = {link.name: link for link in facts.design.links} if facts.design else {}
        standing = self.board.link_settings.filter(withdrawn=None).order_by("id")
        written = dict(standing.values_list("link", "id"))
        links = [
            {
                **vars(found),
                "purpose": drawn[found.link].purpose,
                "settings": drawn[found.link].settings,
                "written": written.get(found.link) if found.present else None,
            }
            for found in confirmations.link_findings(facts)
        ]
        return {"board": self.board.pk, "links": LinkSerializer(links, many=True).data}
