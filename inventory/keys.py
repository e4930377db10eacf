"""Keys with which programs act as a person: named, made, shown once, revoked.

A key is derived from the secret of this installation and a number drawn for it, so that the command can print
the same one again while the database holds only what it is known by.  40 hexadecimal digits.
"""

import hashlib
import secrets
from contextlib import suppress

from django.contrib.auth.models import User
from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.crypto import salted_hmac

from inventory.access_record import record
from inventory.ledger import Refused
from inventory.models import AccessKey
from inventory.refusals import Code

TERMINAL = "terminal"
"""The key that `manage.py token` prints where no name is given."""
MAX_KEYS = 50


def digest_of(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def make_key(person: User, name: str) -> tuple[AccessKey, str]:
    """A new key of this name, and the key itself, which nothing shows again.

    Refused: `taken` where this person has one of that name, `too_many` beyond what anybody keeps track of.
    """
    nonce = secrets.token_hex(16)
    key = _derived(nonce)
    names = set(person.access_keys.values_list("name", flat=True))
    if name in names:
        raise _taken(name)
    if len(names) >= MAX_KEYS:
        raise Refused(Code.TOO_MANY, f"{person.username} holds {MAX_KEYS} keys: revoke one that nothing uses")
    try:
        with transaction.atomic():
            made = AccessKey.objects.create(person=person, name=name, nonce=nonce, digest=digest_of(key))
            record(person, f"the key {name} was made")
    except IntegrityError:  # a twin at the same moment
        raise _taken(name) from None
    return made, key


def kept_key(person: User, name: str = TERMINAL) -> str:
    """The key of this name, made if need be.  One that this installation's secret did not make gives way."""
    with transaction.atomic():
        kept = AccessKey.objects.filter(person=person, name=name).first()
        if kept is not None:
            key = _derived(kept.nonce)
            if digest_of(key) == kept.digest:
                return key
            kept.delete()
        return make_key(person, name)[1]


@transaction.atomic
def revoke(key: AccessKey) -> None:
    """It opens nothing from now on."""
    record(key.person, f"the key {key.name} was revoked")
    key.delete()


def key_again(row: AccessKey) -> str | None:
    """The key of a row, for whoever lost the answer with it; None where the secret is another now."""
    key = _derived(row.nonce)
    return key if digest_of(key) == row.digest else None


def find(key: str) -> AccessKey | None:
    """The key's row with its person, noted as used today; None where it opens nothing."""
    found = AccessKey.objects.select_related("person").filter(digest=digest_of(key)).first()
    if found is not None and found.person.is_active and found.used_on != timezone.localdate():
        _note_use(found)
    return found


def _derived(nonce: str) -> str:
    return salted_hmac("rehome access key", nonce, algorithm="sha256").hexdigest()[:40]


def _taken(name: str) -> Refused:
    return Refused(Code.TAKEN, f"there is a key called {name} already: revoke it first, or take another name")


def _note_use(found: AccessKey) -> None:
    """Once a day, and never waited for: while somebody else writes, the next request notes it."""
    today = timezone.localdate()
    rows = AccessKey.objects.filter(Q(pk=found.pk), Q(used_on=None) | Q(used_on__lt=today))
    if connection.in_atomic_block or connection.vendor != "sqlite":
        rows.update(used_on=today)
        return
    with connection.cursor() as cursor:
        waits = cursor.execute("PRAGMA busy_timeout").fetchone()[0]
        cursor.execute("PRAGMA busy_timeout = 0")
        try:
            with suppress(OperationalError):
                rows.update(used_on=today)
        finally:
            cursor.execute(f"PRAGMA busy_timeout = {waits}")
