"""Who may sign in and what each may do; somebody is always left who owns the bench."""

from datetime import date, datetime

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Count, Max, QuerySet
from django.utils import timezone

from inventory.access_record import record
from inventory.ledger import Refused
from inventory.models import Person
from inventory.refusals import Code
from inventory.roles import BENCH, OWNER, ROLES, give_role, role_of


def people() -> QuerySet[Person]:
    """Everybody, with how many `keys` each holds and the day on which one was last `used_on`."""
    return (
        Person.objects.prefetch_related("groups", "second_factor")
        .annotate(keys=Count("access_keys"), used_on=Max("access_keys__used_on"))
        .order_by("username")
    )


def last_seen(person: Person) -> date | None:
    """The day of the last sign-in, or of the last use of a key, whichever is later; one of `people()`."""
    signed_in: datetime | None = person.last_login
    days = [timezone.localdate(signed_in) if signed_in else None, getattr(person, "used_on", None)]
    return max((day for day in days if day is not None), default=None)


def add_person(name: str, *, role: str = BENCH, password: str | None = None) -> User:
    """Somebody new.  Without a password they have keys alone.

    ValidationError by `username`, `password` and `role` for what does not do.
    """
    person = User(username=name)
    wrong: dict[str, list[str]] = {}
    try:
        person.clean_fields(exclude=["password"])
    except ValidationError:
        wrong["username"] = ["expected letters, digits and @ . + - _ alone, at most 150"]
    else:
        # Two who differ in capitals alone would sign in as each other.
        if taken := User.objects.filter(username__iexact=name).first():
            wrong["username"] = [f"there is a {taken.username} already"]
    if role not in ROLES:
        wrong["role"] = [f"expected one of {', '.join(ROLES)}"]
    if password is not None:
        wrong |= _of_password(password, person)
    if wrong:
        raise ValidationError(wrong)
    person.set_password(password)
    try:
        with transaction.atomic():
            person.save()
            give_role(person, role)
            record(person, f"let in as {role}" + ("" if password is None else ", with a password"))
    except IntegrityError:  # a twin at the same moment
        raise ValidationError({"username": [f"there is a {name} already"]}) from None
    return person


def set_password(person: User, password: str) -> None:
    """A new password; whoever is signed in with the old one is signed out.  ValidationError by `password`."""
    if wrong := _of_password(password, person):
        raise ValidationError(wrong)
    with transaction.atomic():
        person.set_password(password)
        person.save(update_fields=["password"])
        record(person, "a new password")


@transaction.atomic
def change_person(person: User, *, role: str | None = None, active: bool | None = None) -> None:
    """Give another role, shut out or let in again; what is left out stays as it is.

    Refused (`last_owner`) where nobody would be left who owns the bench.  ValueError for what is no role.
    """
    everybody = User.objects.select_for_update().prefetch_related("groups")
    owners = {each.pk for each in everybody if each.is_active and role_of(each) == OWNER}
    if owners == {person.pk} and (role not in (None, OWNER) or active is False):
        raise Refused(
            Code.LAST_OWNER,
            f"{person.username} is the only owner who can sign in, and the bench needs one: "
            "make somebody else owner first",
        )
    if role is not None:
        before = role_of(person)
        give_role(person, role)
        if before != role:
            record(person, f"{role} instead of {before}")
    if active is not None:
        person.is_active = active
        person.save(update_fields=["is_active"])
        record(person, "let in again" if active else "shut out")


def _of_password(password: str, person: User) -> dict[str, list[str]]:
    try:
        validate_password(password, person)
    except ValidationError as refused:
        return {"password": refused.messages}
    return {}
