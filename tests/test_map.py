"""The map in DEVELOPERS.md: whoever looks for a rule finds its file there, and what it names is there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
NAMED_ONE_BY_ONE = (
    "inventory", "inventory/spec", "inventory/ledger", "inventory/backups", "inventory/pictures",
    "repairs", "repairs/planning", "repairs/proving", "repairs/friends", "repairs/design_files",
)  # fmt: skip
"""Folders whose files each hold a rule of their own; elsewhere a file is named for its noun or page."""


def the_map() -> str:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return text[text.index("## Map") : text.index("## How a marking is read")]


@pytest.mark.parametrize("folder", NAMED_ONE_BY_ONE)
def test_every_file_that_holds_a_rule_is_on_the_map(folder: str) -> None:
    named = set(re.findall(r"`(?:[\w/]*/)?(\w+)(?:\.py)?`", the_map()))
    there = {path.stem for path in (ROOT / folder).glob("*.py")} - {"__init__", "apps"}
    assert there - named == set()


def test_every_file_and_folder_that_the_map_names_is_there() -> None:
    gone = []
    for row in re.findall(r"^\| (`[^|]*) \|", the_map(), re.MULTILINE):
        folder = ""
        for name in re.findall(r"`([\w/.]+)`", row):
            if not (ROOT / folder / name).exists():
                folder = ""  # the whole way from here on
            gone += [] if (ROOT / folder / name).exists() else [name]
            folder = folder or name.rpartition("/")[0]
    assert gone == []
