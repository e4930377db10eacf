"""`search/?q=`: everything on the bench that a text could mean, as the box on the pages finds it."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.lists import bad_query, number_asked
from inventory.api.photos import taken_in
from inventory.api.viewsets import Conventions
from inventory.label_codes import read_codes
from inventory.roles import OWNER, VIEWER, may_act_as
from repairs.search import EACH, LONGEST, MAX_EACH, Matches, opens, search

CODES = {"codes": ["http://bench.local:8000/lots/58/"], "opens": "/lots/58/"}


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

    @answers(Matches, "A reference", operation_id="search", tags=["search"])
    def get(self, request: Request) -> Response:
        text = request.query_params.get("q", "")
        if not text.strip() or len(text) > LONGEST or "\x00" in text:
            raise bad_query("q", f"a text of 1 to {LONGEST} characters is searched for")
        answer = search(
            text,
            each=number_asked(request, "limit", EACH, MAX_EACH),
            people=may_act_as(request.user, OWNER),
        )
        return Response(as_json(answer))


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
