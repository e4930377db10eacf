"""A second factor for signing in: six figures that an app shows anew every half minute (TOTP, RFC 6238).

The secret is derived, as keys are, from the secret of this installation and a number drawn for it: the
database alone, or a dump of it, makes no code.  A backup holds both, so that whoever has one can make codes.
Where the installation's secret is another than before, recovery codes still serve.
"""

import base64
import hashlib
import hmac
import secrets
import time

import pyotp
from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from django.utils.crypto import salted_hmac

from inventory.access_record import record
from inventory.models import RecoveryCode, SecondFactor
from inventory.refusals import Code, Refused

STEP = 30
"""Seconds that a code is shown for (RFC 6238, 5.2)."""
DRIFT = 1
"""Steps by which the clock of a phone may be off, either way."""
RECOVERY_CODES = 8
_RECOVERY_BYTES = 10


def factor_of(person: User) -> SecondFactor | None:
    """What this person signs in with besides the password; None where the password is enough."""
    return SecondFactor.objects.filter(person=person, since__isnull=False).first()


def offer(person: User) -> str:
    """A new secret, in base 32; it is asked for nowhere until `confirm`.  Refused where one is on."""
    nonce = secrets.token_hex(16)
    with transaction.atomic():
        row, made = SecondFactor.objects.select_for_update().get_or_create(
            person=person, defaults={"nonce": nonce}
        )
        if row.since is not None:
            raise Refused(Code.SECOND_FACTOR, "a second factor is on already: turn it off first")
        if not made:
            row.nonce = nonce
            row.save(update_fields=["nonce"])
    return _derived(nonce)


def offered(person: User) -> str | None:
    """The secret that was offered and not confirmed yet."""
    row = SecondFactor.objects.filter(person=person, since=None).first()
    return _derived(row.nonce) if row else None


def address_for_apps(secret: str, name: str, issuer: str) -> str:
    """What the QR code says to an app (otpauth://)."""
    return pyotp.TOTP(secret).provisioning_uri(name=name, issuer_name=issuer)


@transaction.atomic
def confirm(person: User, code: str) -> list[str] | None:
    """Turn on what was offered, by a code of it: recovery codes, told this once; None for a wrong one."""
    row = SecondFactor.objects.select_for_update().filter(person=person, since=None).first()
    step = step_of(_derived(row.nonce), code, time.time()) if row else None
    if row is None or step is None:
        return None
    row.since, row.last_step = timezone.now(), step
    row.save(update_fields=["since", "last_step"])
    record(person, "a second factor")
    return _new_recovery_codes(person)


def takes(person: User, typed: str) -> bool:
    """Whether this is a code of the person's second factor, or one of their recovery codes: each once."""
    row = factor_of(person)
    if row is None:
        return False
    step = step_of(_derived(row.nonce), typed, time.time())
    if step is not None:
        # The database decides which of two that bring one code is first (RFC 6238, 5.2: not accepted twice).
        return SecondFactor.objects.filter(pk=row.pk, last_step__lt=step).update(last_step=step) == 1
    with transaction.atomic():
        used, _rows = RecoveryCode.objects.filter(person=person, digest=_digest(typed)).delete()
        if used:
            record(person, f"a recovery code was used, {person.recovery_codes.count()} are left")
    return bool(used)


@transaction.atomic
def new_recovery_codes(person: User) -> list[str]:
    """Others in place of those that there were, told this once."""
    record(person, "new recovery codes")
    return _new_recovery_codes(person)


@transaction.atomic
def turn_off(person: User) -> None:
    """The password is enough from now on.  Refused where it is already."""
    gone, _rows = SecondFactor.objects.filter(person=person, since__isnull=False).delete()
    if not gone:
        raise Refused(Code.SECOND_FACTOR, f"{person.username} has no second factor")
    person.recovery_codes.all().delete()
    record(person, "no second factor any more")


def turn_off_of_another(person: User, by: User) -> None:
    """As `turn_off`, for somebody who lost the phone.  Refused of one's own, which wants a code."""
    if person.pk == by.pk:
        raise Refused(Code.SECOND_FACTOR, "your own is turned off on the page Second factor, by a code of it")
    turn_off(person)


def step_of(secret: str, code: str, now: float) -> int | None:
    """The number of the half minute whose code this is, near `now` (seconds since 1970); None for another."""
    bare = "".join(code.split())
    here, totp = int(now) // STEP, pyotp.TOTP(secret, interval=STEP)
    return next(
        (
            step
            for step in range(max(here - DRIFT, 0), here + DRIFT + 1)
            if hmac.compare_digest(totp.generate_otp(step).encode(), bare.encode())
        ),
        None,
    )


def _new_recovery_codes(person: User) -> list[str]:
    drawn = [
        base64.b32encode(secrets.token_bytes(_RECOVERY_BYTES)).decode().lower() for _ in range(RECOVERY_CODES)
    ]
    person.recovery_codes.all().delete()
    RecoveryCode.objects.bulk_create(RecoveryCode(person=person, digest=_digest(code)) for code in drawn)
    return ["-".join(code[at : at + 4] for at in range(0, len(code), 4)) for code in drawn]


def _digest(recovery_code: str) -> str:
    """80 random bits need no salt and no slow hash."""
    bare = "".join(each for each in recovery_code.casefold() if each.isalnum())
    return hashlib.sha256(bare.encode()).hexdigest()


def _derived(nonce: str) -> str:
    """160 bits, as RFC 4226 (4, R6) recommends, in base 32 without padding."""
    digest = salted_hmac("rehome second factor", nonce, algorithm="sha256").digest()
    return base64.b32encode(digest[:20]).decode()
