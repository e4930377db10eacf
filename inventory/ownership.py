"""Whose a lot or a board is: somebody's, or everybody's, as all is at a bench of one.

What is a person's is changed by that person; after they left, by an owner of the bench.  What is everybody's
anybody who does the work may make their own, and each change is kept with who made it.
"""

from collections.abc import Callable, Iterable, Sequence

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Q, QuerySet

from inventory.chunks import chunks
from inventory.models import Board, HandOver, Holding, Lot
from inventory.refusals import Code, Refused
from inventory.roles import BENCH, OWNER, may_act_as

LOCKED_BEFORE_LOTS: list[Callable[[Sequence[int]], None]] = []
"""What locks the rows that use these lots, before their holdings are locked."""
BEFORE_LOTS_CHANGE_HANDS: list[Callable[[Sequence[int], User | None, User | None], None]] = []
"""What else has a say in it, or must follow: lots, to whom, by whom; their holdings are locked."""


HANDED_OVER_TOO: list[Callable[[User, User | None], None]] = []
"""What else of a person's goes with all their lots and boards: whose, to whom."""


def who_may_own(also: int | None = None) -> QuerySet[User]:
    """Those who do the work of the bench, and so may own things; `also` whoever has this one."""
    workers = Q(groups__name__in=(OWNER, BENCH)) | Q(is_superuser=True)
    return User.objects.filter(Q(workers, is_active=True) | Q(pk=also)).order_by("username").distinct()


def owned_by(rows: QuerySet, asked: str, person: User) -> QuerySet:  # type: ignore[type-arg]
    """The rows that are `person`'s (`me`), everybody's (`shared`), or those of the person of this name."""
    if asked == "shared":
        return rows.filter(owner=None)
    return rows.filter(owner=person) if asked == "me" else rows.filter(owner__username=asked)


def is_here(owner: User) -> bool:
    """Whether they do the work of the bench still, and so can be asked: not where they left or look on."""
    return owner.is_active and may_act_as(owner, BENCH)


def may_dispose(owner: User | None, by: User | None) -> bool:
    """Whether `by` may give or take away what is this owner's without asking: whoever is at the terminal may
    only where its owner left, or does no work here any more."""
    if owner is None or owner == by:
        return True
    return not is_here(owner) and (by is None or may_act_as(by, OWNER))


def refuse_anothers(row: Lot | Board, by: User | None, what: str) -> None:
    """Refused (`not_yours`) where the row is somebody else's; `what` was to be done with it."""
    if not may_dispose(row.owner, by):
        raise not_yours(row, what)


def not_yours(row: Lot | Board, what: str) -> Refused:
    """For what their yes lets be done: `what` is done with it."""
    owner = row.owner
    assert owner is not None
    if is_here(owner):
        return _refused(row, owner, f"{what} only with a yes; ask {owner.username}")
    return _refused(row, owner, f"{_gone(owner)}: an owner of the bench hands it over")


def _refuse_handing_on(row: Lot | Board, by: User | None) -> None:
    """There is no request for that: they do it themselves."""
    owner = row.owner
    if owner is None or may_dispose(owner, by):
        return
    if is_here(owner):
        raise _refused(row, owner, f"only {owner.username} hands it on")
    raise _refused(row, owner, f"{_gone(owner)}: only an owner of the bench hands it on")


def _gone(owner: User) -> str:
    return f"{owner.username} {'does no work here any more' if owner.is_active else 'has left'}"


def _refused(row: Lot | Board, owner: User, why: str) -> Refused:
    named = f"{row}" if isinstance(row, Lot) else row.name
    return Refused(Code.NOT_YOURS, f"{named} is {owner.username}'s: {why}", owner=owner.username, row=row.pk)


@transaction.atomic
def give_lots(lots: Iterable[int], to: User | None, *, by: User | None) -> int:
    """Make these lots somebody's, or everybody's (None); how many changed.  Refused: another's."""
    changed, wanted = 0, sorted(set(lots))
    _lock(wanted)
    for chunk in chunks(wanted):
        known = Lot.objects.select_for_update(of=("self",), no_key=True).filter(pk__in=chunk).order_by("id")
        rows = [
            lot for lot in known.select_related("part", "owner") if lot.owner_id != (to.pk if to else None)
        ]
        for lot in rows:
            _refuse_handing_on(lot, by)
        ids = [lot.pk for lot in rows]
        for hook in BEFORE_LOTS_CHANGE_HANDS:
            hook(ids, to, by)
        Lot.objects.filter(pk__in=ids).update(owner=to, version=F("version") + 1)
        _record(rows, "lot", to, by)
        changed += len(ids)
    return changed


def _lock(lots: Sequence[int]) -> None:
    """In the order in which whoever reserves, fits or answers locks: what uses the lots, then where they are.

    Those look whose a lot is behind the lock of its holding.
    """
    for chunk in chunks(lots):
        for hook in LOCKED_BEFORE_LOTS:
            hook(chunk)
    for chunk in chunks(lots):
        list(Holding.objects.select_for_update().filter(lot__in=chunk).order_by("id").values_list("id"))


@transaction.atomic
def give_board(board: Board, to: User | None, *, by: User | None) -> int:
    """Make a board somebody's, or everybody's, with the pieces still on it that were its owner's: how many
    lots.  Refused: another's."""
    there = Holding.objects.filter(place=board.place_id, quantity__gt=0)
    _lock(sorted(set(there.values_list("lot_id", flat=True))))  # a movement locks the board last
    board = Board.objects.select_for_update(of=("self",)).select_related("owner").get(pk=board.pk)
    if board.owner == to:
        return 0
    _refuse_handing_on(board, by)
    lots = give_lots(there.filter(lot__owner=board.owner_id).values_list("lot_id", flat=True), to, by=by)
    Board.objects.filter(pk=board.pk).update(owner=to, version=F("version") + 1)
    _record([board], "board", to, by)
    return lots


@transaction.atomic
def hand_all_over(person: User, to: User | None, *, by: User | None) -> tuple[int, int]:
    """All that is a person's becomes another's, or everybody's: how many lots and boards.  Refused: while
    they are still here, but by themselves."""
    if person == to:
        return 0, 0
    if may_dispose(person, by):
        for hook in HANDED_OVER_TOO:
            hook(person, to)
    boards = list(Board.objects.filter(owner=person).order_by("id"))
    lots = sum(give_board(board, to, by=by) for board in boards)
    lots += give_lots(Lot.objects.filter(owner=person).values_list("id", flat=True), to, by=by)
    return lots, len(boards)


def _record(rows: Sequence[Lot] | Sequence[Board], what: str, to: User | None, by: User | None) -> None:
    HandOver.objects.bulk_create(
        [
            HandOver(
                **{what: row},
                before=row.owner.username if row.owner else "",
                after=to.username if to else "",
                by=by,
            )
            for row in rows
        ],
        batch_size=500,
    )
