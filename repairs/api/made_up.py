"""`made-up/` and `needs/{id}/made-up/`: what free pieces can stand in for a missing value."""

from fractions import Fraction
from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import FIGURE, SpecSerializer, by_member
from inventory.api.lists import bad_query, whole_number
from inventory.api.problems import BadQuery
from inventory.api.viewsets import Conventions
from inventory.models import StoredSpec
from inventory.spec import Spec, SpecError, plain_value, print_value
from repairs.api.fields import open_jobs, truth
from repairs.api.lifting import CAUTION, CautionSerializer, caution
from repairs.api.of_board import one_of
from repairs.making_up import MOST_WAYS, MakingUp, Part, Way, made_up_for, made_up_for_need, made_up_for_short
from repairs.models import Need
from repairs.planning.combination import RATINGS

TIERS = ("drawer", "donor")
_FIGURES = ("tolerance_percent", "volts", "watts", "amps")
_WORDS = ("dielectric", "lead_style", "safety_class")
COUNT = OpenApiParameter(
    "count", {"type": "integer", "minimum": 1, "maximum": MOST_WAYS}, description="So many ways: 3."
)
SPEC = (
    OpenApiParameter("kind", str, enum=list(RATINGS), description="Asks for a wanted Spec, with `value`."),
    OpenApiParameter("value", str, description="Any notation: 4k7, 0.1 µF, 10 µH."),
    *(OpenApiParameter(name, {"type": "string", "pattern": FIGURE}) for name in _FIGURES),
    *(OpenApiParameter(name, {"type": "string", "maxLength": 64}) for name in _WORDS),
    OpenApiParameter(
        "use", str, description="What the place is for: timing, oscillator, tuned, rf, surge, filter, bypass."
    ),
    OpenApiParameter("fusible", bool, description="A fusible resistor: nothing is made up there."),
)  # fmt: skip
_NONE_IN = "want either `kind` and `value`, or `requirement`, or neither and all that is short"
_SPEC = Spec.from_dict({"kind": "resistor", "value": "750", "tolerance_percent": "5", "watts": "0.25"})
_PART = {
    "lot": 8, "place": 12, "place_name": "Drawer 3", "ref": "", "tier": "drawer", "condition": "good",
    "spec_text": "1k5 5 % 0.25 W resistor", "measured": None,
    "share_percent": {"watts": "50", "volts": "100"},
}  # fmt: skip
_ONE = {
    "spec": _SPEC.to_dict(), "spec_text": _SPEC.text, "short": 1, "jobs": [4], "refused": "",
    "allowed_low_percent": "5", "allowed_high_percent": "5",
    "ways": [
        {
            "arrangement": "1k5 ∥ 1k5", "value": "750", "value_text": "750R", "error_percent": "0",
            "low_percent": "-5", "high_percent": "5", "stands": {"watts": "0.5", "volts": None},
            "parts": [_PART, _PART], "notes": ["2 parts where one was: check the room"],
            "steps": [
                "take 1k5 5 % 0.25 W resistor from Drawer 3", "take 1k5 5 % 0.25 W resistor from Drawer 3",
                "join 1k5 and 1k5 in parallel", "measure the whole: want 712R5 to 787R5",
            ],
            "cautions": [CAUTION],
        }
    ],
}  # fmt: skip


class MadeUpPartSerializer(serializers.Serializer[Any]):
    """A free piece that no job needs, and how much of each load of the whole it stands."""

    lot = serializers.IntegerField()
    place = serializers.IntegerField()
    place_name = serializers.CharField()
    ref = serializers.CharField(allow_blank=True)
    tier = one_of(TIERS)
    condition = serializers.CharField()
    spec_text = serializers.CharField()
    measured = serializers.CharField(allow_null=True, help_text="Its reading, where there is one.")
    share_percent = serializers.DictField(child=serializers.CharField())


class WaySerializer(serializers.Serializer[Any]):
    """Percent are of the required value; null where a part's tolerance or rating is not known."""

    arrangement = serializers.CharField(help_text="+ is in series, ∥ in parallel.")
    value = serializers.CharField(help_text="Rounded to the smallest unit that is kept.")
    value_text = serializers.CharField()
    error_percent = serializers.CharField()
    low_percent = serializers.CharField(allow_null=True, help_text="At worst, by the parts' tolerances.")
    high_percent = serializers.CharField(allow_null=True)
    stands = serializers.DictField(
        child=serializers.CharField(allow_null=True), help_text="What the whole carries at most."
    )
    parts = MadeUpPartSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    steps = serializers.ListField(child=serializers.CharField())
    cautions = CautionSerializer(many=True)


@extend_schema_serializer(examples=[OpenApiExample("750 Ω", _ONE, response_only=True)])
class MakingUpSerializer(serializers.Serializer[Any]):
    """Ways to make one requirement, best first; `refused` says why nothing may be made up there."""

    spec = SpecSerializer()
    spec_text = serializers.CharField()
    short = serializers.IntegerField()
    jobs = serializers.ListField(child=serializers.IntegerField(), help_text="That require it.")
    refused = serializers.CharField(allow_blank=True)
    allowed_low_percent = serializers.CharField(allow_null=True)
    allowed_high_percent = serializers.CharField(allow_null=True)
    ways = WaySerializer(many=True)


@extend_schema_serializer(examples=[OpenApiExample("750 Ω", {"results": [_ONE]}, response_only=True)])
class MakingUpAllSerializer(serializers.Serializer[Any]):
    """Each requirement is answered by itself: two answers may count on the same pieces."""

    results = MakingUpSerializer(many=True)


class MadeUpView(Conventions):
    query_parameters = (
        OpenApiParameter("job", int, many=True, description="Of all that is short, only for these jobs."),
        OpenApiParameter(
            "requirement", {"type": "integer", "minimum": 1}, description="A row of shortages/."
        ),
        *SPEC,
        COUNT,
    )

    @extend_schema(responses=MakingUpAllSerializer, operation_id="made_up")
    def get(self, request: Request) -> Response:
        """What two or three free pieces make: all that is short, one row of it, or any wanted Spec."""
        count = whole_number(request, "count", 3, MOST_WAYS)
        asked = request.query_params.keys() - {"count"}
        if asked & {"kind", "value"}:
            if mixed := asked & {"job", "requirement"}:
                raise bad_query(min(mixed), _NONE_IN, "contradiction")
            found = [made_up_for(_wanted(request), count=count)]
        elif "requirement" in asked:
            if mixed := asked - {"requirement"}:
                raise bad_query(min(mixed), _NONE_IN, "contradiction")
            stored = StoredSpec.objects.filter(pk=whole_number(request, "requirement", 0)).first()
            if stored is None:
                raise bad_query("requirement", "there is no such requirement", "does_not_exist")
            found = [made_up_for(stored.spec, count=count)]
        else:
            if mixed := asked - {"job"}:
                raise bad_query(min(mixed), "say the kind and the value too", "required")
            found = made_up_for_short(open_jobs(request), count=count)
        return Response({"results": [as_json(each) for each in found]})


class NeedMadeUp(Conventions):
    query_parameters = (COUNT,)

    @extend_schema(responses=MakingUpSerializer, operation_id="needs_made_up")
    def get(self, request: Request, pk: int) -> Response:
        """What two or three free pieces can stand in for what this need requires."""
        need = get_object_or_404(Need.objects.select_related("spec"), pk=pk)
        return Response(as_json(made_up_for_need(need, count=whole_number(request, "count", 3, MOST_WAYS))))


def _wanted(request: Request) -> Spec:
    said: dict[str, Any] = {
        name: request.query_params[name]
        for name in ("kind", "value", *_FIGURES, *_WORDS)
        if name in request.query_params
    }
    traits: dict[str, Any] = {}
    if "use" in request.query_params:
        traits["use"] = request.query_params["use"]
    if truth(request, "fusible"):
        traits["fusible"] = True
    for name in ("kind", "value"):
        if name not in said:
            raise bad_query(name, "say the kind and the value", "required")
    if said["kind"] not in RATINGS:
        raise bad_query("kind", f"want {', '.join(RATINGS)}", "invalid_choice")
    try:
        return Spec.from_dict({**said, **({"traits": traits} if traits else {})})
    except SpecError as refused:
        wrong = by_member(refused.problems)
        if isinstance(of_traits := wrong.pop("traits", None), dict):
            wrong |= of_traits
        raise BadQuery(wrong) from None


def as_json(found: MakingUp) -> dict[str, Any]:
    low, high = found.allowed or (None, None)
    return {
        "spec": found.spec.to_dict(),
        "spec_text": found.spec.text,
        "short": found.short,
        "jobs": sorted({each.job for each in found.waiting}),
        "refused": found.refused,
        "allowed_low_percent": figure(low),
        "allowed_high_percent": figure(high),
        "ways": [_way(found.spec, way) for way in found.ways],
    }


def _way(spec: Spec, way: Way) -> dict[str, Any]:
    made = way.made
    value = round(made.arrangement.value)
    return {
        "arrangement": str(made.arrangement),
        "value": plain_value(spec.kind, value),
        "value_text": print_value(spec.kind, value),
        "error_percent": figure(made.error * 100),
        "low_percent": figure(None if made.low is None else made.low * 100),
        "high_percent": figure(None if made.high is None else made.high * 100),
        "stands": {name: figure(most, 4) for name, most in made.stands.items()},
        "parts": [_part(each) for each in way.parts],
        "notes": list(made.notes),
        "steps": list(way.steps),
        "cautions": [caution(each) for each in way.cautions],
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "lot": part.piece.lot, "place": part.piece.place, "place_name": part.piece.place_name,
        "ref": part.piece.ref, "tier": part.tier.name.lower(), "condition": part.condition,
        "spec_text": part.spec.text,
        "measured": None if part.measured is None else print_value(part.spec.kind, part.measured),
        "share_percent": {name: figure(share * 100) for name, share in part.share.items()},
    }  # fmt: skip


def figure(exact: Fraction | None, places: int = 2) -> str | None:
    """A plain decimal, rounded, without needless zeros.

    >>> figure(Fraction(-4, 15)), figure(Fraction(5))
    ('-0.27', '5')
    """
    if exact is None:
        return None
    rounded = round(exact * 10**places)
    whole, rest = divmod(abs(rounded), 10**places)
    decimals = f"{rest:0{places}}".rstrip("0")
    return f"{'-' if rounded < 0 else ''}{whole}{f'.{decimals}' if decimals else ''}"
