"""Whether a board that is to give its parts works: that is said before an iron comes near it."""

from collections.abc import Collection

from django.db.models import Max

from inventory.models import Board, Movement
from repairs.models import Trial

OFF = (Movement.Kind.LIFT, Movement.Kind.REMOVE)


def known_to_work(boards: Collection[Board]) -> dict[int, str]:
    """Board -> a sentence that it works, for those that do: in use, or tried as a whole and good, and since
    then nothing came off.  Two queries."""
    found = {board.pk: f"{board.name} works" for board in boards if board.purpose == Board.Purpose.WORKING}
    others = {board.pk: board for board in boards if board.pk not in found}
    latest: dict[int, Trial] = {}
    for trial in Trial.objects.filter(board__in=others, lot=None, ref="").order_by("id"):
        if trial.board_id is not None and trial.verdict != Trial.Verdict.INCONCLUSIVE:
            latest[trial.board_id] = trial
    good = {pk: trial for pk, trial in latest.items() if trial.verdict == Trial.Verdict.GOOD}
    if not good:
        return found
    came_off = dict(
        Movement.objects.filter(kind__in=OFF, reversed_by=None, from_place__board__in=good)
        .order_by()
        .values_list("from_place__board")
        .annotate(last=Max("at"))
    )
    for pk, trial in good.items():
        if pk not in came_off or came_off[pk] < trial.at:
            found[pk] = f"{others[pk].name} works: it passed {trial.method} on {trial.at:%d %B %Y}".replace(
                " on 0", " on "
            )
    return found


def works(board: Board) -> str:
    """That this one works; blank where that is not known."""
    return known_to_work([board]).get(board.pk, "")
