"""What the tables and the code cite: no blog, forum, copy or encyclopaedia."""

import csv
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TABLES = [
    path
    for path in sorted((ROOT / "tests").rglob("data/*.csv"))
    if "source" in path.read_text(encoding="utf-8").partition("\n")[0].split(",")
]
FOLDERS = ("inventory/decoding", "inventory/spec", "inventory/type_numbers", "repairs/proving", "tests")
CITING = [
    path
    for folder in FOLDERS
    for path in sorted((ROOT / folder).rglob("*.py"))
    if path != Path(__file__).resolve()
]
WEAK = re.compile(
    r"blogspot|wordpress|forum|stackexchange|scribd|wikipedia|encyclop(a|e|æ)dia|mailing list|usenet", re.I
)
WEAK_ADDRESS = re.compile(
    r"(blogspot|wordpress|stackexchange|scribd|wikipedia)\.(com|org)|\bforum\.\w|encyclop(a|e|æ)dia article",
    re.I,
)


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_a_table_cites_no_blog_forum_copy_or_encyclopaedia(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as lines:
        cited = {row["source"] for row in csv.DictReader(lines)}
    assert "" not in cited
    assert [each for each in sorted(cited) if WEAK.search(each)] == []


def test_nor_does_the_code_that_reads_fits_and_judges_or_its_tests() -> None:
    weak = [
        f"{path.relative_to(ROOT)}: {found[0]}"
        for path in CITING
        if (found := WEAK_ADDRESS.search(path.read_text(encoding="utf-8")))
    ]
    assert weak == []
