"""Lists: pages that never overlap, and no parameter that is silently ignored.

This module imports no viewset, so that settings and viewsets may name it.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import FieldDoesNotExist
from django.db.models import F, Model, Q, QuerySet
from django.db.models.expressions import OrderBy
from django_filters import BooleanFilter, FilterSet, MultipleChoiceFilter
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework.exceptions import ErrorDetail
from rest_framework.filters import BaseFilterBackend
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request

from inventory import whole_numbers
from inventory.api.problems import BadQuery
from inventory.changes import Cursor
from inventory.refusals import Code
from inventory.spec import values_in_text

LONGEST_SEARCH = 200
MAX_WORDS = 10
CHANGED_SINCE = "changed_since"


def bad_query(name: str, detail: str, code: Code = Code.UNREADABLE) -> BadQuery:
    return BadQuery({name: [ErrorDetail(detail, code)]})


def refuse_unknown(request: Request, known: Collection[str], repeatable: Collection[str] = ()) -> None:
    """Raises BadQuery (400) for a parameter that is not in `known` (`unknown`), that is empty (`empty`), or
    that is given more than once and not in `repeatable` (`repeated`).
    """
    wrong: dict[str, list[ErrorDetail]] = {}
    for name, values in request.query_params.lists():
        shown = name if name.isprintable() else ascii(name)
        if name not in known:
            listed = ", ".join(sorted(known)) or "none"
            wrong[shown[:80]] = [
                ErrorDetail(f"unknown parameter; this address reads: {listed}", Code.UNKNOWN)
            ]
        elif len(values) > 1 and name not in repeatable:
            wrong[shown] = [ErrorDetail("given more than once", Code.REPEATED)]
        elif name != "q" and not all(values):
            wrong[shown] = [ErrorDetail("is empty: leave it out, or give a value", Code.EMPTY)]
    if wrong:
        raise BadQuery(wrong)


def number_asked(request: Request, name: str, default: int, most: int | None = None) -> int:
    """The query parameter, from 1 up to `most`, or `default` where it is not given.

    Raises BadQuery (400, `unreadable`) for anything else.
    """
    text = request.query_params.get(name)
    if text is None:
        return default
    number = whole_numbers.whole_number(text) or 0
    if number < 1 or (most is not None and number > most):
        raise bad_query(name, f"expected a whole number from 1{f' to {most}' if most else ''}")
    return number


class Pages(PageNumberPagination):
    """`?page=` and `?page_size=`; a size above the most is refused, not cut down."""

    page_size = 50
    max_page_size = 500
    page_size_query_param = "page_size"
    page_query_description = "Which page, from 1."
    page_size_query_description = "Rows on a page: 50, at most 500."
    last_page_strings = ()
    invalid_page_message = "there is no page {page_number}"

    def get_page_size(self, request: Request) -> int:
        return number_asked(request, "page_size", self.page_size, self.max_page_size)

    def get_page_number(self, request: Request, paginator: Any) -> int:
        return number_asked(request, "page", 1)

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        described = super().get_schema_operation_parameters(view)
        for parameter in described:
            parameter["schema"]["minimum"] = 1
            if parameter["name"] == self.page_size_query_param:
                parameter["schema"] |= {"maximum": self.max_page_size, "default": self.page_size}
        return described

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        described = super().get_paginated_response_schema(schema)
        described["properties"]["count"]["example"] = 1
        for name in ("next", "previous"):
            described["properties"][name] = {"type": ["string", "null"], "format": "uri", "example": None}
        described["properties"] |= {
            "cursor": {
                "type": "string",
                "description": "With `changed_since`: what to ask with next time.",
                "example": "5f0c2a9be1d4.0.8812",
            },
            "removed": {
                "type": "array",
                "items": {"type": "integer"},
                "description": "With `changed_since`: rows that changed and are not in this list now.",
                "example": [],
            },
        }
        described["required"] = ["count", "next", "previous", "results"]
        return described


class Filters(DjangoFilterBackend):  # type: ignore[misc]
    """The view's `filterset_class`; its own errors name the parameter."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> QuerySet[Any]:
        filterset = self.get_filterset(request, queryset, view)
        if filterset is None:
            return queryset
        if not filterset.is_valid():
            raise BadQuery({name: _details(errors) for name, errors in filterset.errors.as_data().items()})
        found: QuerySet[Any] = filterset.qs
        return found


class AskedFilters(FilterSet):  # type: ignore[misc]
    """Only what is asked for is copied and checked: of a score of filters a list is seldom asked for two."""

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        declared: Any = type(self)
        self.base_filters: Any = {
            name: each for name, each in declared.base_filters.items() if name in (data or ())
        }
        super().__init__(data, *args, **kwargs)


def _details(errors: Iterable[Any]) -> list[ErrorDetail]:
    return [ErrorDetail(text, error.code or "invalid") for error in errors for text in error.messages]


class _YesOrNo(forms.NullBooleanField):
    widget = forms.TextInput

    def to_python(self, value: Any) -> bool | None:  # type: ignore[override]
        if value in (None, "", "true", "false"):
            return value == "true" if value else None
        raise forms.ValidationError("expected true or false", code=Code.UNREADABLE)


class YesNoFilter(BooleanFilter):  # type: ignore[misc]
    """`true` or `false`; the framework's own takes any other word for no filter at all."""

    field_class = _YesOrNo


class AnyOfFilter(MultipleChoiceFilter):  # type: ignore[misc]
    """Any of several values of a column of the row itself: no row matches twice, so DISTINCT is left out."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, distinct=False, **kwargs)


class Sorting(BaseFilterBackend):
    """`?ordering=value,-name`: keys of the view's `orderings` (name -> column); always ends on `id`."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> QuerySet[Any]:
        orderings = self.orderings(view)
        sent = request.query_params.get("ordering")
        keys = [key.strip() for key in sent.split(",")] if sent is not None else list(view.default_ordering)
        unknown = [key for key in keys if key.removeprefix("-") not in orderings]
        if unknown:
            detail = f"cannot sort by {', '.join(unknown)[:80]}; expected {', '.join(orderings)}"
            raise bad_query("ordering", detail, Code.UNKNOWN)
        terms = [_term(queryset.model, orderings[key.removeprefix("-")], key.startswith("-")) for key in keys]
        return queryset.order_by(*terms, *([] if keys and keys[-1].removeprefix("-") == "id" else ["id"]))

    @staticmethod
    def orderings(view: Any) -> Mapping[str, str]:
        return {"id": "id", **view.orderings}

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        keys = "|".join(self.orderings(view))
        return [
            {
                "name": "ordering",
                "in": "query",
                "required": False,
                "description": f"Keys, `-` for downwards: {', '.join(self.orderings(view))}. Ties go by id.",
                "schema": {"type": "string", "pattern": f"^-?({keys})(,-?({keys}))*$"},
            }
        ]


def _term(model: type[Model], column: str, downwards: bool) -> OrderBy:
    """What is not known comes last on both databases, whichever way it is sorted."""
    last = True if _may_be_null(model, column) else None
    return F(column).desc(nulls_last=last) if downwards else F(column).asc(nulls_last=last)


def _may_be_null(model: type[Model], column: str) -> bool:
    options = model._meta
    for name in column.split("__"):
        try:
            field = options.get_field(name)
        except FieldDoesNotExist:
            return False  # an annotation: the view makes it whole
        if getattr(field, "null", False):
            return True
        if field.related_model is not None:
            options = field.related_model._meta
    return False


class ChangedSince(BaseFilterBackend):
    """`?changed_since=`: documented here; `NounViewSet.changed` answers it."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> QuerySet[Any]:
        return queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        return [
            {
                "name": CHANGED_SINCE,
                "in": "query",
                "required": False,
                "description": (
                    "`start`, or the `cursor` of an earlier answer: only rows that changed since, as they "
                    "are now, with the ids of those `removed` from this list. Follow `next` to its end, and "
                    "keep the last `cursor`: so a copy is kept that misses nothing. A row may come twice. "
                    "410 `cursor_expired` after a restore or an update: begin with `start` again. What is "
                    "summed over other lists, such as the pieces of a place, follows from those."
                ),
                "schema": {"type": "string", "pattern": r"^(start|[0-9a-f]{12}(\.[0-9]{1,18}){2,3})$"},
            }
        ]


def cursor_of(request: Request) -> Cursor:
    """The cursor in `changed_since`.

    Raises BadQuery (400): `unreadable` where it is no cursor, `contradiction` beside `page` or `ordering`.
    """
    for name in ("page", "ordering"):
        if name in request.query_params:
            raise bad_query(name, f"not with {CHANGED_SINCE}: follow `next`", Code.CONTRADICTION)
    try:
        return Cursor.read(request.query_params[CHANGED_SINCE])
    except ValueError as wrong:
        raise bad_query(CHANGED_SINCE, str(wrong)) from None


class Search(BaseFilterBackend):
    """`?q=`: every word is found in one of the view's `search_texts`, or is a value of its `search_spec`."""

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> QuerySet[Any]:
        text = request.query_params.get("q", "")
        if "\x00" in text:
            raise bad_query("q", "NUL is not searched for")
        words = text.split()
        if len(text) > LONGEST_SEARCH or len(words) > MAX_WORDS:
            raise bad_query("q", f"at most {MAX_WORDS} words and {LONGEST_SEARCH} characters")
        if (number := view.search_number(text)) is not None:
            return queryset.filter(pk=number)
        while words:
            condition, used = _next_condition(words, view.search_texts, view.search_spec)
            queryset = queryset.filter(condition)
            words = words[used:]
        return queryset

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        if not view.search_texts:
            return []
        about = ", ".join(name.replace("__", " ").replace("_", " ") for name in view.search_texts)
        values = "; `4k7` also finds 4700 Ω" if view.search_spec is not None else ""
        return [
            {
                "name": "q",
                "in": "query",
                "required": False,
                "description": f"Words to be found in {about}{values}.",
                "schema": {"type": "string", "maxLength": LONGEST_SEARCH},
            }
        ]


def _next_condition(words: Sequence[str], texts: Sequence[str], spec: str | None) -> tuple[Q, int]:
    """The condition for the next word, or the next two where they make a value, and how many it covers."""
    pair = " ".join(words[:2])
    if spec is not None and len(words) > 1 and _is_value(pair):
        both = _in_texts(words[0], texts) & _in_texts(words[1], texts)
        return both | _values(pair, spec), 2
    here = _in_texts(words[0], texts)
    return (here if spec is None else here | _values(words[0], spec)), 1


def _is_value(pair: str) -> bool:
    """Whether the two words are one value (`4.7 kΩ`) rather than two beside each other."""
    apart = {found for word in pair.split() for found in values_in_text(word)}
    return any(found not in apart for found in values_in_text(pair))


def _in_texts(word: str, texts: Sequence[str]) -> Q:
    found = Q(pk__in=[])
    for column in texts:
        found |= Q(**{f"{column}__icontains": word})
    return found


def _values(text: str, spec: str) -> Q:
    found = Q(pk__in=[])
    for kind, units in values_in_text(text):
        found |= Q(**{f"{spec}kind": kind, f"{spec}value": units})
    return found


class Listed:
    """What a list view says about itself; every name of `parameters` is read by one of the backends."""

    filter_backends: ClassVar = [Filters, Search, Sorting, ChangedSince]
    pagination_class = Pages
    filterset_class: Any = None
    orderings: Mapping[str, str] = {}
    default_ordering: Sequence[str] = ("id",)
    search_texts: Sequence[str] = ()
    search_spec: str | None = None  # path to the StoredSpec with its "__", or "" on the row itself

    def search_number(self, text: str) -> int | None:
        """The number of the one row that a text names, such as `lot 58`."""
        return None

    def list_parameters(self) -> tuple[set[str], set[str]]:
        """All parameters of the list, and those that may be repeated."""
        filters = self.filterset_class.base_filters if self.filterset_class else {}
        known = {"page", "page_size", "ordering", CHANGED_SINCE, *filters} | (
            {"q"} if self.search_texts else set()
        )
        return known, {name for name, made in filters.items() if isinstance(made, MultipleChoiceFilter)}
