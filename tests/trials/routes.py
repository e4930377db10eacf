"""Every route, method and role, asked with good and bad values: no fault, whoever asks.

What each role may do is the tables' to say (`tests/api/who_may.py`); here nobody knows what to send.  Each
request is taken back, so that all meet the demo as it is.
"""

import json
import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.installed import Installation

LONGEST = 1800
"""Seconds for the long form, which sends each row; on a machine that does much else."""
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
PLACES = ("1", "2", "7", "40", "0", "-1", "99999999999999999999", "x", "4k7", "%00", "%C3%28")
QUESTIONS = (
    "", "", "page=0", "page=x&page_size=1e9", "page_size=3", "q=%00", "q=%C3%28", "q=4k7", "ordering=-x",
    "job=x", "job=1", "borrow=maybe", "kind=resistor&value=1e400", "kind=capacitor&value=%E2%88%9E",
    "a=1&a=2", "marking=%F0%9F%94%8B", "changed_since=-1", "format=xlsx", "format=exe",
    "id__in=" + ",".join("1" * 3000),
)  # fmt: skip
BODIES: tuple[Any, ...] = (
    {}, [], None, 7, "text", {"quantity": -1}, {"quantity": 10**30}, {"name": "\0", "note": "x" * 100_000},
    {"name": "a\ud800"}, {"part": {"kind": "x"}}, {"rows": [None, {}, 3]}, {"job": [1], "lot": {"id": 1}},
    {"spec": {"kind": "resistor", "value": "1e999"}}, {"kind": "move", "lot": 1, "from": 1, "to": 1},
    {"file": "../../etc/passwd"}, {"price": "NaN", "quantity": True}, {"due": "9999-99-99", "priority": 0},
)  # fmt: skip
RAW = (b"", b"{", b"\xff\xfe\x00", b"[" * 5000, b"a=1&a=2&quantity=-1&csrfmiddlewaretoken=x", b"--x\r\n\r\n")
TYPES = (
    "application/json",
    "application/x-www-form-urlencoded",
    "multipart/form-data; boundary=x",
    "text/csv",
    "",
)


def run(*, long: bool, seed: int) -> list[str]:
    with TemporaryDirectory() as folder:
        bench = Installation(Path(folder) / "workshop", REHOME_RATE="1000000/min")
        bench.begin(demo=True)
        asked = f"from tests.trials.routes import look; look({seed}, {1 if long else 0})"
        statuses, wrong = json.loads(bench.python(asked, timeout=LONGEST).splitlines()[-1])
    if not statuses.get("200"):
        wrong.append("nothing was answered 200: nothing was tried")
    print(f"  {sum(statuses.values())} requests: {dict(sorted(statuses.items()))}")
    return list(wrong)


def look(seed: int, times: int) -> None:
    """Print what was answered, by status, and what was a fault.  Each row so many times; a sample for 0."""
    from django.conf import settings
    from django.contrib.auth.models import User
    from django.db import transaction
    from django.test import Client

    from inventory.roles import ROLES, give_role

    rnd = random.Random(seed)
    settings.ALLOWED_HOSTS = ["*"]
    clients: dict[str, Client] = {"nobody": Client(raise_request_exception=False)}
    for role in ROLES:
        person = User.objects.create_user(f"routes-{role}")
        give_role(person, role)
        clients[role] = Client(raise_request_exception=False)
        clients[role].force_login(person)
    cookies = {role: client.cookies.output(header="") for role, client in clients.items()}
    rows = [(form, method, role) for form in forms() for method in METHODS for role in clients]
    rows = rows * times if times else rnd.sample(rows, 150)
    statuses: Counter[int] = Counter()
    wrong = []
    for form, method, role in rows:
        path = form % _Any(rnd)
        client = clients[role]
        client.cookies.clear()
        client.cookies.load(cookies[role])
        kind = rnd.choice(TYPES)
        data = rnd.choice(RAW) if rnd.random() < 0.3 else json.dumps(rnd.choice(BODIES)).encode()
        apart = transaction.atomic()
        apart._from_testcase = True  # so that what is outermost in the code still is
        with apart:
            answer = client.generic(method, f"/{path}", data, kind, QUERY_STRING=rnd.choice(QUESTIONS))
            if answer.streaming:
                b"".join(answer)
            transaction.set_rollback(True)
        statuses[answer.status_code] += 1
        if answer.status_code >= 500 and not (answer.status_code == 503 and method == "GET"):
            wrong.append(f"{method} /{path} as {role}, {kind} {data[:80]!r}: {answer.status_code}")
    print(json.dumps([statuses, wrong]))


class _Any(dict[str, str]):
    """For each name in a route something that may stand there."""

    def __init__(self, rnd: random.Random) -> None:
        super().__init__()
        self._rnd = rnd

    def __getitem__(self, name: str) -> str:
        return self._rnd.choice(PLACES)


def forms() -> Iterator[str]:
    """Every address of the URL conf, with `%(pk)s` where something is named."""
    from django.urls import URLPattern, URLResolver, get_resolver
    from django.utils.regex_helper import normalize

    def walk(patterns: list[URLPattern | URLResolver], before: str) -> Iterator[str]:
        for each in patterns:
            regex = before + str(each.pattern.regex.pattern).removeprefix("^")
            if isinstance(each, URLResolver):
                yield from walk(each.url_patterns, regex)
            else:
                yield normalize(regex.replace(r"\Z", ""))[0][0]

    return iter(dict.fromkeys(walk(get_resolver().url_patterns, "")))
