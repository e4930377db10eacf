"""The doctor says what is wrong with an installation and how to mend it, and nothing of one that is well."""

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.installed import Installation

pytestmark = pytest.mark.xdist_group("installed")  # the workshops that they copy are made once


@pytest.fixture(scope="module")
def healthy(tmp_path_factory: pytest.TempPathFactory) -> Installation:
    installation = Installation(tmp_path_factory.mktemp("healthy") / "workshop", REHOME_HOSTS="localhost")
    installation.begin(demo=True)
    sheet = installation.home.parent / "sheet.txt"
    sheet.write_text("pin 1: collector")
    installation.done("attachments", "add", str(sheet), "--part", "1")
    return installation


@pytest.fixture
def patient(healthy: Installation, tmp_path: Path) -> Installation:
    installation = Installation(tmp_path / "workshop", **healthy.settings)
    shutil.copytree(healthy.home, installation.home)
    return installation


def sql(installation: Installation, statement: str) -> None:
    with closing(sqlite3.connect(installation.database)) as raw, raw:
        raw.execute(statement)


def test_of_a_bench_that_is_well_it_says_so(healthy: Installation) -> None:
    assert "all is well" in healthy.done("doctor")


def test_one_thing_that_is_wrong_is_one(patient: Installation) -> None:
    patient.home.chmod(0o755)
    assert "\n1 thing is wrong\n" in patient.run("doctor").stdout


HARMS: dict[str, tuple[Callable[[Installation], object], str]] = {
    "modes": (lambda bench: bench.home.chmod(0o755), "chmod -R go="),
    "secret key": (lambda bench: (bench.home / "secret-key").unlink(), "secret-key"),
    "folder": (lambda bench: bench.database.unlink(), "restore FILE"),
    "pictures": (lambda bench: next(bench.home.rglob("*.jpg")).unlink(), "restore"),
    "attachments": (
        lambda bench: next((bench.home / "attachments").glob("*/*")).write_text("cut"),
        "restore",
    ),
    "clock": (
        lambda bench: sql(
            bench,
            "UPDATE inventory_movement SET at = '2090-01-01 00:00:00' "
            "WHERE id = (SELECT max(id) FROM inventory_movement)",
        ),
        "set the clock",
    ),
    "versions": (
        lambda bench: sql(
            bench,
            "DELETE FROM django_migrations WHERE id = "
            "(SELECT max(id) FROM django_migrations WHERE app = 'inventory')",
        ),
        "manage.py migrate",
    ),
    "audit": (
        lambda bench: sql(bench, "UPDATE inventory_holding SET quantity = quantity + 1 WHERE ref = ''"),
        "manage.py audit",
    ),
    "database": (
        lambda bench: bench.database.write_bytes(b"this is no database" * 900),
        "restore FILE",
    ),
    "backup": (
        lambda bench: (bench.home / "last-backup.json").write_text(
            json.dumps({"at": "2020-01-01T00:00:00+00:00", "file": "gone"})
        ),
        "backup --dated",
    ),
}


@pytest.mark.parametrize("check", HARMS)
def test_each_thing_that_is_wrong_is_named_with_its_mending(patient: Installation, check: str) -> None:
    harm, mending = HARMS[check]
    harm(patient)
    if check == "backup":
        (patient.home / "last-backup.json").chmod(0o600)
    run = patient.run("doctor", "--json")
    assert run.returncode == 1
    assert "Traceback" not in run.stderr
    wrong = [finding for finding in json.loads(run.stdout)["findings"] if finding["wrong"]]
    assert check in [finding["check"] for finding in wrong], wrong
    assert mending in " ".join(finding["mend"] for finding in wrong)


def test_of_a_folder_that_is_no_workshop_it_says_so_and_makes_none(tmp_path: Path) -> None:
    nowhere = Installation(tmp_path / "nowhere")
    (first, mending, count) = nowhere.run("doctor").stdout.splitlines()
    assert f"there is no workshop in {nowhere.home}" in first
    assert "REHOME_HOME" in mending
    assert count == "1 thing is wrong", "a key that never was is not lost"
    assert not nowhere.home.exists()
