"""`designs/`: the drawing of a board, drawn whole or not at all, and what differs between two."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Self

from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404
from django_filters import CharFilter
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema_serializer
from pydantic import Field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import designs
from inventory.answers import Answer, Reasons, WholeAnswer, answers, as_json
from inventory.api.design_members import BankField, HazardField, LinkField, RailField, WhenField, entries_of
from inventory.api.fields import FlatSpecSerializer, RefField, StrictSerializer, by_member, errors_together
from inventory.api.lists import AskedFilters, bad_query, number_asked
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Design, Position
from inventory.refusals import Code
from inventory.spec import FieldProblem, Reason, Spec

R1 = {"kind": "resistor", "value": "4k7", "tolerance_percent": "5", "watts": "0.25", "lead_style": "axial"}
U3 = {"kind": "ic", "number": "2114", "package": "DIP-18"}
PLACED = {
    "socketed": False, "note": "", "x": "0.25", "y": "0.4", "side": "top",
    "empty_when": {"ref": "U3", "number": "6514"},
}  # fmt: skip
UNPLACED: dict[str, Any] = {"note": "", "x": None, "y": None, "side": "", "empty_when": {}}
DRAWING: dict[str, Any] = {
    "name": "Plover timer", "revision": "B", "note": "", "hazards": ["mains"],
    "links": [
        {
            "name": "LK1", "purpose": "memory select", "settings": ["1-2", "2-3"],
            "rules": [{"setting": "1-2", "when": {"bank": "RAM", "number": "2114"}, "note": "static"}],
        }
    ],
    "rails": [{"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25", "order": 1, "protects": ["U3"]}],
    "banks": [{"name": "RAM", "refs": ["U3"], "equal": ["number", "make"], "counts": [1]}],
}  # fmt: skip
SENT = {**DRAWING, "positions": [{"ref": "R1", **R1, **PLACED}, {"ref": "U3", **U3, "socketed": True}]}
ANSWERED = {
    "id": 4, **DRAWING,
    "positions": [
        {"ref": "R1", **PLACED, **Spec.from_dict(R1).to_dict()},
        {"ref": "U3", **UNPLACED, "socketed": True, **Spec.from_dict(U3).to_dict()},
    ],
    "version": 1,
}  # fmt: skip


class PositionSerializer(FlatSpecSerializer):
    ref = RefField(allow_blank=False)
    socketed = serializers.BooleanField(required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    x = serializers.DecimalField(
        max_digits=9, decimal_places=6, normalize_output=True, required=False, allow_null=True,
        help_text="On the picture: from its left edge, in its widths.",
    )  # fmt: skip
    y = serializers.DecimalField(
        max_digits=9, decimal_places=6, normalize_output=True, required=False, allow_null=True,
        help_text="From its top edge, in its heights.",
    )  # fmt: skip
    side = serializers.ChoiceField(designs.SIDES, required=False, allow_blank=True)
    empty_when = WhenField(
        required=False, help_text="What must be fitted elsewhere for it to be left empty; `{}`: never."
    )

    def to_internal_value(self, data: Any) -> designs.PositionDraft:
        # In a PATCH of the design the framework lets a position lack its ref; a position is always whole.
        problems: dict[str, Any] = {}
        if isinstance(data, Mapping) and "ref" not in data:
            problems["ref"] = [ErrorDetail("This field is required.", Code.REQUIRED)]
        with errors_together(problems):
            read = super().to_internal_value(data)
        return designs.PositionDraft(**read)


@extend_schema_serializer(
    examples=[
        OpenApiExample("Two positions", SENT, request_only=True),
        OpenApiExample("Two positions", ANSWERED, response_only=True),
    ]
)
class DesignSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(max_length=120)
    revision = serializers.CharField(required=False, allow_blank=True, max_length=32)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    hazards = entries_of(HazardField(), "What can hurt whoever works on it.")
    links = entries_of(LinkField(), "Wire links and jumpers.")
    rails = entries_of(RailField(), "Supply rails.")
    banks = entries_of(BankField(), "Chips that belong together.")
    positions = PositionSerializer(  # type: ignore[call-arg]
        many=True, required=False, max_length=designs.MAX_POSITIONS
    )
    version = serializers.IntegerField(read_only=True)

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        """The members, with what the design's own rules refuse."""
        read: dict[str, Any] = super().to_internal_value(data)
        problems = designs.problems_with_refs([drawn.ref for drawn in read.get("positions", [])])
        if problems:
            raise ValidationError(by_member(_at_positions(problems)))
        return read


class ReasonSerializer(serializers.Serializer[Any]):
    """One property judged: what is required, what is offered, by which rule, with which grade."""

    property = serializers.CharField()
    required = serializers.CharField()  # type: ignore[assignment]
    offered = serializers.CharField()
    rule = serializers.CharField()
    grade = serializers.CharField()
    settled_by = serializers.CharField(
        allow_blank=True,
        help_text="look, data_sheet or test: what may turn an ask or a no into a yes; else blank.",
    )


@dataclass
class ComparedPosition(Answer):
    ref: str
    spec_text: str

    @classmethod
    def of(cls, position: Position) -> Self:
        return cls(position.ref, position.spec.text)


@dataclass
class ChangedPosition(Answer):
    ref: str
    was: Annotated[str, Field(description="The one-line reading of this design's part.")]
    now: Annotated[str, Field(description="The one-line reading of the other's.")]
    properties: Sequence[str]
    grade: Annotated[str, Field(description="Whether the old part serves the new position.")]
    reasons: Reasons


@dataclass
class DesignComparison(WholeAnswer):
    """By reference: what both have alike, what changed, what only the other has, what only this one has."""

    old: Annotated[int, Field(serialization_alias="from")]
    to: int
    same: list[ComparedPosition]
    changed: list[ChangedPosition]
    added: list[ComparedPosition]
    removed: list[ComparedPosition]

    @classmethod
    def example(cls) -> Self:
        reason = Reason("value", "10k", "4k7", "53 % under, outside the tolerance", "no")
        return cls(
            3,
            4,
            same=[ComparedPosition("R1", Spec.from_dict(R1).text)],
            changed=[ChangedPosition("R2", "4k7 resistor", "10k resistor", ["value"], "no", (reason,))],
            added=[ComparedPosition("U3", Spec.from_dict(U3).text)],
            removed=[],
        )

    @classmethod
    def of(cls, old: Design, new: Design, found: designs.Comparison) -> Self:
        return cls(
            old.pk,
            new.pk,
            [ComparedPosition.of(each) for each in found.same],
            [
                ChangedPosition(
                    each.ref, each.was.spec.text, each.now.spec.text, each.properties, each.fit.grade,
                    tuple(each.fit.reasons),
                )
                for each in found.changed
            ],
            [ComparedPosition.of(each) for each in found.added],
            [ComparedPosition.of(each) for each in found.removed],
        )  # fmt: skip


class DesignFilters(AskedFilters):
    name = CharFilter(lookup_expr="iexact")
    revision = CharFilter(lookup_expr="iexact")

    class Meta:
        model = Design
        fields: list[str] = []


class DesignViewSet(NounViewSet):
    """The drawing of a board."""

    model = Design
    serializer_class = DesignSerializer
    filterset_class = DesignFilters
    search_texts = ("name", "revision", "note")
    orderings = {"name": "name", "revision": "revision"}

    def get_queryset(self) -> QuerySet[Design]:
        positions = Position.objects.select_related("spec").order_by("id")
        return Design.objects.prefetch_related(Prefetch("positions", positions))

    def make(self, data: dict[str, Any]) -> Design:
        positions = data.pop("positions", [])
        _refuse_unreadable(data, [(drawn.ref, drawn.empty_when) for drawn in positions])
        design = Design.objects.create(**data)
        designs.draw(design, positions)
        return design

    def change(self, row: Design, data: dict[str, Any]) -> None:
        positions = data.pop("positions", None)
        if positions is not None or data.keys() & MEMBERS:
            there = row.positions.order_by("id") if positions is None else positions
            members = {name: data.get(name, getattr(row, name)) for name in MEMBERS}
            _refuse_unreadable(members, [(each.ref, each.empty_when) for each in there])
        claim(row, **data)
        if positions is not None:
            designs.draw(row, positions)

    @answers(DesignComparison, "From revision A to B")
    @action(
        detail=True,
        query_parameters=(
            OpenApiParameter(
                "with",
                {"type": "integer", "minimum": 1},
                required=True,
                description="The design to compare this one with.",
            ),
        ),
    )
    def compare(self, request: Request, pk: str) -> Response:
        """What changes from this design to the other, by reference."""
        old = get_object_or_404(Design, pk=pk)
        new = Design.objects.filter(pk=number_asked(request, "with", 0)).first()
        if new is None:
            raise bad_query("with", "expected the id of a design", Code.DOES_NOT_EXIST)
        return Response(as_json(DesignComparison.of(old, new, designs.compare(old, new))))


MEMBERS = ("hazards", "links", "rails", "banks")


def _refuse_unreadable(members: Mapping[str, Any], conditions: Sequence[tuple[str, Any]]) -> None:
    """`conditions`: each position with when it is left empty."""
    refs = {ref for ref, _when in conditions}
    problems = designs.problems_with_design(members, refs)
    of_positions = designs.problems_with_conditions(conditions, members.get("banks"), refs)
    problems += _at_positions(of_positions)
    if problems:
        raise ValidationError(by_member(problems))


def _at_positions(problems: Iterable[FieldProblem]) -> Iterator[FieldProblem]:
    """Problems of a list of positions, with pointers into the whole design."""
    for problem in problems:
        yield problem._replace(pointer=f"/positions{problem.pointer}")
