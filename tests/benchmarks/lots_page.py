"""A page of 50 lots of 100,000, filtered, against the raw SQL that reads the same rows and json.

    python -m tests.benchmarks.lots_page [--keep FOLDER]

The workshop is that of `tests.benchmarks.shortages`.  The floor reads the page's rows and their count and
prints them as json; the queries of a page are counted at two page sizes.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from typing import Any

from tests.benchmarks import start_django, verdict
from tests.benchmarks.planning import seconds

RATIO = 8
COLUMNS = (
    "l.id, l.condition, l.marking, l.origin_source, l.origin_ref, l.origin_from, l.measured, l.note,"
    " l.version, l.origin_board_id, t.id AS part, t.name, s.*"
)
FROM = """
 FROM inventory_lot l
 JOIN inventory_part t ON t.id = l.part_id
 JOIN inventory_storedspec s ON s.id = t.spec_id
"""
PAGES = {
    "4k7 resistors": ("?kind=resistor&value=4k7", "s.kind = 'resistor' AND s.value = 4700000000"),
    "untested capacitors, 10n to 1u": (
        "?kind=capacitor&value_min=10n&value_max=1u&condition=untested",
        "s.kind = 'capacitor' AND s.value BETWEEN 10000000 AND 1000000000 AND l.condition = 'untested'",
    ),
}


def read_raw(where: str, key: str) -> str:
    """Who asks, the rows of one page, where their pieces are, and how many lots there are in all, as json."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT * FROM inventory_accesskey k JOIN auth_user u ON u.id = k.person_id WHERE k.digest = %s",
            [key],
        )
        cursor.fetchall()
        cursor.execute(f"SELECT count(*){FROM} WHERE {where}")
        count = cursor.fetchone()[0]
        cursor.execute(f"SELECT {COLUMNS}{FROM} WHERE {where} ORDER BY l.id LIMIT 50")
        names = [column[0] for column in cursor.description]
        lots = [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
        ids = ", ".join(str(lot["id"]) for lot in lots)
        cursor.execute(
            "SELECT id, lot_id, place_id, ref, quantity, promised FROM inventory_holding"
            f" WHERE quantity > 0 AND lot_id IN ({ids}) ORDER BY id"
        )
        holdings = cursor.fetchall()
        cursor.execute("SELECT id, name, within_id FROM inventory_place")
        cursor.fetchall()
    return json.dumps({"count": count, "results": lots, "holdings": holdings}, default=str)


def measure(home: str) -> list[dict[str, Any]]:
    start_django(home)
    from django.contrib.auth import get_user_model
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from inventory.keys import kept_key
    from inventory.roles import give_role

    person, _made = get_user_model().objects.get_or_create(username="bench")
    give_role(person, "viewer")
    key = kept_key(person)
    client = Client(headers={"Authorization": f"Token {key}"})

    def page(query: str) -> Any:
        answer = client.get(f"/api/v1/lots/{query}")
        assert answer.status_code == 200, answer.content[:500]
        return answer.json()

    found = []
    for name, (query, where) in PAGES.items():
        asked: list[int] = []
        for size in (5, 50):
            with CaptureQueriesContext(connection) as queries:
                page(f"{query}&page_size={size}")
            asked.append(len(queries))
        assert page(query)["count"] == json.loads(read_raw(where, key))["count"]
        whole = seconds(lambda query=query: page(query))
        floor = seconds(lambda where=where: read_raw(where, key))
        found.append({"page": name, "seconds": whole, "floor": floor, "queries": asked})
    return found


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--keep", metavar="FOLDER", help="build the workshop there once and use it again")
    parser.add_argument("--measure", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        print(json.dumps(measure(options.keep)))
        return
    with tempfile.TemporaryDirectory(prefix="rehome-benchmark-") as temporary:
        home = options.keep or temporary
        build = [sys.executable, "-m", "tests.benchmarks.shortages", "--step", "build", "--keep", home]
        if not os.path.exists(os.path.join(home, "rehome.sqlite3")):
            subprocess.run(build, check=True)
        again = [sys.executable, "-m", "tests.benchmarks.lots_page", "--measure", "--keep", home]
        timings = json.loads(subprocess.run(again, check=True, stdout=subprocess.PIPE, text=True).stdout)
    for each in timings:
        few, many = each["queries"]
        print(f"{each['page']}: {each['seconds'] * 1000:.1f} ms, floor {each['floor'] * 1000:.1f} ms")
        verdict("  the page to raw SQL and json", each["seconds"] / each["floor"], RATIO)
        verdict(f"  queries for 50 lots less those for 5 ({few})", many - few, 0)


if __name__ == "__main__":
    main()
