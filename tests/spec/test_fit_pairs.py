"""Pairs of required and offered part with the grades that a repair engineer would defend, each with why.

`fit_pairs.csv` was written by an adversary of the judge; `bench_pairs.csv` from rules of the trade and from
memory of data books, before its rows were judged.
"""

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from inventory.spec import Spec, fits, parse_value

DATA = Path(__file__).parent / "data"
DISPUTED = {
    "D037": ("drop_in", "1N914 and 1N4148 stand on one data sheet with one table of figures (from memory)"),
}
"""Row -> our grade, and why it is not one of the row's."""


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows("fit_pairs.csv"), ids=lambda row: str(row["id"]))
def test_the_judge_agrees_with_the_adversary(row: dict[str, str]) -> None:
    required, offered = (Spec.from_dict(json.loads(row[side])) for side in ("required", "offered"))
    fit = fits(required, offered, measured=int(row["measured"]) if row["measured"] else None)
    defended = row["grades_defended"].split("/")
    if row["id"] in DISPUTED:
        assert fit.grade not in defended, f"{row['id']} is disputed no more"
        assert fit.grade == DISPUTED[row["id"]][0]
    else:
        assert fit.grade in defended, (row["why"], fit.reasons)


def spec(kind: str, text: str) -> Spec:
    """`value=4k7 .use=timing`: fields by name, traits with a dot before it."""
    data: dict[str, Any] = {"kind": kind, "traits": {}}
    for name, value in re.findall(r"(\.?\w+)=(.*?)(?=\s+\.?\w+=|$)", text):
        (data["traits"] if name[0] == "." else data)[name.lstrip(".")] = value
    return Spec.from_dict(data)


@pytest.mark.parametrize(
    "row", rows("bench_pairs.csv"), ids=lambda row: f"{row['required']} | {row['offered']}"
)
def test_the_judge_agrees_with_the_bench(row: dict[str, str]) -> None:
    kind = row["kind"]
    measured = parse_value(kind, row["measured"]) if row["measured"] else None
    fit = fits(spec(kind, row["required"]), spec(kind, row["offered"]), measured=measured)
    assert fit.grade in row["grades"].split("/"), (row["why"], fit.reasons)
