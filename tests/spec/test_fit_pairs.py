"""Pairs of required and offered part with the grades that a repair engineer would defend, each with why.

`fit_pairs.csv` was written by an adversary of the judge; `bench_pairs.csv` from rules of the trade and from
memory of data books, before its rows were judged.
"""

import csv
import json
import re
from pathlib import Path
from typing import Any

from inventory.spec import Spec, fits, parse_value

DATA = Path(__file__).parent / "data"
DISPUTED = {
    "D037": ("drop_in", "1N914 and 1N4148 stand on one data sheet with one table of figures (from memory)"),
}
"""Row -> our grade, and why it is not one of the row's."""


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_judge_agrees_with_the_adversary() -> None:
    wrong = {}
    for row in rows("fit_pairs.csv"):
        required, offered = (Spec.from_dict(json.loads(row[side])) for side in ("required", "offered"))
        fit = fits(required, offered, measured=int(row["measured"]) if row["measured"] else None)
        defended = row["grades_defended"].split("/")
        if row["id"] in DISPUTED:
            assert fit.grade not in defended, f"{row['id']} is disputed no more"
            defended = [DISPUTED[row["id"]][0]]
        if fit.grade not in defended:
            wrong[row["id"]] = (fit.grade, row["why"], fit.reasons)
    assert wrong == {}


def spec(kind: str, text: str) -> Spec:
    """`value=4k7 .use=timing`: fields by name, traits with a dot before it."""
    data: dict[str, Any] = {"kind": kind, "traits": {}}
    for name, value in re.findall(r"(\.?\w+)=(.*?)(?=\s+\.?\w+=|$)", text):
        (data["traits"] if name[0] == "." else data)[name.lstrip(".")] = value
    return Spec.from_dict(data)


def test_the_judge_agrees_with_the_bench() -> None:
    wrong = {}
    for row in rows("bench_pairs.csv"):
        kind = row["kind"]
        measured = parse_value(kind, row["measured"]) if row["measured"] else None
        fit = fits(spec(kind, row["required"]), spec(kind, row["offered"]), measured=measured)
        if fit.grade not in row["grades"].split("/"):
            wrong[row["required"], row["offered"]] = (fit.grade, row["why"], fit.reasons)
    assert wrong == {}
