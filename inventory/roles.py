"""Who may do what: the owner everything, the bench its work, a viewer looks on.  No role is a viewer.

Roles are groups of Django's own users, made by a migration.
"""

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser, Group, User
from django.db import transaction

OWNER, BENCH, VIEWER = "owner", "bench", "viewer"
ROLES = (OWNER, BENCH, VIEWER)
"""From most to least; each may do all that the next may."""


def role_of(person: AbstractBaseUser | AnonymousUser) -> str:
    """The highest role that this person has; asked of the database once for each request's person."""
    known: str | None = person.__dict__.get("_role")
    if known is None:
        names = {group.name for group in person.groups.all()} if isinstance(person, User) else set()
        if getattr(person, "is_superuser", False):
            names.add(OWNER)
        known = next((role for role in ROLES if role in names), VIEWER)
        person.__dict__["_role"] = known
    return known


def may_act_as(person: AbstractBaseUser | AnonymousUser, role: str) -> bool:
    """Whether this person may do what `role` may."""
    return ROLES.index(role_of(person)) <= ROLES.index(role)


@transaction.atomic
def give_role(person: User, role: str) -> None:
    """Give this one role and take the others.  ValueError for a word that is no role."""
    if role not in ROLES:
        raise ValueError(f"{role!r}: expected one of {', '.join(ROLES)}")
    person.groups.remove(*Group.objects.filter(name__in=ROLES).exclude(name=role))
    person.groups.add(Group.objects.get_or_create(name=role)[0])
    person.__dict__.pop("_role", None)
