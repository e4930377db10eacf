"""Random requests one upon another, each kept: what the API's own examples say, bent, at rows that are there.

Whatever comes of it, there is no fault, and the audit recomputes the whole bench at the end.
"""

import json
import random
from collections import Counter, defaultdict
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.installed import Installation

LEFT_ALONE = ("people", "keys", "backups", "settings", "friends")
"""They may shut out whoever asks, or ask the network."""
NOUN_OF = {"from": "places", "to": "places", "place": "places", "by_part": "parts", "piece": "lots"}
TEXTS = ("", "\0", "x" * 5000, "<b>", "4k7", "../x", "R1-R9", "é🔋", "NaN", "-1")
NUMBERS = (0, 1, 2, 3, 5, 10, -1, 10**6, 10**9, 10**30, 1.5, True, None)


def run(*, long: bool, seed: int) -> list[str]:
    with TemporaryDirectory() as folder:
        bench = Installation(Path(folder) / "workshop", REHOME_RATE="1000000/min")
        bench.begin(demo=True)
        asked = f"from tests.trials.fuzz import ask; ask({seed}, {20_000 if long else 300})"
        statuses, wrong = json.loads(bench.python(asked).splitlines()[-1])
        audited = bench.run("audit")
        if audited.returncode:
            wrong.append(f"audit: {audited.stdout}{audited.stderr}")
    print(f"  {sum(statuses.values())} requests: {dict(sorted(statuses.items()))}")
    if not statuses.get("201"):
        wrong.append("nothing was made: nothing was tried")
    return list(wrong)


def ask(seed: int, times: int) -> None:
    """Print what was answered, by status, and what was a fault."""
    from django.contrib.auth.models import User
    from django.test import Client
    from drf_spectacular.generators import SchemaGenerator

    from inventory.roles import give_role

    rnd = random.Random(seed)
    person = User.objects.create_user("fuzz")
    give_role(person, "owner")
    client = Client(raise_request_exception=False)
    client.force_login(person)
    document = SchemaGenerator().get_schema(request=None, public=True)
    writes = [
        (method, path, [each["value"] for each in _examples(operation)] or [{}])
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
        if method in ("post", "put", "patch", "delete") and path.split("/")[3] not in LEFT_ALONE
    ]
    there: defaultdict[str, list[int]] = defaultdict(list)
    for noun in sorted({path.split("/")[3] for _, path, _ in writes}):
        listed = client.get(f"/api/v1/{noun}/", {"page_size": 100})
        rows = listed.json().get("results", ()) if listed.status_code == 200 else ()
        there[noun] = [row["id"] for row in rows if isinstance(row, dict) and "id" in row]
    bent = _Bent(rnd, there)
    statuses: Counter[int] = Counter()
    wrong = []
    for _request in range(times):
        method, path, examples = rnd.choice(writes)
        noun = path.split("/")[3]
        body = json.dumps(bent.like(rnd.choice(examples)))
        address = path.replace("{id}", str(bent.row(noun)))
        answer = getattr(client, method)(address, body, "application/json")
        statuses[answer.status_code] += 1
        if answer.status_code >= 500:
            wrong.append(f"{method.upper()} {address} {body[:500]}: {answer.status_code}")
        if answer.status_code == 201 and path == f"/api/v1/{noun}/":
            made = answer.json()
            if isinstance(made, dict) and isinstance(made.get("id"), int):
                there[noun].append(made["id"])
    print(json.dumps([statuses, wrong]))


def _examples(operation: dict[str, Any]) -> list[dict[str, Any]]:
    content = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
    return list(content.get("examples", {}).values())


class _Bent:
    """Values like those of an example, of rows that are there; some left out, some otherwise."""

    def __init__(self, rnd: random.Random, there: dict[str, list[int]]) -> None:
        self._rnd, self._there = rnd, there

    def row(self, noun: str) -> int:
        return self._rnd.choice(self._there.get(noun) or [1])

    def like(self, value: Any, name: str = "") -> Any:
        rnd = self._rnd
        if isinstance(value, dict):
            kept = [each for each in value.items() if rnd.random() > 0.05]
            return {key: self.like(each, key) for key, each in kept}
        if isinstance(value, list):
            return [self.like(each, name) for each in value if rnd.random() > 0.05]
        if rnd.random() < 0.05:
            return rnd.choice((*TEXTS, *NUMBERS, [], {}))
        noun = NOUN_OF.get(name, f"{name}s")
        if isinstance(value, int) and not isinstance(value, bool) and self._there.get(noun):
            return self.row(noun)
        if isinstance(value, int) and rnd.random() < 0.3:
            return rnd.choice(NUMBERS)
        return value
