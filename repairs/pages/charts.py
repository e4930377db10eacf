"""What one looks at rather than reads: how a job came along, drawn as steps; the words stand beside it."""

from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from inventory.models import Movement
from repairs.models import Job, Need, Reservation

WIDTH, HEIGHT = 640, 200
LEFT, RIGHT, TOP, BOTTOM = 16, 16, 16, 16
MAX_DAYS = 400


@dataclass(frozen=True)
class Steps:
    """Pieces fitted over time: the line and the area beneath it in drawing units, and the days in words."""

    line: str
    area: str
    full: float
    floor: float
    end: tuple[float, float]
    summary: str
    days: list[tuple[date, int]]
    first: date
    last: date
    needed: int
    moved: bool
    width: int = WIDTH
    height: int = HEIGHT


def completeness(job: Job) -> Steps | None:
    """How many of the pieces that a job needs were in place since it was opened; None without needs."""
    needed = sum(job.needs.filter(status=Need.Status.OPEN).values_list("quantity", flat=True))
    if not needed:
        return None
    start, end = job.opened, job.closed or timezone.now()
    changes = _changes(job, start)
    began = sum(change for at, change in changes if at <= start)
    count, days = began, {timezone.localdate(start): began}
    steps: list[tuple[datetime, int]] = [(start, began)]
    for at, change in changes:
        if at > start:
            count += change
            steps.append((at, count))
            days[timezone.localdate(at)] = count
    span = max((end - start).total_seconds(), 1.0)
    top = max(needed, *(fitted for _, fitted in steps))

    def spot(at: datetime, fitted: int) -> tuple[float, float]:
        along = min(max((at - start).total_seconds() / span, 0.0), 1.0)
        x = LEFT + along * (WIDTH - LEFT - RIGHT)
        return round(x, 1), round(HEIGHT - BOTTOM - fitted / top * (HEIGHT - TOP - BOTTOM), 1)

    floor = float(HEIGHT - BOTTOM)
    x, y = spot(*steps[0])
    points = [(x, y)]
    for at, fitted in steps[1:]:
        x, there = spot(at, fitted)
        points += [(x, y), (x, there)]
        y = there
    points.append(spot(end, count))
    line = " ".join(f"{x},{y}" for x, y in points)
    return Steps(
        line=line,
        area=f"{points[0][0]},{floor} {line} {points[-1][0]},{floor}",
        full=spot(start, needed)[1],
        floor=floor,
        end=points[-1],
        summary=_summary(job, began, count, needed),
        days=sorted(days.items())[-MAX_DAYS:],
        first=timezone.localdate(start),
        last=timezone.localdate(end),
        needed=needed,
        moved=len(steps) > 1,
    )


def _summary(job: Job, began: int, count: int, needed: int) -> str:
    ended = "when it was closed" if job.closed is not None else "now"
    return f"{began} of {needed} in place when it was opened, {count} of {needed} {ended}."


def _changes(job: Job, start: datetime) -> list[tuple[datetime, int]]:
    """When pieces for the job were fitted, and when they left again, in order."""
    given = list(
        Reservation.objects.filter(need__job=job, need__status=Need.Status.OPEN)
        .exclude(movement=None, status__in=[Reservation.Status.HELD, Reservation.Status.RELEASED])
        .select_related("movement", "need", "holding")
    )
    gone = [each for each in given if each.status == Reservation.Status.RELEASED]
    left: dict[tuple[int, str], list[tuple[int, datetime]]] = {}
    if gone and job.board is not None:
        rows = Movement.objects.filter(
            from_place=job.board.place_id, lot__in=[each.holding.lot_id for each in gone]
        )
        for pk, lot, ref, at in rows.order_by("id").values_list("id", "lot_id", "from_ref", "at"):
            left.setdefault((lot, ref), []).append((pk, at))
    changes: list[tuple[datetime, int]] = []
    for each in given:
        at = each.movement.at if each.movement is not None else start
        changes.append((at, each.quantity))
        if each.status == Reservation.Status.RELEASED:
            after = each.movement_id or 0
            went = [when for pk, when in left.get((each.holding.lot_id, each.need.ref), []) if pk > after]
            changes.append((went[0] if went else at, -each.quantity))
    return sorted(changes, key=lambda change: change[0])
