"""Dated backups: kept by day, week and month; taken by an owner from the page, the API or a timer."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from inventory import backups
from inventory.backups.dated import kept_by, rule_of
from tests.installed import Installation

NIGHTS = [datetime(2026, 1, 1, 3, tzinfo=UTC) + timedelta(days=day) for day in range(365)]


def test_of_a_year_of_nights_the_last_days_weeks_and_months_stay() -> None:
    kept = sorted(kept_by(rule_of("7 daily, 5 weekly, 12 monthly"), NIGHTS), reverse=True)
    assert [f"{night:%m-%d}" for night in kept] == [
        # seven days to 31 December 2026, a Thursday; Sundays of the weeks before; ends of months
        "12-31", "12-30", "12-29", "12-28", "12-27", "12-26", "12-25", "12-20", "12-13", "12-06",
        "11-30", "10-31", "09-30", "08-31", "07-31", "06-30", "05-31", "04-30", "03-31", "02-28", "01-31",
    ]  # fmt: skip


@given(
    st.lists(st.sampled_from(NIGHTS), max_size=40), st.integers(0, 5), st.integers(0, 5), st.integers(0, 5)
)
def test_the_newest_always_stays_and_keeping_again_removes_nothing(
    nights: list[datetime], daily: int, weekly: int, monthly: int
) -> None:
    rule = {"daily": daily, "weekly": weekly, "monthly": monthly}
    kept = kept_by(rule, nights)
    assert not nights or max(nights) in kept
    assert kept_by(rule, kept) == kept
    assert len(kept) <= daily + weekly + monthly + 1


@pytest.mark.parametrize("text", ["seven daily", "7", "0 daily", "7 daily 5 weekly", "7 hourly"])
def test_what_is_no_rule_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="expected"):
        rule_of(text)


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.HOME, settings.BACKUPS, settings.MEDIA_ROOT = tmp_path, tmp_path / "kept", tmp_path / "pictures"
    return tmp_path / "kept"


@pytest.mark.django_db
def test_an_owner_takes_one_by_the_api_and_fetches_it(owner: Any, folder: Path) -> None:
    assert owner.get("/api/v1/backups/").json()["last_good"] is None
    made = owner.post("/api/v1/backups/", HTTP_IDEMPOTENCY_KEY="night 1")
    assert made.status_code == 201, made.content
    again = owner.post("/api/v1/backups/", HTTP_IDEMPOTENCY_KEY="night 1")
    assert again.json() == made.json()
    (there,) = owner.get("/api/v1/backups/").json()["results"]
    assert there == made.json()
    data = b"".join(owner.get(made["Location"]).streaming_content)
    assert data == (folder / there["name"]).read_bytes()
    copy = folder / "fetched.backup"
    copy.write_bytes(data)
    with backups.opened(copy) as backup:
        assert "inventory_lot" in backup.manifest["tables"]
    assert owner.get("/healthz").json()["backup_age_hours"] == 0


@pytest.mark.parametrize("name", ["..", "dated-x.backup", "dated-20200101T000000Z.backup"])
def test_nothing_else_is_fetched(owner: Any, folder: Path, name: str) -> None:
    assert owner.get(f"/api/v1/backups/{name}/").status_code == 404


def test_an_owner_takes_one_by_a_button(owner: Any, client: Client, folder: Path, settings: Any) -> None:
    client.force_login(owner.person)
    assert "No backup was ever taken" in client.get("/backups/").content.decode()
    assert "None was ever taken" in client.get("/more/").content.decode()
    page = client.post("/backups/", follow=True).content.decode()
    assert "A backup was taken and checked" in page
    (there,) = backups.dated()
    assert f"/backups/{there.name}/" in page
    assert "old" in client.get("/more/").content.decode()
    fetched = client.get(f"/backups/{there.name}/")
    assert b"".join(fetched.streaming_content) == there.path.read_bytes()


def test_nobody_else_sees_them(bench: Any, client: Client, folder: Path) -> None:
    client.force_login(bench.person)
    assert client.get("/backups/").status_code == 403
    assert client.post("/backups/").status_code == 403
    assert "Backups" not in client.get("/more/").content.decode()


def test_a_folder_that_cannot_be_written_is_reported(owner: Any, client: Client, folder: Path) -> None:
    folder.write_text("a file where the folder should be")
    client.force_login(owner.person)
    page = client.post("/backups/", follow=True).content.decode()
    assert "could not be written" in page


def test_a_timer_takes_one_and_keeps_what_the_settings_say(tmp_path: Path) -> None:
    bench = Installation(tmp_path / "workshop", REHOME_BACKUPS=str(tmp_path / "stick"))
    bench.begin()
    bench.done("settings", "backups=2 daily")
    for day in ("20260103", "20260104", "20260105"):
        (tmp_path / "stick").mkdir(exist_ok=True)
        (tmp_path / "stick" / f"dated-{day}T030000Z.backup").write_text("an earlier night's")
    bench.done("backup", "--dated")
    names = sorted(path.name[:14] for path in (tmp_path / "stick").iterdir())
    assert names[0] == "dated-20260105"
    assert len(names) == 2
    assert str(tmp_path / "stick") in bench.done("backup", "--list")


def test_before_a_migration_a_backup_is_taken_that_brings_it_back(tmp_path: Path) -> None:
    bench = Installation(tmp_path / "workshop")
    bench.done("migrate", "inventory", "0008", "-v0")
    assert not (bench.home / "backups").exists(), "there was nothing to keep"
    run = bench.run("migrate", "-v0")
    assert "as it was before, it is kept in" in run.stderr
    (kept,) = (bench.home / "backups").iterdir()
    with backups.opened(kept) as backup:
        applied = [name for app, name in backup.manifest["migrations"] if app == "inventory"]
    assert applied[-1].startswith("0008")
    assert bench.run("migrate", "-v0").stderr == ""
