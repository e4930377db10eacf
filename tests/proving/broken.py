"""One case for each constraint of what is proven: what the database must refuse by itself."""

from collections.abc import Callable

from inventory.ledger import Spot
from inventory.models import Board
from repairs import loans
from repairs.models import Job, Trial
from repairs.proving_models import (
    AcceptedException,
    BenchEntry,
    Confirmation,
    LinkSetting,
    RailReading,
    SwapStep,
    SwapTest,
    TrialRecord,
)
from tests.factories import BoardFactory, DesignFactory, JobFactory, PlaceFactory, spec, stock


def board() -> Board:
    return BoardFactory(purpose="under_repair")


def job() -> Job:
    return JobFactory()


def swap() -> SwapTest:
    return SwapTest.objects.create(board=board(), ref="IC1")


def two_swaps_at_once() -> None:
    one = swap()
    SwapTest.objects.create(board=one.board, ref=one.ref)


def trial() -> Trial:
    return Trial.objects.create(lot=stock().lot, method="look", verdict="faulty")


def recorded_twice() -> None:
    tried = trial()
    TrialRecord.objects.create(trial=tried)
    TrialRecord.objects.create(trial=tried)


def one_loan_for_two_swaps() -> None:
    design = DesignFactory(positions={"R1": spec()})
    lender = BoardFactory(purpose="working", design=design)
    [line] = loans.borrow(lender, ["R1"], Spot(PlaceFactory().pk), by=None)
    for ref in ("R1", "R2"):
        SwapTest.objects.create(board=lender, ref=ref, loan=line.loan)


def one_trial_for_two_steps() -> None:
    tried = trial()
    for _time in range(2):
        SwapStep.objects.create(test=swap(), what="suspect", passed=False, lot=tried.lot, trial=tried)


BROKEN: dict[str, Callable[[], object]] = {
    "link_setting_says_both": lambda: LinkSetting.objects.create(
        board=board(), link="LK1", setting="", stamp=0
    ),
    "confirmation_is_of_a_piece_or_of_the_board": lambda: Confirmation.objects.create(
        board=board(), item="orientation", ref="C1", right=True, stamp=0
    ),
    "rail_reading_at_pins_names_the_position": lambda: RailReading.objects.create(
        board=board(), rail="+5V", stage="at_pins", amount=5, stamp=0
    ),
    "rail_reading_only_ohms_are_open": lambda: RailReading.objects.create(
        board=board(), rail="+5V", stage="chips_out", amount=None, stamp=0
    ),
    "exception_says_why": lambda: AcceptedException.objects.create(
        board=board(), item="position", subject="C1", why="", stamp=0
    ),
    "trial_record_is_doubted_on_a_board": lambda: TrialRecord.objects.create(trial=trial(), credible=False),
    "trialrecord.trial": recorded_twice,
    "swaptest.loan": one_loan_for_two_swaps,
    "swapstep.trial": one_trial_for_two_steps,
    "swap_test_names_the_position": lambda: SwapTest.objects.create(board=board(), ref=""),
    "swap_test_one_open_per_position": two_swaps_at_once,
    "swap_step_is_a_baseline_or_a_suspect": lambda: SwapStep.objects.create(
        test=swap(), what="suspect", passed=True
    ),
    "bench_entry_says_something": lambda: BenchEntry.objects.create(job=job(), text=""),
    "bench_entry_only_a_task_is_done": lambda: BenchEntry.objects.create(
        job=job(), text="looked", done="2026-11-25T12:00:00Z"
    ),
}
