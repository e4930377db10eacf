"""`?changed_since=`: a program keeps a copy of every list that ends equal to the workshop, whatever is done.

What the copy is compared with is each row as it is read by itself, which asks no log. One file, since every
test compares with the one mirror.
"""

import random
import threading
from collections.abc import Callable, Iterator
from importlib import import_module
from typing import Any

import pytest
from django.db import connection, connections, transaction

from inventory import changes
from inventory.api.viewsets import NounViewSet
from inventory.models import Board, ChangeEntry, ChangeEpoch, Lot, Movement, Part, Place, Position
from inventory.people import add_person
from inventory.roles import give_role
from repairs.models import Job, Loan, PieceAsk, Reservation
from repairs.proving_models import BenchEntry
from tests.api.test_problems import refused
from tests.examples import examples
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PersonFactory,
    PlaceFactory,
    attachment,
    photo,
    spec,
    stock,
)

API = "/api/v1/"
LISTS = (
    "parts", "places", "lots", "designs", "boards", "photos", "attachments", "people", "access-changes",
    "keys", "jobs", "needs", "reservations", "asks", "movements", "purchases", "loans", "trials",
    "substitutions", "swaps", "log-entries",
)  # fmt: skip
# Names of other rows, which are changed there, and sums over other lists, as the document says.
OF_OTHERS = {
    "path", "lots", "pieces", "holdings.path", "spec_text", "name", "part_name", "design_name", "board_name",
    "from_name", "to_name", "job_name", "place_name", "by", "overdue", "last_seen", "owner",
    "answered_by", "lot_text",
}  # fmt: skip


class Mirror:
    """A copy of the lists, kept by what they answer and nothing else."""

    def __init__(self, client: Any, lists: tuple[str, ...] = LISTS, page_size: int = 3) -> None:
        self.client, self.page_size = client, page_size
        self.rows: dict[str, dict[int, Any]] = {name: {} for name in lists}
        self.cursors = dict.fromkeys(lists, "start")

    def catch_up(self) -> None:
        for name, rows in self.rows.items():
            address: str | None = (
                f"{API}{name}/?changed_since={self.cursors[name]}&page_size={self.page_size}"
            )
            while address:
                answer = self.client.get(address)
                assert answer.status_code == 200, answer.content
                body = answer.json()
                for pk in body["removed"]:
                    rows.pop(pk, None)
                rows.update({row["id"]: row for row in body["results"]})
                self.cursors[name], address = body["cursor"], body["next"]

    def assert_equal(self) -> None:
        for name, rows in self.rows.items():
            there = {row["id"]: row for row in _whole_list(self.client, name)}
            assert rows.keys() == there.keys(), name
            for pk, row in there.items():
                assert _own(rows[pk]) == _own(row), (name, pk)


def _whole_list(client: Any, name: str) -> Iterator[Any]:
    address = f"{API}{name}/?page_size=500"
    while address:
        body = client.get(address).json()
        yield from body["results"]
        address = body["next"]


def _own(row: dict[str, Any]) -> dict[str, Any]:
    own = {name: value for name, value in row.items() if name not in OF_OTHERS}
    if "holdings" in own:
        own["holdings"] = [
            {name: value for name, value in each.items() if name not in ("path", "place_name")}
            for each in own["holdings"]
        ]
    return own


def things_to_do(owner: Any, chance: random.Random) -> list[Callable[[], object]]:
    """What people do, by the API; some of it is refused, which changes nothing."""

    def one(model: Any) -> int:
        ids = list(model.objects.order_by("pk").values_list("pk", flat=True))
        return int(chance.choice(ids)) if ids else 0

    def post(path: str, **body: Any) -> object:
        return owner.post(f"{API}{path}", body)

    def held() -> dict[str, Any]:
        lot = Lot.objects.filter(holdings__quantity__gt=0).order_by("?").first()
        holding = lot and lot.holdings.filter(quantity__gt=0).first()
        return {"lot": lot.pk, "from": holding.place_id} if lot and holding else {"lot": 0, "from": 0}

    return [
        lambda: post("parts/", kind="resistor", value=f"{chance.randint(1, 10**6)}"),
        lambda: owner.patch(f"{API}parts/{one(Part)}/", {"note": str(chance.random())}),
        lambda: owner.delete(f"{API}parts/{one(Part)}/"),
        lambda: post("places/", name=f"Drawer {chance.random()}"),
        lambda: owner.patch(f"{API}places/{one(Place)}/", {"note": "moved"}),
        lambda: owner.delete(f"{API}places/{one(Place)}/"),
        lambda: post(
            "movements/", kind="receive", part={"kind": "resistor", "value": chance.choice(["4k7", "10k"])},
            quantity=chance.randint(1, 5), to=Place.objects.filter(type="drawer").first().pk,  # type: ignore[union-attr]
        ),
        lambda: post("movements/", kind="move", to=one(Place), quantity=1, **held()),
        lambda: post("movements/", kind="scrap", quantity=1, **held()),
        lambda: post("movements/", kind="lend", quantity=1, to_person="wren", **held()),
        lambda: post("movements/", kind="reverse", movement=one(changes_model("movement"))),
        lambda: post("movements/", kind="return", loan=one(Loan)),
        lambda: owner.patch(
            f"{API}lots/{one(Lot)}/", {"condition": chance.choice(["good", "faulty", "suspect"])}
        ),
        lambda: post("jobs/", name=f"job {chance.random()}"),
        lambda: post("needs/", job=one(Job), kind="resistor", value="4k7", quantity=chance.randint(1, 3)),
        lambda: owner.delete(f"{API}needs/{one(changes_model('need'))}/"),
        lambda: post(f"jobs/{one(Job)}/reserve/"),
        lambda: owner.delete(f"{API}reservations/{one(Reservation)}/"),
        lambda: owner.patch(f"{API}lots/{one(Lot)}/", {"owner": chance.choice(["owner", "merle", None])}),
        lambda: owner.patch(f"{API}jobs/{one(Job)}/", {"owner": chance.choice(["owner", "merle", None])}),
        lambda: post("asks/", need=one(changes_model("need")), lot=one(Lot)),
        lambda: post(f"asks/{one(PieceAsk)}/answer/", yes=chance.random() < 0.6),
        lambda: post(f"asks/{one(PieceAsk)}/withdraw/"),
        lambda: post("designs/", name=f"Plover {chance.random()}", positions=[{"ref": "R1", "kind": "lamp"}]),
        lambda: owner.patch(f"{API}designs/{one(changes_model('design'))}/", {"positions": []}),
        lambda: post("boards/", name=f"board {chance.random()}", purpose="donor"),
        lambda: owner.patch(f"{API}boards/{one(changes_model('board'))}/", {"purpose": "working"}),
        lambda: owner.delete(f"{API}boards/{one(changes_model('board'))}/"),
        lambda: post("log-entries/", job=one(Job), text="looked"),
        lambda: post("trials/", lot=one(Lot), method="ohms", reading="4.7k"),
        lambda: post("keys/", name=f"key {chance.random()}"),
        lambda: post("people/", name=f"p{chance.randint(1, 10**9)}"),
        lambda: post("purchases/", part={"kind": "lamp"}, quantity=2),
    ]  # fmt: skip


def changes_model(name: str) -> Any:
    from django.apps import apps

    return next(model for model in apps.get_models() if model._meta.model_name == name)


def furnish() -> None:
    PlaceFactory(name="Drawer 1")
    PlaceFactory(name="wren", type="person")
    add_person("merle")
    design = DesignFactory(positions={"R1": spec(), "R2": spec("resistor", "10k")})
    donor = BoardFactory(design=design, purpose="donor")
    stock(3)
    stock(1, place=donor.place, ref="R1")
    job = JobFactory(board=BoardFactory(design=design))
    NeedFactory(job=job, ref="R1", of=spec())
    photo(subject="part", subject_id=PartFactory().pk)
    attachment(to=design)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
@pytest.mark.both_databases
@pytest.mark.alone
@pytest.mark.parametrize("seed", range(examples(2, 6)))
def test_a_copy_of_every_list_ends_equal_after_random_work(owner: Any, seed: int) -> None:
    furnish()
    chance = random.Random(seed)
    mirror, done = Mirror(owner), things_to_do(owner, chance)
    mirror.catch_up()
    for step in range(90):
        chance.choice(done)()
        if step % 15 == 0:
            mirror.catch_up()
    mirror.catch_up()
    mirror.assert_equal()
    before = {name: str(rows) for name, rows in mirror.rows.items()}
    mirror.catch_up()
    assert before == {name: str(rows) for name, rows in mirror.rows.items()}, "nothing was done since"


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
@pytest.mark.both_databases
@pytest.mark.alone
@pytest.mark.parametrize("seed", range(examples(1, 3)))
def test_one_feed_over_all_lists_keeps_such_a_copy_too(owner: Any, seed: int) -> None:
    """Only the rows that it names are read again."""
    furnish()
    chance = random.Random(seed)
    address, done = f"{API}changes/?page_size=7&changed_since=", things_to_do(owner, chance)
    cursor = owner.get(f"{address}start").json()["cursor"]
    copy = {name: {row["id"]: row for row in _whole_list(owner, name)} for name in LISTS}
    for step in range(60):
        chance.choice(done)()
        following = f"{address}{cursor}" if step % 20 == 19 else None
        while following:
            body = owner.get(following).json()
            for row in body["results"]:
                if row["removed"]:
                    copy[row["list"]].pop(row["id"], None)
                else:
                    one = owner.get(f"{API}{row['list']}/{row['id']}/")
                    copy[row["list"]][row["id"]] = one.json()
            cursor, following = body["cursor"], body["next"]
    for name, rows in copy.items():
        there = {row["id"]: row for row in _whole_list(owner, name)}
        assert rows.keys() == there.keys(), name
        assert {pk: _own(row) for pk, row in rows.items()} == {pk: _own(row) for pk, row in there.items()}
    assert owner.get(f"{address}{cursor}").json()["results"] == []


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_the_feed_names_to_each_what_they_may_read(owner: Any, viewer: Any) -> None:
    cursor = viewer.get(f"{API}changes/?changed_since=start").json()["cursor"]
    owner.post(f"{API}people/", {"name": "wren", "role": "viewer"})
    place = PlaceFactory(name="Drawer 9")
    gone = PlaceFactory(name="Drawer 10").pk
    Place.objects.filter(pk=gone).delete()
    seen = {
        person: [(row["list"], row["id"], row["removed"]) for row in client.get(
            f"{API}changes/?changed_since={cursor}").json()["results"]]
        for person, client in (("owner", owner), ("viewer", viewer))
    }  # fmt: skip
    assert {"people", "access-changes", "places"} <= {name for name, _row, _removed in seen["owner"]}
    assert seen["viewer"] == [("places", place.pk, False), ("places", gone, True)]


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_the_feed_refuses_what_is_no_cursor_of_it(owner: Any) -> None:
    furnish()
    stock(1)
    midway = owner.get(f"{API}lots/?changed_since=start&page_size=1").json()["cursor"]
    for asked in ("", "?changed_since=x", f"?changed_since={midway}", "?changed_since=start&page=2",
                  "?changed_since=start&page_size=900"):  # fmt: skip
        refused(owner.get(f"{API}changes/{asked}"), 400)
    cursor = owner.get(f"{API}lots/?changed_since=start").json()["cursor"]
    assert owner.get(f"{API}changes/?changed_since={cursor}").status_code == 200
    ChangeEpoch.objects.update(text="0123456789ab")
    assert refused(owner.get(f"{API}changes/?changed_since={cursor}"), 410)["code"] == "cursor_expired"


def _more_of_it(owner: Any, there: dict[str, Any]) -> None:
    stock(2, part=there["holding"].lot.part)


def _faulty(owner: Any, there: dict[str, Any]) -> None:
    owner.patch(f"{API}lots/{there['holding'].lot_id}/", {"condition": "faulty"})


def _moved(owner: Any, there: dict[str, Any]) -> None:
    here = there["holding"]
    sent = {"kind": "move", "lot": here.lot_id, "from": here.place_id, "to": PlaceFactory().pk, "quantity": 1}
    assert owner.post(f"{API}movements/", sent).status_code == 201


def _taken_back(owner: Any, there: dict[str, Any]) -> None:
    line = Movement.objects.get(kind="receive", lot=there["holding"].lot)
    assert owner.post(f"{API}movements/", {"kind": "reverse", "movement": line.pk}).status_code == 201


def _drawn(owner: Any, there: dict[str, Any]) -> None:
    Position.objects.filter(design=there["design"]).update(note="turned round")


def _a_donor_now(owner: Any, there: dict[str, Any]) -> None:
    Board.objects.filter(pk=there["board"].pk).update(purpose="donor")


def _borrowed(owner: Any, there: dict[str, Any]) -> None:
    sent = {"kind": "lift", "board": there["board"].pk, "refs": ["R1"], "to": there["holding"].place_id}
    assert owner.post(f"{API}movements/", {**sent, "borrow": True}).status_code == 201


def _brought_back(owner: Any, there: dict[str, Any]) -> None:
    loan = Loan.objects.get()
    assert owner.post(f"{API}movements/", {"kind": "return", "loan": loan.pk}).status_code == 201


def _another_need(owner: Any, there: dict[str, Any]) -> None:
    NeedFactory(job=there["job"])


def _pictured(owner: Any, there: dict[str, Any]) -> None:
    photo(subject="log_entry", subject_id=there["entry"].pk)


def _given_a_role(owner: Any, there: dict[str, Any]) -> None:
    give_role(there["person"], "bench")


CONSISTS = [
    ("parts", _more_of_it), ("parts", _faulty), ("lots", _moved), ("parts", _taken_back),
    ("lots", _taken_back),
    ("movements", _taken_back), ("designs", _drawn), ("parts", _a_donor_now), ("boards", _borrowed),
    ("jobs", _another_need), ("log-entries", _pictured), ("people", _given_a_role),
]  # fmt: skip


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
@pytest.mark.both_databases
@pytest.mark.alone
@pytest.mark.parametrize(("listed", "act"), CONSISTS)
def test_a_row_changes_with_what_it_consists_of(
    owner: Any, listed: str, act: Callable[[Any, dict[str, Any]], None]
) -> None:
    design = DesignFactory(positions={"R1": spec()})
    board = BoardFactory(design=design, purpose="working")
    job = JobFactory()
    there = {
        "holding": stock(3), "design": design, "board": board, "job": job, "person": PersonFactory(),
        "entry": BenchEntry.objects.create(job=job, text="looked"),
    }  # fmt: skip
    stock(1, place=board.place, ref="R1")
    mirror = Mirror(owner, (listed,))
    mirror.catch_up()
    before = str(mirror.rows)
    act(owner, there)
    mirror.catch_up()
    mirror.assert_equal()
    assert str(mirror.rows) != before


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_what_comes_back_is_told_of_the_loan_and_of_the_lender(owner: Any) -> None:
    board = BoardFactory(design=DesignFactory(positions={"R1": spec()}), purpose="working")
    there = {"board": board, "holding": stock(1)}
    stock(1, place=board.place, ref="R1")
    _borrowed(owner, there)
    mirror = Mirror(owner, ("loans", "boards"))
    mirror.catch_up()
    assert mirror.rows["boards"][board.pk]["incomplete"]
    _brought_back(owner, there)
    mirror.catch_up()
    mirror.assert_equal()
    assert not mirror.rows["boards"][board.pk]["incomplete"]
    assert [row["owed"] for row in mirror.rows["loans"].values()] == [0]


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_an_import_and_bulk_work_are_not_missed(owner: Any) -> None:
    """What no view writes: rows made, changed and removed in bulk."""
    furnish()
    mirror = Mirror(owner, ("parts", "places", "needs"))
    mirror.catch_up()
    Place.objects.bulk_create([Place(name=f"Tray {number}", type="tray") for number in range(20)])
    Place.objects.filter(name__startswith="Tray 1").update(note="upper row")
    Place.objects.filter(name="Tray 7").delete()
    Part.objects.update(note="counted")
    with transaction.atomic():
        Place.objects.filter(name="Tray 2").delete()
        transaction.set_rollback(True)
    mirror.catch_up()
    mirror.assert_equal()


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
@pytest.mark.both_databases
@pytest.mark.alone
def test_a_row_that_is_committed_late_is_not_missed(owner: Any) -> None:
    """Who began first commits last; on PostgreSQL the row has the lower number, and is seen later."""
    mirror = Mirror(owner, ("places",))
    mirror.catch_up()
    begun, may_end = threading.Event(), threading.Event()

    def slow() -> None:
        try:
            with transaction.atomic():
                Place.objects.create(name="slow")
                begun.set()
                assert may_end.wait(60)
        finally:
            connections.close_all()

    worker = threading.Thread(target=slow)
    worker.start()
    assert begun.wait(60)
    if connection.vendor == "postgresql":  # SQLite keeps the second writer waiting
        Place.objects.create(name="quick")
        by_number = ChangeEntry.objects.order_by("-id").values_list("id", flat=True)[0]
    mirror.catch_up()
    assert "slow" not in {row["name"] for row in mirror.rows["places"].values()}
    may_end.set()
    worker.join(60)
    if connection.vendor == "postgresql":
        slow_one = Place.objects.get(name="slow").pk
        late = ChangeEntry.objects.get(table="inventory_place", row=slow_one)
        assert late.id < by_number, "the control: whoever had gone by number would have missed it"
    mirror.catch_up()
    mirror.assert_equal()


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_with_filters_a_row_that_no_longer_meets_them_is_removed(owner: Any) -> None:
    lot = stock(3).lot
    address = f"{API}lots/?condition=good&changed_since="
    body = owner.get(f"{address}start").json()
    assert [row["id"] for row in body["results"]] == [lot.pk]
    owner.patch(f"{API}lots/{lot.pk}/", {"condition": "faulty"})
    body = owner.get(f"{address}{body['cursor']}").json()
    assert (body["results"], body["removed"]) == ([], [lot.pk])


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_lines_that_others_supersede_are_forgotten_and_nothing_is_missed(owner: Any) -> None:
    furnish()
    mirror = Mirror(owner, ("parts",))
    mirror.catch_up()
    for note in "abc":
        Part.objects.update(note=note)
    assert changes.forget_superseded() > 0
    assert changes.forget_superseded() == 0
    mirror.catch_up()
    mirror.assert_equal()


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_cursor_of_another_database_is_refused(owner: Any) -> None:
    cursor = owner.get(f"{API}lots/?changed_since=start").json()["cursor"]
    ChangeEpoch.objects.update(text="0123456789ab")
    assert refused(owner.get(f"{API}lots/?changed_since={cursor}"), 410)["code"] == "cursor_expired"


@pytest.mark.django_db
@pytest.mark.parametrize(
    "asked",
    ["x", "1.2", "a.b.c", "-1.0.0", "1.2.3.4.5", "start&page=2", "start&ordering=id", f"x.{'9' * 30}.1"],
)
def test_what_is_no_cursor_is_refused(viewer: Any, asked: str) -> None:
    refused(viewer.get(f"{API}lots/?changed_since={asked}"), 400)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_triggers_that_are_gone_come_back_and_a_new_epoch_begins(owner: Any) -> None:
    before = changes.current_epoch()
    changes.watch()
    assert changes.current_epoch() == before, "they are there: nothing begins anew"
    changes.stop_watching()
    try:
        assert not changes.is_watched()
    finally:
        changes.watch()
    assert changes.is_watched()
    assert changes.current_epoch() != before


def test_every_list_of_the_api_is_watched() -> None:
    import_module("config.urls")
    tables = {view.model._meta.db_table for view in _nouns(NounViewSet)}
    assert tables == changes.LISTED


def _nouns(view: type[NounViewSet]) -> Iterator[type[NounViewSet]]:
    for each in view.__subclasses__():
        if hasattr(each, "model"):
            yield each
        yield from _nouns(each)
