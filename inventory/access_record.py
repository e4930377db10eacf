"""The record of who gave whom which role, password or key: written with the change itself, never edited."""

import getpass
import logging
from contextlib import suppress

from django.contrib.auth.models import User

from inventory.models import AccessChange
from inventory.watching import address_of, request_now

log = logging.getLogger("rehome.access")


def record(person: User, what: str) -> None:
    """Note what was changed for a person, by whoever is signed in; or by whoever runs the command."""
    request = request_now()
    by, address, request_id = f"command of {_user_of_machine()}", "", ""
    if request is not None:
        someone = getattr(request, "user", None)
        by = someone.get_username() if isinstance(someone, User) else "nobody signed in"
        address, request_id = address_of(request), str(getattr(request, "request_id", ""))
    AccessChange.objects.create(
        by=by[:150], person=person.username, what=what[:200], address=address, request=request_id
    )
    where = f" from {address}, request {request_id}" if request is not None else ""
    log.info("%s: %s, by %s%s", person.username, what, by, where)


def _user_of_machine() -> str:
    with suppress(OSError, KeyError):  # a container may have a number and no name
        return getpass.getuser()
    return "an unnamed user"
