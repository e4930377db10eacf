"""What must hold on both databases, run once more on a throwaway PostgreSQL."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tests.postgres import NoServer, throwaway

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.skipif(
    os.environ.get("DATABASE_URL", "").startswith("postgres"), reason="this is PostgreSQL already"
)
def test_the_same_holds_on_postgresql(tmp_path: Path) -> None:
    assert connection.vendor == "sqlite"
    try:
        with throwaway() as url:
            environment = {**os.environ, "DATABASE_URL": url, "REHOME_HOME": str(tmp_path)}
            environment.pop("PYTEST_XDIST_WORKER", None)
            run = subprocess.run(
                [sys.executable, "-m", "pytest", "-m", "both_databases", "-p", "no:xdist"],
                cwd=ROOT, env=environment, capture_output=True, text=True,
            )  # fmt: skip
    except NoServer as missing:
        pytest.skip(f"NOT RUN ON POSTGRESQL: {missing}")
    assert run.returncode == 0, run.stdout[-6000:] + run.stderr[-2000:]
