"""Whose something is, as programs say and ask it."""

from typing import Any

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework import serializers

from inventory.ownership import owned_by, who_may_own


class OwnerField(serializers.SlugRelatedField[Any]):
    """A person's name; null: everybody's.  Who owns it now may be sent back, whatever became of them."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            **{
                "slug_field": "username", "queryset": who_may_own(), "required": False, "allow_null": True,
                "help_text": "Whose it is, by name: somebody who does the work. null: everybody's.",
                **options,
            }
        )  # fmt: skip

    def get_queryset(self) -> QuerySet[Any]:
        row = getattr(self.parent, "instance", None)
        return who_may_own(getattr(row, "owner_id", None))


class PersonFilter(CharFilter):  # type: ignore[misc]
    """`me`, or a person's name."""

    def __init__(self, field_name: str, **options: Any) -> None:
        super().__init__(field_name=field_name, **options)

    def filter(self, rows: QuerySet[Any], asked: str) -> QuerySet[Any]:
        if not asked:
            return rows
        who = {"": self.parent.request.user} if asked == "me" else {"__username": asked}
        return rows.filter(**{f"{self.field_name}{lookup}": value for lookup, value in who.items()})


class OwnerFilter(CharFilter):  # type: ignore[misc]
    """`me`, `shared` (everybody's) or a person's name."""

    def __init__(self) -> None:
        super().__init__(help_text="`me`, `shared` for what is everybody's, or the person's name.")

    def filter(self, rows: QuerySet[Any], asked: str) -> QuerySet[Any]:
        return owned_by(rows, asked, self.parent.request.user) if asked else rows
