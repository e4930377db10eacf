"""The environment that `python3 manage.py` makes: whole, or healed, or the reason in words; never half."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

import manage
from tests.installed import Installation

ROOT = Path(__file__).resolve().parents[1]
BASE = Path(sys.base_prefix) / "bin/python3"


@pytest.fixture
def venv(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where manage.py would make its environment."""
    place = tmp_path / ".venv"
    monkeypatch.setattr(manage, "VENV", place)
    monkeypatch.setattr(manage, "PYTHON", place / "bin/python")
    return place


def has_pip(venv: Path) -> bool:
    return (
        subprocess.run([venv / "bin/python", "-m", "pip", "--version"], capture_output=True).returncode == 0
    )


def test_an_environment_without_pip_gets_it_and_keeps_the_rest(venv: Path) -> None:
    # What Debian's python3 leaves behind where python3-venv is missing.
    subprocess.run([BASE, "-m", "venv", "--without-pip", venv], check=True)
    (venv / "mine").touch()
    manage.make_environment()
    assert has_pip(venv)
    assert (venv / "mine").exists()


def test_an_environment_whose_python_is_gone_is_made_anew(venv: Path) -> None:
    (venv / "bin").mkdir(parents=True)
    (venv / "bin/python").symlink_to(venv / "usr/bin/python3.99")
    manage.make_environment()
    assert has_pip(venv)


def test_a_python_that_cannot_make_one_names_the_package(tmp_path: Path) -> None:
    # Debian and Ubuntu keep ensurepip in python3.X-venv (packages.debian.org/bookworm/python3.11-venv).
    (tmp_path / "sitecustomize.py").write_text("import sys\nsys.modules['ensurepip'] = None\n")
    copied = tmp_path / "rehome"
    copied.mkdir()
    for name in ("manage.py", "pyproject.toml"):
        (copied / name).write_bytes((ROOT / name).read_bytes())
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    run = subprocess.run(
        [BASE, copied / "manage.py", "demo"], env=environment, capture_output=True, text=True, timeout=60
    )
    assert run.returncode == 1
    package = f"python3.{sys.version_info.minor}-venv"
    assert f"sudo apt install {package}" in run.stderr
    assert "Traceback" not in run.stderr
    assert not (copied / ".venv").exists()


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("zone") / "workshop"
    Installation(home).begin()
    return home


def test_days_and_hours_are_in_the_zone_that_is_named(workshop: Path, tmp_path: Path) -> None:
    # The zone database: Asia/Kathmandu has been UTC+05:45 since 1986.
    there = Installation(workshop, REHOME_TIME_ZONE="Asia/Kathmandu")
    assert "time zone: Asia/Kathmandu (by REHOME_TIME_ZONE)" in there.done("settings")
    there.python("from tests.factories import stock; stock()")
    with closing(sqlite3.connect(there.database)) as database, database:
        database.execute("UPDATE inventory_movement SET at = '2026-03-01 20:00:00'")
    assert "2026-03-02 01:45" in there.done("trace", "1")
    there.done("export_sheet", "ledger", str(tmp_path / "ledger.csv"))
    assert "2026-03-02 01:45" in (tmp_path / "ledger.csv").read_text()
    key = there.done("token", "wren").strip()
    with there.serving() as server:
        server.key = key
        assert server.ask("/api/v1/settings/")[1]["time_zone"] == "Asia/Kathmandu"
        assert server.ask("/api/v1/movements/")[1]["results"][0]["at"].startswith("2026-03-02T01:45:00+05:45")


def test_the_zone_is_that_of_the_machine_where_none_is_named(workshop: Path) -> None:
    answer = Installation(workshop, TZ="Europe/Lisbon").done("settings")
    assert "time zone: Europe/Lisbon (this machine's" in answer


def test_a_zone_that_does_not_exist_is_refused(workshop: Path) -> None:
    nowhere = Installation(workshop, REHOME_TIME_ZONE="Europe/Saltmarsh")
    assert "REHOME_TIME_ZONE='Europe/Saltmarsh': expected a time zone name" in nowhere.refused("settings")


def test_two_workshops_on_one_machine_have_cookies_of_their_own(workshop: Path) -> None:
    # RFC 6265, 8.5: cookies do not provide isolation by port.
    names = "from django.conf import settings as s; print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME)"
    here, again, there = (
        Installation(workshop, **settings).python(names).split()
        for settings in ({}, {}, {"REHOME_SECRET_KEY": "that of another workshop"})
    )
    assert here == again
    assert not {*here} & {*there}
