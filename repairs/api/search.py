"""`search/?q=`: everything on the bench that a text could mean, as the box on the pages finds it."""

from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.lists import bad_query, whole_number
from inventory.api.photos import taken_in
from inventory.api.viewsets import Conventions
from inventory.label_codes import read_codes
from inventory.roles import OWNER, VIEWER, may_act_as
from repairs.api.of_board import one_of
from repairs.search import EACH, LONGEST, MAX_EACH, SORTS, opens, search

EXAMPLE = {
    "opens": "",
    "results": [
        {
            "type": "position", "id": 3, "label": "R47", "what": "4k7 5 % 0.25 W resistor, axial",
            "where": "Plover donor", "page": "/boards/3/?ref=R47",
        }
    ],
    "more": 0,
}  # fmt: skip

CODES = {"codes": ["http://bench.local:8000/lots/58/"], "opens": "/lots/58/"}


class MatchSerializer(serializers.Serializer[Any]):
    type = one_of(SORTS)
    id = serializers.IntegerField(help_text="Of a position: its board.")
    label = serializers.CharField()  # type: ignore[assignment]  # a field's own name on its class
    what = serializers.CharField(allow_blank=True)
    where = serializers.CharField(allow_blank=True)
    page = serializers.CharField(help_text="The address of its page on this server.")


class MatchesSerializer(serializers.Serializer[Any]):
    opens = serializers.CharField(
        allow_blank=True, help_text="The one page that a label's address or `lot 58` names; then no results."
    )
    results = MatchSerializer(many=True)
    more = serializers.IntegerField(help_text="Matches beyond those listed, at least.")


class SearchView(Conventions):
    """Anything on the bench by what one remembers of it."""

    query_parameters = (
        OpenApiParameter(
            "q", {"type": "string", "minLength": 1, "maxLength": LONGEST}, required=True,
            description="A reference, value, marking, type, board, job, drawer, person; or what a label's "
            "code holds.",
        ),
        OpenApiParameter(
            "limit", {"type": "integer", "minimum": 1, "maximum": MAX_EACH, "default": EACH},
            description="Matches listed of each type, at most.",
        ),
    )  # fmt: skip

    @extend_schema(
        operation_id="search",
        responses=MatchesSerializer,
        examples=[OpenApiExample("A reference", EXAMPLE, response_only=True)],
        tags=["search"],
    )
    def get(self, request: Request) -> Response:
        text = request.query_params.get("q", "")
        if not text.strip() or len(text) > LONGEST or "\x00" in text:
            raise bad_query("q", f"a text of 1 to {LONGEST} characters is searched for")
        answer = search(
            text,
            each=whole_number(request, "limit", EACH, MAX_EACH),
            people=may_act_as(request.user, OWNER),
        )
        return Response(
            {"opens": answer.opens, "results": [asdict(each) for each in answer.matches], "more": answer.more}
        )


class CodePictureSerializer(serializers.Serializer[Any]):
    file = serializers.FileField(help_text="A JPEG, PNG or WebP with the label in it.")


class CodesSerializer(serializers.Serializer[Any]):
    codes = serializers.ListField(
        child=serializers.CharField(), help_text="What the codes say, largest first."
    )
    opens = serializers.CharField(allow_blank=True, help_text="The page that the first of them names.")


class CodesView(Conventions):
    write_role = VIEWER  # it keeps nothing
    parser_classes = (MultiPartParser,)

    @extend_schema(
        operation_id="search_picture",
        request={"multipart/form-data": CodePictureSerializer},
        responses=CodesSerializer,
        examples=[OpenApiExample("A bag", CODES, response_only=True)],
        tags=["search"],
    )
    def post(self, request: Request) -> Response:
        """The codes on the labels in a picture; nothing of it is kept."""
        sent = CodePictureSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        codes = read_codes(taken_in(sent.validated_data["file"].read()).data)
        return Response({"codes": codes, "opens": next((page for page in map(opens, codes) if page), "")})
