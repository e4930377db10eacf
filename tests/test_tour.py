"""The tour of the README, run as it stands: each line of its blocks, in one shell, against a live server."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands_at_once import ROOT, stand_in
from tests.installed import Installation

pytestmark = pytest.mark.xdist_group("installed")  # the workshop that it copies is made once

# What a person does after a line before the next: fill in the sheet.
AFTER = {
    "python3 manage.py export_sheet stock my-stock.xlsx --empty": """
from openpyxl import load_workbook

book = load_workbook("my-stock.xlsx")
page = book["Stock"]
headings = {cell.value: cell.column for cell in page[1]}
for name, text in {"Kind": "resistor", "Value": "4k7", "Quantity": 9, "Place": "Tray 1"}.items():
    page.cell(2, headings[name], text)
book.save("my-stock.xlsx")
"""
}


def tour() -> list[str]:
    """The lines that the README says to type, in order."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = text.split("\n## A repair in ten minutes\n")[1].split("\n## ")[0]
    blocks = re.findall(r"^```\n(.*?)^```$", section, re.MULTILINE | re.DOTALL)
    return [line for block in blocks for line in block.splitlines() if line]


def may_end_with(line: str) -> set[int]:
    """The exit statuses that the README leaves room for: 0, and what the line's comment says."""
    return {0, *map(int, re.findall(r"# .*\bends with (\d)", line))}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A clone to leave files in, which is this one by links."""
    clone = tmp_path / "clone"
    clone.mkdir()
    for name in ("manage.py", "fixtures"):
        (clone / name).symlink_to(ROOT / name)
    return clone


@pytest.fixture
def programs(tmp_path: Path) -> Path:
    """What the shell finds first: a `python3` that starts fast, and room for a `curl`."""
    installation = Installation(tmp_path / "workshop")
    installation.begin(demo=True)
    found = tmp_path / "bin"
    found.mkdir()
    stand_in(found)
    return found


@pytest.mark.skipif(shutil.which("curl") is None, reason="NOT RUN: no curl on this machine")
def test_every_line_of_the_tour_ends_as_it_says(tmp_path: Path, folder: Path, programs: Path) -> None:
    installation = Installation(tmp_path / "workshop")
    lines = tour()
    script = ["set -o pipefail"]
    for number, line in enumerate(lines):
        script += [f"echo '>>> {number}'", line, f'echo "$? {number}" >> statuses']
        if line in AFTER:
            script += [f"{sys.executable} - <<'END'{AFTER[line]}END"]
    (folder / "tour.sh").write_text("\n".join(script))
    with installation.serving() as server:
        (programs / "curl").write_text(
            f"#!/bin/sh\nexec {shutil.which('curl')} --fail-with-body --noproxy '*' "
            f'--connect-to localhost:8000:127.0.0.1:{server.port} "$@"\n'
        )
        (programs / "curl").chmod(0o755)
        run = subprocess.run(
            ["bash", "tour.sh"], cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, text=True,
            timeout=280, env={**installation.environment, "PATH": f"{programs}:{os.environ['PATH']}"},
        )  # fmt: skip
    statuses = [tuple(map(int, line.split())) for line in (folder / "statuses").read_text().splitlines()]
    assert [number for _status, number in statuses] == list(range(len(lines)))
    shown = re.split(r"^>>> \d+\n", run.stdout, flags=re.MULTILINE)[1:]
    failed = [
        f"{lines[number]}\nended with {status}\n{shown[number][-600:]}"
        for status, number in statuses
        if status not in may_end_with(lines[number])
    ]
    assert not failed, "\n\n".join([*failed, run.stderr[-3000:]])
    assert "Traceback" not in run.stderr + run.stdout
    assert set(AFTER) <= set(lines)
    assert "HiGHS" not in run.stdout  # a library's banner in what another program reads
