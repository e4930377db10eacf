"""Signatures on files: Ed25519 (RFC 8032) over the one canonical form of their JSON (RFC 8785).

Pure.  A key is the 32 bytes of its public half, written in base64.  A signed JSON file has a last member
`signature`, over the file without it; a design's zip has `signature.json`, over the bytes of `design.json`,
which names its pictures by their SHA-256.
"""

from base64 import b64decode, b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from hashlib import sha256
from typing import Annotated, Any

import rfc8785
from nacl.exceptions import BadSignatureError
from nacl.signing import SigningKey, VerifyKey
from pydantic import ConfigDict, StringConstraints

from inventory.refusals import Code, Refused

SEED_BYTES = 32
KEY_LENGTH = 44
"""Of a key in base64."""


@dataclass(frozen=True)
class Signature:
    """Whose key signed the file, and the signature, both in base64."""

    __pydantic_config__ = ConfigDict(extra="forbid")

    key: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9+/]{43}=$")]
    value: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9+/]{86}==$")]


def canonical(plain: Any) -> bytes:
    """The bytes that are signed: RFC 8785, of text, truth values and whole numbers below 2**53.

    ValueError for other numbers: a fraction is written in many ways, and goes as text.
    """
    waiting = [plain]
    while waiting:
        item = waiting.pop()
        if isinstance(item, float | Decimal):
            raise ValueError(f"{item} is a fraction: in a signed file it must be text")
        if isinstance(item, Mapping):
            waiting += item.values()
        elif isinstance(item, list):
            waiting += item
    return rfc8785.dumps(plain)


def public_key(seed: bytes) -> str:
    """The key that others keep of whoever has this seed."""
    return b64encode(bytes(SigningKey(seed).verify_key)).decode()


def sign(seed: bytes, data: bytes) -> Signature:
    """The same signature for the same bytes."""
    return Signature(public_key(seed), b64encode(SigningKey(seed).sign(data).signature).decode())


def is_true(signature: Signature, data: bytes) -> bool:
    """Whether that key signed these very bytes."""
    try:
        VerifyKey(b64decode(signature.key)).verify(data, b64decode(signature.value))
    except (BadSignatureError, ValueError):
        return False
    return True


def read_key(text: str) -> str:
    """A key as people pass it on.  Refused (`unreadable`) where it is none."""
    plain = "".join(text.split())
    try:
        key = b64decode(plain, validate=True)
    except ValueError:
        key = b""
    if len(key) != SEED_BYTES:
        raise Refused(Code.UNREADABLE, "expected the key of a workshop: 44 characters that end in =")
    return b64encode(key).decode()


def fingerprint(key: str) -> str:
    """A key as people compare it: the first 16 figures of its SHA-256, in fours."""
    digits = sha256(b64decode(key)).hexdigest()[:16]
    return " ".join(digits[at : at + 4] for at in range(0, 16, 4))
