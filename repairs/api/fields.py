"""Fields that the nouns of repairs share: lists of references, and where the pieces of a lot are."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Q
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Holding, Lot, Place
from inventory.refs import UnreadableRefs, parse_refs
from inventory.refusals import Code
from inventory.spec import Fit
from inventory.whole_numbers import MAX_PIECES

REFS = {
    "oneOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}],
    "description": 'A list, or text; ranges are spelled out: `["R1", "C4-C7"]`, `R1-R4, R7`.',
}


def wrong(member: str, detail: str, code: Code) -> ValidationError:
    return ValidationError({member: [ErrorDetail(detail, code)]})


def reasons(fit: Fit) -> list[dict[str, str]]:
    """Why a piece serves or does not, as data."""
    return [dict(vars(reason)) for reason in fit.reasons]


@extend_schema_field(REFS)
class RefsField(serializers.Field[Any, Any, Any, Any]):
    """References as a list or as text, ranges spelled out."""

    def to_internal_value(self, data: Any) -> Any:
        listed = isinstance(data, list) and all(isinstance(ref, str) for ref in data)
        if not (listed or isinstance(data, str)):
            raise ValidationError([ErrorDetail('expected ["R1", "C4-C7"] or "R1, C4-C7"', Code.UNREADABLE)])
        try:
            return parse_refs(data if isinstance(data, str) else ",".join(data))
        except UnreadableRefs as refused:
            raise ValidationError([ErrorDetail(str(refused), Code.UNREADABLE)]) from None


class PiecesField(serializers.IntegerField):
    """How many pieces: from 1."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"min_value": 1, "max_value": MAX_PIECES, **options})


def spot_in(data: Mapping[str, Any], lot: Lot, place: str = "from", ref: str = "from_ref") -> Spot:
    """Where pieces of a lot are, from the members `place` and `ref` of a body.

    Left out, it is where the lot is, if it is in one place only; the position on a board likewise.
    """
    named: Place | None = data.get(place)
    if data.get(ref) or (named is not None and named.type != Place.Type.BOARD):
        if named is None:
            raise wrong(place, f"say the place that {data[ref]} is on", Code.REQUIRED)
        return ledger.spot_of(named, data.get(ref, ""))
    at = Q(lot=lot, quantity__gt=0) & (Q(place=named) if named is not None else Q())
    here = list(Holding.objects.filter(at).select_related("place").order_by("id")[:6])
    if len(here) == 1:
        return Spot(here[0].place_id, here[0].ref)
    if named is not None and not here:
        return ledger.spot_of(named)
    places = ", ".join(
        f"{holding.place_id} ({holding.place} {holding.ref}".rstrip() + ")" for holding in here
    )
    raise wrong(
        ref if named is not None else place,
        f"the lot is at {places}" if here else "the lot is nowhere",
        Code.REQUIRED,
    )
