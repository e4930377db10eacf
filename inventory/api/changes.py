"""`changes/`: which rows of which lists changed since a cursor, over all lists at once."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Self

from django.urls import URLPattern, URLResolver
from drf_spectacular.utils import OpenApiParameter
from pydantic import Field
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from inventory import changes
from inventory.answers import Answer, WholeAnswer, answers, as_json
from inventory.api.lists import CHANGED_SINCE, Pages, bad_query, cursor_of
from inventory.api.viewsets import Conventions, NounViewSet
from inventory.models import AccessKey
from inventory.refusals import Code
from inventory.roles import OWNER, VIEWER, may_act_as


@dataclass
class ChangedRow(Answer):
    list: Annotated[str, Field(description="The list of the API: `lots` is at `lots/`.")]
    id: int
    removed: Annotated[bool, Field(description="It is not there any more.")]


@dataclass
class Changes(WholeAnswer):
    """Each row once, in the order in which it changed first; a row may come again by a later cursor."""

    results: list[ChangedRow]
    cursor: Annotated[str, Field(description="What to ask with next time.")]
    next: Annotated[str | None, Field(description="Where there is more by now.")] = None

    @classmethod
    def example(cls) -> Self:
        return cls([ChangedRow("lots", 58, False), ChangedRow("needs", 12, True)], "5f0c2a9be1d4.0.8812")


class ChangesView(Conventions):
    """What changed, over all lists that whoever asks may read; the rows are read where they stand."""

    patterns: Sequence[URLPattern | URLResolver] = ()
    query_parameters = (
        OpenApiParameter(
            CHANGED_SINCE, str, required=True,
            description="`start`: the cursor of now and no rows; read the lists then, and go on from it. "
            "Then the `cursor` of the last answer; that of a list that was read to its end does too.",
        ),
        OpenApiParameter(
            "page_size", int, description="At most so many lines of the log: 50, at most 500."
        ),
    )  # fmt: skip

    @answers(Changes, "Two of them", operation_id="changes_retrieve")
    def get(self, request: Request) -> Response:
        """Which rows of which lists changed; 410 `cursor_expired` after a restore or an update."""
        if CHANGED_SINCE not in request.query_params:
            raise bad_query(
                CHANGED_SINCE, f"expected {changes.START}, or the cursor of an answer", Code.REQUIRED
            )
        cursor, most = cursor_of(request), Pages().get_page_size(request)
        if request.query_params[CHANGED_SINCE] == changes.START:
            return Response(as_json(Changes([], str(changes.latest()))))
        if cursor.row is not None:
            raise bad_query(CHANGED_SINCE, "that list was not read to its end: follow its `next` first")
        lists = {view.model._meta.db_table: (name, view) for name, view in self._lists()}
        found = changes.noted(cursor, lists.keys(), most)
        changed: defaultdict[str, list[int]] = defaultdict(list)
        for table, row in found.rows:
            changed[table].append(row)
        there = {
            table: set(lists[table][1].model._base_manager.filter(pk__in=pks).values_list("pk", flat=True))
            for table, pks in changed.items()
        }
        rows = [ChangedRow(lists[table][0], row, row not in there[table]) for table, row in found.rows]
        whole = request.build_absolute_uri()
        following = replace_query_param(whole, CHANGED_SINCE, str(found.cursor)) if found.more else None
        return Response(as_json(Changes(rows, str(found.cursor), following)))

    def _lists(self) -> Iterator[tuple[str, type[NounViewSet]]]:
        """The lists that whoever asks may read as they are: of keys only one's own are shown to most."""
        for entry in self.patterns:
            view = getattr(getattr(entry, "callback", None), "cls", None)
            name = str(getattr(entry, "name", ""))
            if isinstance(view, type) and issubclass(view, NounViewSet) and name.endswith("-list"):
                least = OWNER if view.model is AccessKey else getattr(view, "read_role", VIEWER)
                if may_act_as(self.person, least):
                    yield str(entry.pattern).removeprefix("^").removesuffix("\\Z").rstrip("$/"), view
