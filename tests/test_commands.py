"""The commands as a person types them: readable, scriptable, and one line when something is wrong."""

import json
import os
import subprocess
import sys
import time
import urllib.request
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from inventory.bench_settings import settings_of_bench
from inventory.keys import find
from inventory.ledger import Spot
from inventory.models import AccessKey, Holding, Lot, Movement, Place
from inventory.roles import role_of
from repairs import demo, reservations
from repairs.models import Job, Need
from tests import commands_at_once
from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PlaceFactory, spec, stock
from tests.postgres import free_port

ROOT = Path(__file__).resolve().parents[1]


def output(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out, stderr=StringIO())
    return out.getvalue()


@pytest.mark.django_db
class TestToken:
    def test_it_prints_the_key_alone_and_makes_the_person(self) -> None:
        key = output("token", "kim", "--role", "bench").strip()
        person = User.objects.get(username="kim")
        assert find(key).person == person
        assert key not in str(AccessKey.objects.values_list())
        assert role_of(person) == "bench"
        assert not person.has_usable_password()

    def test_the_same_person_keeps_the_key_and_the_role(self) -> None:
        first = output("token", "kim", "--role", "viewer")
        assert output("token", "kim") == first
        assert role_of(User.objects.get(username="kim")) == "viewer"

    def test_a_new_key_makes_the_old_one_useless(self) -> None:
        old = output("token", "kim").strip()
        assert output("token", "kim", "--new").strip() != old
        assert find(old) is None

    def test_only_the_first_person_is_an_owner_unasked(self) -> None:
        output("token", "kim")
        output("token", "wren")
        assert [role_of(User.objects.get(username=name)) for name in ("kim", "wren")] == ["owner", "bench"]

    def test_a_key_of_another_name_is_another_key_and_is_revoked_alone(self) -> None:
        first, scales = output("token", "kim").strip(), output("token", "kim", "--key", "scales").strip()
        assert first != scales
        assert output("token", "kim", "--key", "scales").strip() == scales
        find(scales)
        result = output("token", "kim", "--list")
        assert "scales" in result
        assert scales not in result
        output("token", "kim", "--revoke", "scales")
        assert (find(scales), find(first) is None) == (None, False)
        with pytest.raises(CommandError, match="no key called scales; there are: terminal"):
            output("token", "kim", "--revoke", "scales")

    def test_the_last_owner_keeps_the_role(self) -> None:
        output("token", "kim", "--role", "owner")
        with pytest.raises(CommandError, match="owner first"):
            output("token", "kim", "--role", "viewer")
        output("token", "wren", "--role", "owner")
        output("token", "kim", "--role", "viewer")
        assert role_of(User.objects.get(username="kim")) == "viewer"

    @pytest.mark.parametrize("name", ["", "two words", "x" * 151, "a/b"])
    def test_a_name_that_cannot_sign_in_is_refused(self, name: str) -> None:
        with pytest.raises(CommandError, match="name to sign in"):
            output("token", name)
        assert not User.objects.exists()


@pytest.mark.django_db
class TestPeople:
    @pytest.fixture(autouse=True)
    def _typed(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("sys.stdin", StringIO("three-clipped-leads\n"))

    def test_somebody_new_may_do_the_work_of_the_bench(self) -> None:
        assert output("people", "add", "wren") == "wren can sign in, as bench\n"
        wren = User.objects.get()
        assert (role_of(wren), wren.check_password("three-clipped-leads")) == ("bench", True)

    def test_people_are_listed_changed_shut_out_and_let_in_again(self) -> None:
        output("token", "robin", "--role", "owner")
        output("people", "add", "wren", "--role", "viewer")
        output("people", "role", "wren", "bench")
        output("people", "out", "wren")
        row = next(line for line in output("people").splitlines() if "wren" in line)
        assert row.split() == ["wren", "bench,", "shut", "out", "never", "0"]
        output("people", "back", "wren")
        assert User.objects.get(username="wren").is_active
        changes = output("people", "changes", "wren").splitlines()
        assert len([line for line in changes if "wren" in line]) == 4
        assert not any("robin" in line for line in changes)

    @pytest.mark.parametrize(
        ("command", "why"),
        [(("out", "robin"), "owner first"), (("role", "robin", "bench"), "owner first"),
         (("out", "nobody"), "nobody is called nobody; people: robin"),
         (("add", "Robin"), "there is a robin already"), (("add", "a b"), "letters, digits")],
    )  # fmt: skip
    def test_what_cannot_be_is_reported_in_one_line(self, command: tuple[str, ...], why: str) -> None:
        output("token", "robin", "--role", "owner")
        with pytest.raises(CommandError, match=why):
            output("people", *command)
        assert User.objects.count() == 1


@pytest.mark.django_db
class TestSettings:
    def test_they_are_set_and_shown(self) -> None:
        assert output("settings", "name=Saltmarsh", "era=1984").startswith("name = Saltmarsh\nera = 1984\n")
        output("settings", "era=")
        assert json.loads(output("settings", "--json")) == {
            "name": "Saltmarsh", "era": "", "labels": "", "address": "", "backups": "",
            "time_zone": settings.TIME_ZONE,
        }  # fmt: skip

    def test_what_cannot_be_set_leaves_all_as_it_was(self) -> None:
        with pytest.raises(CommandError, match="era: expected a year.*labels: expected one of a4-3x8"):
            output("settings", "name=Saltmarsh", "era=long ago", "labels=a9")
        with pytest.raises(CommandError, match="no such setting"):
            output("settings", "colour=red")
        with pytest.raises(CommandError, match="expected NAME=TEXT"):
            output("settings", "era")
        assert settings_of_bench().name == ""


@pytest.mark.django_db
class TestTrace:
    def test_a_piece_is_traced_from_its_donor_to_now(self) -> None:
        board = BoardFactory(name="Plover 1", design=DesignFactory(positions={"R7": spec()}))
        tray = PlaceFactory(name="Tray 1", type=Place.Type.TRAY)
        reservations.lift(board, ["R7"], Spot(tray.pk), by=None)
        result = output("trace", "--board", "Plover 1", "--ref", "R7")
        assert "off Plover 1 R7" in result
        assert "now: 1 at Tray 1" in result
        by_number = json.loads(output("trace", str(Lot.objects.get().pk), "--json"))
        assert [line["kind"] for line in by_number["movements"]] == ["receive", "lift"]
        assert [(there["place_name"], there["quantity"]) for there in by_number["now"]] == [("Tray 1", 1)]
        assert by_number["origin"]["ref"] == "R7"

    @pytest.mark.parametrize(
        ("asked", "message"),
        [
            (["9999"], "no lot has the number"),
            (["99999999999999999999"], "no lot has the number"),
            ([], "give the number of a lot"),
            (["--board", "nowhere", "--ref", "R1"], "no board is named nowhere"),
            (["3", "--ref", "R1"], "give the number of a lot"),
        ],
    )
    def test_what_is_not_there_is_reported_in_a_line(self, asked: list[str], message: str) -> None:
        with pytest.raises(CommandError, match=message):
            output("trace", *asked)


@pytest.mark.django_db
class TestAudit:
    def test_a_bench_that_agrees_says_so(self) -> None:
        stock(3)
        assert "everything agrees" in output("audit")

    def test_each_difference_is_named_and_the_status_is_one(self) -> None:
        here = stock(3)
        Holding.objects.filter(pk=here.pk).update(quantity=5)
        out = StringIO()
        with pytest.raises(SystemExit) as ended:
            call_command("audit", stdout=out)
        assert ended.value.code == 1
        assert f"lot {here.lot_id}" in out.getvalue()
        assert "holds 5, movements make 3" in out.getvalue()

    def test_a_promise_without_a_reservation_is_found(self) -> None:
        Holding.objects.filter(pk=stock(3).pk).update(promised=1)
        out = StringIO()
        with pytest.raises(SystemExit):
            call_command("audit", "--json", stdout=out)
        (difference,) = json.loads(out.getvalue())["differences"]
        assert "1 reserved, reservations make 0" in difference


@pytest.mark.django_db
class TestShortages:
    def test_one_job_of_several_can_be_asked_for(self) -> None:
        wanted = NeedFactory(job=JobFactory(name="Plover"), of=spec("resistor", "4k7"))
        NeedFactory(job=JobFactory(name="Gull"), of=spec("resistor", "22k"))
        result = output("shortages", "--job", "Plover")
        assert "4k7" in result
        assert "22k" not in result
        (row,) = json.loads(output("shortages", "--job", "Plover", "--json"))["results"]
        assert (row["needed"], row["short"], row["jobs"][0]["job"]) == (1, 1, wanted.job_id)

    def test_an_unknown_job_is_reported_with_those_that_are_open(self) -> None:
        JobFactory(name="Plover")
        with pytest.raises(CommandError, match="open jobs: Plover"):
            output("shortages", "--job", "Plovre")

    def test_what_people_typed_is_printed_as_it_is(self) -> None:
        NeedFactory(job=JobFactory(name="[bold]the big one[/bold]"))
        assert "[bold]the big one[/bold]" in output("shortages")


@pytest.mark.django_db
def test_the_demo_is_a_bench_that_agrees_and_competes_for_scarce_parts() -> None:
    demo.load(by=None)
    assert "everything agrees" in output("audit")
    rows = json.loads(output("shortages", "--json"))["results"]
    assert Job.objects.filter(status=Job.Status.OPEN).count() == 3
    assert Lot.objects.count() >= 250
    assert any(len(row["jobs"]) > 1 for row in rows), "jobs want the same parts"
    for source in ("free", "on_donors", "on_order", "short"):
        assert any(row[source] for row in rows), f"nothing is {source}"
    assert any(row["refused"] for row in rows)
    assert any(take["grade"] == "with_note" for row in rows for take in row["take"])
    assert Movement.objects.filter(borrow=True, settled_by=None).count() == 1
    assert set(Lot.objects.values_list("condition", flat=True)) == set(Lot.Condition.values)
    assert Need.objects.filter(fitted=1).exists()


class Workshop:
    """A workshop of its own, and manage.py run on it as a process of its own."""

    def __init__(self, home: Path) -> None:
        self.environment = {**os.environ, "REHOME_HOME": str(home)}
        self.environment.pop("DATABASE_URL", None)

    def start(self, *command: str) -> subprocess.CompletedProcess[str]:
        """The command as a shell starts it."""
        return subprocess.run(
            [sys.executable, "manage.py", *command],
            cwd=ROOT, env=self.environment, input="", capture_output=True, text=True, timeout=120,
        )  # fmt: skip

    def run(self, *command: str, answer: str = "") -> subprocess.CompletedProcess[str]:
        return commands_at_once.run(command, self.environment, answer=answer)


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return Workshop(tmp_path / "workshop")


def test_the_demo_keeps_what_a_person_changed_and_starts_over_only_when_asked(workshop: Workshop) -> None:
    first = workshop.start("demo", "--no-serve")
    assert first.returncode == 0, first.stderr
    assert "What open jobs are short of" in first.stdout
    assert "off Tern donor" in first.stdout
    key = first.stdout.rsplit("API key: ", 1)[1].split()[0]

    moved = workshop.run("shell", "-c", "from repairs.models import Job; Job.objects.update(note='mine')")
    assert moved.returncode == 0, moved.stderr
    assert key in workshop.run("demo", "--no-serve").stdout
    count = "from repairs.models import Job; print(Job.objects.filter(note='mine').count())"
    assert workshop.run("shell", "-c", count).stdout.strip().endswith("5")

    kept = workshop.run("demo", "--fresh", "--no-serve", answer="no\n")
    assert kept.returncode == 1
    assert "kept as it was" in kept.stderr
    assert workshop.run("shell", "-c", count).stdout.strip().endswith("5")

    over = workshop.run("demo", "--fresh", "--yes", "--no-serve")
    assert over.returncode == 0, over.stderr
    assert key not in over.stdout
    assert workshop.run("shell", "-c", count).stdout.strip().endswith("0")


def test_a_command_without_a_database_ends_in_one_line(workshop: Workshop) -> None:
    asked = workshop.start("shortages")
    assert asked.returncode == 1
    assert "python3 manage.py migrate" in asked.stderr
    assert "Traceback" not in asked.stderr


def test_the_server_answers_and_says_at_once_where_and_when_an_address_is_taken(
    workshop: Workshop, tmp_path: Path
) -> None:
    assert workshop.run("migrate", "-v0").returncode == 0
    port, printed = free_port(), tmp_path / "printed"
    with printed.open("w") as out:
        server = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", str(port)],
            cwd=ROOT, env={**workshop.environment, "PYTHONUNBUFFERED": ""},
            stdout=out, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
    try:
        for _attempt in range(600):
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=2) as answer:
                    assert json.load(answer)["status"] == "ok"
                break
            except OSError:
                assert server.poll() is None, server.communicate()[1]
                time.sleep(0.1)
        else:
            pytest.fail("the server never answered")
        so_far = printed.read_text()
        assert f"serving at http://localhost:{port}/" in so_far
        assert "nobody can sign in yet" in so_far
        second = workshop.run("serve", "--port", str(port))
        assert second.returncode == 1
        assert f"cannot listen on 127.0.0.1:{port}" in second.stderr
    finally:
        server.terminate()
        server.communicate(timeout=20)
