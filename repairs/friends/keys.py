"""The key of this bench, with which it signs what it gives away, and whose key signed what comes in."""

import secrets
from typing import Any

from inventory.refusals import Code, Refused
from repairs.friends.signing import SEED_BYTES, Signature, fingerprint, public_key, sign
from repairs.sharing_models import BenchKey, Friend

ONLY = 1
UNSIGNED = ""
OURS = "this bench"


def _seed() -> bytes:
    """Made the first time that it is asked for; kept in the database, so that a backup brings it back."""
    row = BenchKey.objects.filter(pk=ONLY).first()
    if row is None:
        row, _made = BenchKey.objects.get_or_create(pk=ONLY, defaults={"seed": secrets.token_hex(SEED_BYTES)})
    return bytes.fromhex(row.seed)


def key_of_bench() -> str:
    """The public half: friends keep it, and know by it that a file is of this bench."""
    return public_key(_seed())


def signature_of(data: bytes) -> Signature:
    """This bench's signature under these bytes."""
    return sign(_seed(), data)


def signer(signature: Signature | None) -> str:
    """Whose signature it is, which was found true when the file was read; blank: there is none."""
    if signature is None:
        return UNSIGNED
    return _known(signature) or f"an unknown key, {fingerprint(signature.key)}"


def _known(signature: Signature) -> str:
    """The friend whose key it is, or this bench; blank: nobody who is known."""
    if (friend := behind_key(signature)) is not None:
        return friend.name
    return OURS if signature.key == key_of_bench() else ""


def friend_behind(friend: Friend | None, signature: Signature | None) -> Friend | None:
    """Whose file it is: the friend who was named, or else the one whose key signed it.

    Refused as by `signer_for`.
    """
    signer_for(friend, signature)
    return friend if friend is not None else behind_key(signature)


def behind_key(signature: Signature | None) -> Friend | None:
    """The friend whose key signed it, where one is kept."""
    if signature is None:
        return None
    return Friend.objects.filter(key=signature.key).order_by("id").first()


def refuse_key_of_another(key: str, friend: Friend | None) -> None:
    """Refused (`taken`) where this key is kept of another friend: a file signed by it would be of either."""
    others = Friend.objects.exclude(pk=friend.pk) if friend is not None else Friend.objects.all()
    if key and (other := others.filter(key=key).order_by("id").first()):
        raise Refused(Code.TAKEN, f"that key is kept of {other} already: {fingerprint(key)}")


def signer_for(friend: Friend | None, signature: Signature | None) -> str:
    """The same for a file that is said to be of this friend.

    Refused where the friend's key is kept and the file is not signed by it (`not_signed`), and where it is
    signed by this bench, or by a key that is kept of another friend (`signed_by_another`).
    """
    if friend is None:
        return signer(signature)
    if signature is not None and signature.key == friend.key:
        return friend.name
    if not friend.key:
        if signature is not None and (whose := _known(signature)):
            raise Refused(
                Code.SIGNED_BY_ANOTHER,
                f"it is signed by {whose}, so it is not of {friend}: say whose it is, or name nobody",
            )
        return signer(signature)
    found = "it is not signed" if signature is None else f"it is signed by {signer(signature)}"
    raise Refused(
        Code.NOT_SIGNED,
        f"the key of {friend} is kept, {fingerprint(friend.key)}, and {found}: ask for one that is signed, "
        f"or put right the key that you keep of {friend}",
    )


def facts_of_key() -> dict[str, Any]:
    """The key and its fingerprint, as they are shown."""
    key = key_of_bench()
    return {"key": key, "fingerprint": fingerprint(key)}
