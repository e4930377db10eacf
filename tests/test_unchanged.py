"""What is kept while nothing is committed: any change shows at once, and nothing half done is kept."""

import gc
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event, Thread

import pytest
from django.db import close_old_connections, connections, transaction

from inventory.models import Place
from inventory.unchanged import MAX_KEPT, stop_watching, while_unchanged
from tests.factories import NeedFactory, PartFactory, PlaceFactory, spec
from tests.races.test_races import race

# Alone: PostgreSQL numbers transactions for all databases of a server, so that any other test's is a change.
pytestmark = [
    pytest.mark.both_databases,
    pytest.mark.alone,
    pytest.mark.django_db(transaction=True, serialized_rollback=True),
]


class Counted:
    """The names of drawers, and how often they were read."""

    def __init__(self) -> None:
        self.read = 0
        self.drawers = while_unchanged(self._drawers)

    def _drawers(self, start: str = "", *, most: int = 9) -> tuple[str, ...]:
        self.read += 1
        found = Place.objects.filter(type=Place.Type.DRAWER, name__startswith=start).order_by("name")
        return tuple(found.values_list("name", flat=True)[:most])


@pytest.fixture
def counted() -> Counted:
    return Counted()


def drawer(name: str) -> Place:
    return Place.objects.create(name=name, type=Place.Type.DRAWER)


def elsewhere(work: object, *args: object) -> None:
    """Do it on another connection, as another request would."""

    def alone() -> None:
        try:
            work(*args)  # type: ignore[operator]
        finally:
            connections.close_all()

    thread = Thread(target=alone)
    thread.start()
    thread.join()


def test_nothing_is_read_again_while_nothing_changes(counted: Counted) -> None:
    drawer("A")
    assert [counted.drawers() for _ in range(3)] == [("A",)] * 3
    assert counted.read == 1


def test_each_question_has_its_own_answer(counted: Counted) -> None:
    drawer("A"), drawer("B")
    assert counted.drawers() == counted.drawers("") == counted.drawers(start="", most=9) == ("A", "B")
    assert counted.read == 1
    assert counted.drawers("B") == ("B",)
    assert counted.drawers(most=1) == ("A",)
    assert counted.read == 3


def test_what_one_commits_oneself_shows_at_once(counted: Counted) -> None:
    assert counted.drawers() == ()
    first = drawer("A")
    assert counted.drawers() == ("A",)
    Place.objects.filter(pk=first.pk).update(name="B")
    assert counted.drawers() == ("B",)
    first.delete()
    assert counted.drawers() == ()


def test_what_another_connection_commits_shows_at_once(counted: Counted) -> None:
    assert counted.drawers() == ()
    elsewhere(drawer, "A")
    assert counted.drawers() == ("A",)


def test_what_another_process_commits_shows_at_once(counted: Counted) -> None:
    NeedFactory(of=spec("resistor", "4k7"))
    part = PartFactory(of=spec("resistor", "4k7"))
    counted.drawers()
    counted.drawers()
    assert counted.read == 1
    assert race(("order_one_carelessly", part.pk, 1)) == ["ordered"]
    counted.drawers()
    assert counted.read == 2


def test_inside_a_transaction_one_sees_what_one_wrote_and_nobody_else_ever_does(counted: Counted) -> None:
    assert counted.drawers() == ()
    with transaction.atomic():
        drawer("A")
        assert counted.drawers() == ("A",)
        transaction.set_rollback(True)
    assert counted.drawers() == ()


def test_what_is_not_committed_yet_is_not_seen_elsewhere(counted: Counted) -> None:
    seen: list[tuple[str, ...]] = []
    counted.drawers()
    with transaction.atomic():
        drawer("A")
        elsewhere(lambda: seen.append(counted.drawers()))
    assert seen == [()]
    assert counted.drawers() == ("A",)


def test_an_answer_that_saw_a_change_halfway_is_given_but_not_kept() -> None:
    read = []

    @while_unchanged
    def twice() -> tuple[int, int]:
        before = Place.objects.count()
        if not read:
            elsewhere(drawer, "A")
        read.append(True)
        return before, Place.objects.count()

    first, then = twice(), twice()
    assert first[1] == first[0] + 1
    assert then == (first[1], first[1])


def test_those_who_ask_at_once_wait_for_one_answer() -> None:
    read, all_ask, go = [], Barrier(4), Event()

    @while_unchanged
    def slow() -> int:
        read.append(True)
        go.wait(5)
        return Place.objects.count()

    def ask() -> int:
        try:
            all_ask.wait(5)
            return slow()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(3) as people:
        answers = [people.submit(ask) for _ in range(3)]
        all_ask.wait(5)
        go.set()
        assert {answer.result(10) for answer in answers} == {Place.objects.count()}
    assert len(read) == 1
    close_old_connections()


def test_to_stop_watching_again_does_nothing_and_one_may_go_on(counted: Counted) -> None:
    """A server that is told twice to end."""
    counted.drawers()
    stop_watching()
    stop_watching()
    PlaceFactory(name="Drawer 9")
    assert "Drawer 9" in counted.drawers()


def test_only_the_last_few_answers_are_kept(counted: Counted) -> None:
    for number in range(MAX_KEPT + 1):
        counted.drawers(most=1 + number)
    counted.drawers(most=MAX_KEPT + 1)
    assert counted.read == MAX_KEPT + 1
    counted.drawers(most=1)
    assert counted.read == MAX_KEPT + 2


def test_an_answer_of_none_is_an_answer() -> None:
    read: list[bool] = []
    nothing = while_unchanged(lambda: read.append(True))
    nothing(), nothing()
    assert len(read) == 1


def test_no_garbage_is_looked_for_while_it_works_and_again_afterwards() -> None:
    def looking() -> bool:
        return gc.isenabled()

    def failing() -> None:
        raise LookupError

    assert gc.isenabled()
    assert not while_unchanged(looking)()
    assert gc.isenabled()
    with pytest.raises(LookupError):
        while_unchanged(failing)()
    assert gc.isenabled()
