"""The pages in a real browser, where there is one: `tests/browser/`, in a process of its own.

What drives the browser keeps an event loop running, beside which Django refuses to touch the database.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.browser.bench import what_is_missing

ROOT = Path(__file__).resolve().parents[1]


def test_the_pages_hold_in_a_browser() -> None:
    if missing := what_is_missing():
        pytest.skip(f"NOT RUN IN A BROWSER: {missing}")
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST")}
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "tests/browser", "-n", "2"],
        cwd=ROOT, env=environment, capture_output=True, text=True,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout[-8000:] + run.stderr[-2000:]
