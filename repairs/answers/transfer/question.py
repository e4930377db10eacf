"""What may be asked of a transfer: which job's board, from which donor."""

from collections.abc import Iterator, Sequence

from inventory.ledger import Refused
from inventory.models import Board
from inventory.refusals import Code
from inventory.whole_numbers import whole_number
from repairs.answers.parameters import Parameter, PlanQuestion, Unreadable
from repairs.answers.transfer.answer import Transfer, sheets
from repairs.answers.transfer.plan import transfer_plan
from repairs.models import Job


def _job(texts: Sequence[str]) -> Job:
    number = whole_number(texts[0]) if len(texts) == 1 else None
    jobs = Job.objects.select_related("board__design", "board__place")
    job = jobs.filter(pk=number).first() if number is not None else None
    if job is None:
        raise Unreadable("expected one job, by its number")
    return job


def _donor(texts: Sequence[str]) -> Board:
    number = whole_number(texts[0]) if len(texts) == 1 else None
    board = Board.objects.select_related("design").filter(pk=number).first() if number is not None else None
    if board is None:
        raise Unreadable("expected one board, by its number", Code.DOES_NOT_EXIST)
    return board


def _jobs_on_boards() -> Iterator[tuple[str, str]]:
    for job in Job.objects.filter(status=Job.Status.OPEN).exclude(board=None).order_by("priority", "id"):
        yield str(job.pk), job.name


def _donors() -> Iterator[tuple[str, str]]:
    for board in Board.objects.filter(purpose=Board.Purpose.DONOR).order_by("name"):
        yield str(board.pk), board.name


_JOB = Parameter("job", "Which: the number of a job.", _job, needed=True, offers=_jobs_on_boards)
FROM = Parameter(
    "from", "The donor: the number of a board.", _donor, {"type": "integer", "minimum": 1}, needed=True,
    takes="donor", offers=_donors,
)  # fmt: skip


def _ask(job: Job, donor: Board) -> Transfer:
    try:
        return transfer_plan(job, donor)
    except Refused as refused:
        raise Unreadable(str(refused), name="from") from None


TRANSFER = PlanQuestion((_JOB, FROM), _ask, sheets)
