"""A retried POST happens once.

The answer to an `Idempotency-Key` is stored in the transaction that does the work: both survive or neither
does.  A refused request leaves no key behind, so that it may be tried again.  A twin at the same moment waits
(SQLite: at BEGIN; PostgreSQL: at the unique index) and gets the stored answer.  Keys belong to a person and
are kept 24 hours.
"""

import json
from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from typing import Any, cast

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import QueryDict
from django.utils import timezone
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.problems import Refusal
from inventory.models import ApiCall
from inventory.refusals import Code

HEADER = "Idempotency-Key"
KEPT = timedelta(hours=24)
LONGEST_KEY = 255
STORED_HEADERS = ("Location", "ETag")
SWEPT_AT_ONCE = 20


class KeyReused(Refusal):
    """The key was used for another request: 422."""

    status_code = 422
    code = Code.KEY_REUSED


Complete = Callable[[Any], Any]
"""What puts into a stored answer that which is not stored with it, such as a key."""


def once(request: Request, run: Callable[[], Response], complete: Complete) -> Response:
    """Run the request in one transaction, once for each key; afterwards give the first answer again."""
    key = _key(request)
    with transaction.atomic(durable=True):
        call = _call(request, key) if key is not None else None
        if call is not None and call.status is not None:
            return _again(call, complete)
        response = run()
        if response.status_code >= 400:
            transaction.set_rollback(True)
        elif call is not None:
            _store(call, response)
        return response


def once_in_pieces(request: Request, run: Callable[[], Response], complete: Complete) -> Response:
    """As `once`, for work that takes its own transactions: a twin at the same moment does it too."""
    key = _key(request)
    if key is None:
        return run()
    with transaction.atomic(durable=True):
        call = _call(request, key)
    if call.status is not None:
        return _again(call, complete)
    response = run()
    if response.status_code < 400:
        _store(call, response)
    return response


def _call(request: Request, key: str) -> ApiCall:
    """The call of this key: answered already where it has a status."""
    _sweep(request, key)
    seen = _fingerprint(request)
    call, _fresh = ApiCall.objects.select_for_update().get_or_create(
        user=cast(User, request.user), key=key, defaults={"fingerprint": seen}
    )
    if call.fingerprint != seen:
        raise KeyReused(f"{HEADER} {key} was used for another request: a new request takes a new key")
    return call


def _again(call: ApiCall, complete: Complete) -> Response:
    return Response(complete(json.loads(str(call.body))), status=call.status, headers=call.headers)


def _store(call: ApiCall, response: Response) -> None:
    call.status = response.status_code
    # As text: PostgreSQL would sort the members, and the answer is to be the very same.
    secret = getattr(response, "secret", ())
    data = (
        {name: each for name, each in response.data.items() if name not in secret}
        if secret
        else response.data
    )
    call.body = JSONRenderer().render(data).decode() or "null"
    call.headers = {name: response[name] for name in STORED_HEADERS if name in response}
    call.save(update_fields=["status", "body", "headers"])


def _key(request: Request) -> str | None:
    sent = request.headers.get(HEADER)
    if sent is None:
        return None
    key = sent.strip().removeprefix('"').removesuffix('"')
    if not key or len(key) > LONGEST_KEY or not (key.isascii() and key.isprintable()):
        wanted = ErrorDetail(f"expected 1 to {LONGEST_KEY} printable ASCII characters", Code.UNREADABLE)
        raise ValidationError({HEADER: [wanted]})
    return key


def _fingerprint(request: Request) -> str:
    """What was asked: method, path with query, body; of an upload its parts, as boundaries differ."""
    seen = sha256(f"{request.method} {request.get_full_path()}\n".encode())
    if not (request.content_type or "").startswith("multipart/"):
        seen.update(request.body)
        return seen.hexdigest()
    for name, values in sorted(cast(QueryDict, request.data).lists()):
        for value in values:
            seen.update(f"\n{name}=".encode())
            if isinstance(value, UploadedFile):
                for chunk in value.chunks():
                    seen.update(chunk)
                value.seek(0)
            else:
                seen.update(str(value).encode())
    return seen.hexdigest()


def _sweep(request: Request, key: str) -> None:
    """Forget this key where it is past its time, and a few of the oldest."""
    ApiCall.objects.filter(user=cast(User, request.user), key=key, at__lt=timezone.now() - KEPT).delete()
    forget_oldest()


def forget_oldest() -> None:
    """Forget a few of the oldest keys where they are past their time; more go out than come in."""
    past = timezone.now() - KEPT
    oldest = ApiCall.objects.select_for_update(skip_locked=True).order_by("id")[:SWEPT_AT_ONCE]
    ApiCall.objects.filter(pk__in=[call.pk for call in oldest if call.at < past]).delete()
