"""Where a lot came from, as the API writes it: a board and reference, or a source and whoever it was."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from inventory.api.fields import RefField, RowField
from inventory.ledger import Origin
from inventory.models import REF_LENGTH, Board, Lot
from inventory.refusals import Code

SOURCES = [source for source in Lot.Source.values if source != Lot.Source.BOARD]
SHAPE = {
    "type": "object",
    "properties": {
        "source": {"type": "string", "enum": list(Lot.Source.values)},
        "board": {"type": ["integer", "null"]},
        "ref": {"type": "string", "maxLength": REF_LENGTH},
        "from": {"type": "string", "maxLength": 200},
        "board_name": {"type": "string", "readOnly": True},
    },
    "description": "`board` and `ref`, or `source` and `from`.",
}


@extend_schema_field(SHAPE)
class OriginField(serializers.Field[Origin, Any, dict[str, Any], Any]):
    """`{"board", "ref"}` or `{"source", "from"}` in; all of it out, from the lot itself (`source="*"`)."""

    def to_internal_value(self, data: Any) -> dict[str, Origin]:  # type: ignore[override]
        if not isinstance(data, Mapping):
            raise ValidationError(
                [ErrorDetail('expected {"board", "ref"} or {"source", "from"}', Code.UNREADABLE)]
            )
        problems = {
            name: [ErrorDetail("unknown; expected board and ref, or source and from", Code.UNKNOWN)]
            for name in data
            if name not in SHAPE["properties"]
        }
        texts = {"ref": "", "from": ""}
        readers = {"ref": RefField(), "from": serializers.CharField(allow_blank=True, max_length=200)}
        for name, reader in readers.items():
            try:
                texts[name] = reader.run_validation(data.get(name, ""))
            except ValidationError as wrong:
                problems[name] = wrong.detail  # type: ignore[assignment]
        source = data.get("source", Lot.Source.UNKNOWN if data.get("board") is None else Lot.Source.BOARD)
        if source not in Lot.Source.values:
            problems["source"] = [
                ErrorDetail(f"expected one of {', '.join(SOURCES)}, or a board", Code.INVALID_CHOICE)
            ]
        board = None
        if source == Lot.Source.BOARD:
            try:
                board = self._board(data.get("board"))
            except ValidationError as wrong:
                problems["board"] = wrong.detail  # type: ignore[assignment]
        elif data.get("board") is not None or texts["ref"]:
            problems["board"] = [ErrorDetail(f"what is {source} came from no board", Code.CONTRADICTION)]
        if problems:
            raise ValidationError(problems)
        return {"origin": Origin(source=str(source), board=board, ref=texts["ref"], giver=texts["from"])}

    def _board(self, given: Any) -> Board:
        if given is None:
            raise ValidationError([ErrorDetail("say which board", Code.REQUIRED)])
        by_id = RowField(queryset=Board.objects.all())
        by_id.bind("board", self)  # type: ignore[arg-type]
        board: Board = by_id.to_internal_value(given)
        return board

    def to_representation(self, lot: Any) -> dict[str, Any]:
        return {
            "source": lot.origin_source,
            "board": lot.origin_board_id,
            "board_name": lot.origin_board.name if lot.origin_board is not None else "",
            "ref": lot.origin_ref,
            "from": lot.origin_from,
        }
