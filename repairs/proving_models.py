"""What was seen, measured and accepted on a board, and what was done to prove a part: facts, written once.

Whether a fact still holds follows from the movements and the design: each is stamped with the latest movement
on the board then, and keeps what it was seen against (`basis`); it counts while nothing that it is about was
moved since, and while the design asks the same.
"""

from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import REF_LENGTH, Board, Design, Lot, StoredSpec
from inventory.spec.recorded import AS_DRAWN, DATA_SHEET, EVIDENCE, LEGS_CROSSED, WAYS
from repairs.proving import items, rails, swaps
from repairs.proving.meter import spoken

NAME_LENGTH = 120


def choices(words: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(word, word.replace("_", " ")) for word in words]


class Fact(models.Model):
    """Who said it, when, and whatever else there is to say."""

    note = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True
        ordering: ClassVar = ["id"]

    @property
    def person(self) -> str:
        return name_of(self.by)


class Observed(Fact):
    """What counts for a board until it is taken back; it stays on record."""

    withdrawn = models.DateTimeField(null=True, blank=True)

    class Meta(Fact.Meta):
        abstract = True


class LinkSetting(Observed):
    """How a link of a board stands."""

    board = models.ForeignKey(Board, on_delete=models.CASCADE, related_name="link_settings")
    link = models.CharField(max_length=NAME_LENGTH)
    setting = models.CharField(max_length=NAME_LENGTH)
    stamp = models.BigIntegerField()
    basis = models.TextField(blank=True, default="")

    class Meta(Observed.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(link="") & ~Q(setting=""), name="link_setting_says_both"),
        ]

    def __str__(self) -> str:
        return f"{self.link} at {self.setting}"


class Confirmation(Observed):
    """What a person saw: which way round a part is, or one of the checks of the whole board."""

    ITEMS = ("orientation", *items.PERSONAL)

    board = models.ForeignKey(Board, on_delete=models.CASCADE, related_name="confirmations")
    item = models.CharField(max_length=16, choices=choices(ITEMS))
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    right = models.BooleanField()
    way = models.CharField(max_length=16, choices=choices(WAYS), default=AS_DRAWN)
    stamp = models.BigIntegerField()
    basis = models.TextField(blank=True, default="")

    class Meta(Observed.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=(Q(item="orientation", lot__isnull=False) & ~Q(ref=""))
                | (~Q(item="orientation") & Q(ref="", lot=None)),
                name="confirmation_is_of_a_piece_or_of_the_board",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.ref}: {'right' if self.right else 'wrong'}".replace(" :", ":")


class RailReading(Observed):
    """Ohms or volts on a rail; no amount is open, over range."""

    board = models.ForeignKey(Board, on_delete=models.CASCADE, related_name="rail_readings")
    rail = models.CharField(max_length=NAME_LENGTH)
    stage = models.CharField(max_length=16, choices=choices(rails.STAGES))
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    amount = models.DecimalField(max_digits=18, decimal_places=6, null=True, blank=True)
    stamp = models.BigIntegerField()
    measured_at = models.CharField(max_length=400, blank=True, default="")
    protects = models.JSONField(default=list)
    filled = models.JSONField(default=list)

    class Meta(Observed.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=(Q(stage="at_pins") & ~Q(ref="")) | (~Q(stage="at_pins") & Q(ref="")),
                name="rail_reading_at_pins_names_the_position",
            ),
            models.CheckConstraint(
                condition=Q(amount__isnull=False) | Q(stage="ohms"), name="rail_reading_only_ohms_are_open"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rail} {self.stage.replace('_', ' ')} {self.ref}".rstrip() + f": {self.text}"

    @property
    def text(self) -> str:
        """The reading as one says it."""
        if self.amount is None:
            return "open"
        return spoken(self.amount, "ohms" if self.stage == rails.OHMS else "volts")


class AcceptedException(Observed):
    """An open item that a person accepts as it is, and why: `finding` in words, `basis` to compare."""

    board = models.ForeignKey(Board, on_delete=models.CASCADE, related_name="exceptions")
    item = models.CharField(max_length=16, choices=choices(items.CHECKS))
    subject = models.CharField(max_length=NAME_LENGTH, blank=True)
    why = models.CharField(max_length=400)
    stamp = models.BigIntegerField()
    finding = models.TextField(blank=True, default="")
    basis = models.TextField(blank=True, default="")

    class Meta(Observed.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(why=""), name="exception_says_why"),
        ]

    def __str__(self) -> str:
        return f"{self.item} {self.subject}: {self.why}"


class TrialRecord(models.Model):
    """What the rules made of a trial: reasons, where it was seen, and whether it is held against the part.

    `stamp` is the latest movement on the board then.  `tried` maps positions of `board` to the lots that were
    in them; `acquitted` maps those of them whose failure is explained to the trial that explains it;
    `unsettled` is what was open or in conflict when a failure was seen.
    """

    class Stage(models.TextChoices):
        BEFORE = "before_removal"
        AFTER = "after_removal"
        NEITHER = "", "neither"

    class Outcome(models.TextChoices):
        PASS = "pass"
        FAIL = "fail"
        NEITHER = "", "neither"

    trial = models.OneToOneField("repairs.Trial", on_delete=models.CASCADE, related_name="record")
    board = models.ForeignKey(
        Board, on_delete=models.PROTECT, null=True, blank=True, related_name="trial_records"
    )
    stage = models.CharField(max_length=16, choices=Stage, blank=True, default="")
    computed = models.BooleanField(default=False)
    expected = models.CharField(max_length=400, blank=True)
    reasons = models.JSONField(default=list)
    windows = models.JSONField(default=list)
    measured = models.BigIntegerField(null=True, blank=True)
    measured_tolerance = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    condition_before = models.CharField(max_length=8, blank=True, default="")
    known_good = models.BooleanField(default=False)
    stamp = models.BigIntegerField(default=0)
    outcome = models.CharField(max_length=4, choices=Outcome, blank=True, default="")
    tried = models.JSONField(default=dict)
    unsettled = models.JSONField(default=list)
    credible = models.BooleanField(default=True)
    acquitted = models.JSONField(default=dict)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(credible=True) | Q(board__isnull=False), name="trial_record_is_doubted_on_a_board"
            ),
        ]

    def __str__(self) -> str:
        return f"record of trial {self.trial_id}"

    def has_reason(self, code: str) -> bool:
        return any(reason["code"] == code for reason in self.reasons)


class SwapTest(Fact):
    """Chips tried one by one in a position of a known good board, whose own part is out on loan meanwhile."""

    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="swap_tests")
    ref = models.CharField(max_length=REF_LENGTH)
    loan = models.OneToOneField(
        "repairs.Loan", on_delete=models.PROTECT, null=True, blank=True, related_name="swap_test"
    )
    job = models.ForeignKey(
        "repairs.Job", on_delete=models.SET_NULL, null=True, blank=True, related_name="swap_tests"
    )
    closed = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta(Fact.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(ref=""), name="swap_test_names_the_position"),
            models.UniqueConstraint(
                fields=["board", "ref"], condition=Q(closed=None), name="swap_test_one_open_per_position"
            ),
        ]

    def __str__(self) -> str:
        return f"swap test at {self.board} {self.ref}"


class SwapStep(Fact):
    """A baseline with the board's own part, or a suspect in its place."""

    test = models.ForeignKey(SwapTest, on_delete=models.CASCADE, related_name="steps")
    what = models.CharField(max_length=8, choices=choices((swaps.BASELINE, swaps.SUSPECT_IN)))
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="swap_steps")
    passed = models.BooleanField()
    reading = models.CharField(max_length=200, blank=True)
    trial = models.OneToOneField(
        "repairs.Trial", on_delete=models.PROTECT, null=True, blank=True, related_name="swap_step"
    )

    class Meta(Fact.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(what="suspect", lot__isnull=False) | Q(what="baseline", lot=None, trial=None),
                name="swap_step_is_a_baseline_or_a_suspect",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}: {'passed' if self.passed else 'failed'}"


class LoanProof(Fact):
    """That the lender passed, before the piece was taken out or after it, or a like one, went back."""

    class When(models.TextChoices):
        BEFORE = "before"
        AFTER = "after"

    loan = models.ForeignKey("repairs.Loan", on_delete=models.CASCADE, related_name="proofs")
    when = models.CharField(max_length=8, choices=When)
    passed = models.BooleanField()
    reading = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.when}: {'passed' if self.passed else 'failed'}"


class BenchEntry(Fact):
    """A line of a job's bench log: a note, or a thing to do that is no part."""

    class Kind(models.TextChoices):
        NOTE = "note"
        TASK = "task"

    job = models.ForeignKey("repairs.Job", on_delete=models.CASCADE, related_name="entries")
    kind = models.CharField(max_length=4, choices=Kind, default=Kind.NOTE)
    text = models.CharField(max_length=2000)
    done = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta(Fact.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(text=""), name="bench_entry_says_something"),
            models.CheckConstraint(
                condition=Q(done=None) | Q(kind="task"), name="bench_entry_only_a_task_is_done"
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60]


class Substitution(Fact):
    """That a part does, or does not, serve for another: at a position, all over a design, or anywhere.

    `pin_map` says which leg of the offered part goes to which of the required one's, where legs are crossed.
    """

    required = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="substitutes")
    offered = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="substitute_for")
    design = models.ForeignKey(
        Design, on_delete=models.CASCADE, null=True, blank=True, related_name="substitutions"
    )
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    evidence = models.CharField(max_length=16, choices=choices(EVIDENCE), default=DATA_SHEET)
    way = models.CharField(max_length=16, choices=choices(WAYS), default=AS_DRAWN)
    pin_map = models.CharField(max_length=200, blank=True, default="")
    trial = models.ForeignKey(
        "repairs.Trial", on_delete=models.SET_NULL, null=True, blank=True, related_name="substitutions"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta(Fact.Meta):
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["required", "offered", "design", "ref"],
                condition=Q(design__isnull=False),
                name="substitution_is_recorded_once_for_a_place",
            ),
            models.UniqueConstraint(
                fields=["required", "offered"],
                condition=Q(design=None),
                name="substitution_is_recorded_once_for_anywhere",
            ),
            models.CheckConstraint(
                condition=Q(ref="") | Q(design__isnull=False), name="substitution_ref_is_on_a_design"
            ),
            models.CheckConstraint(
                condition=~Q(way=LEGS_CROSSED) | ~Q(pin_map=""),
                name="substitution_of_crossed_legs_says_which",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.offered} for {self.required}: {self.evidence}"


def name_of(person: Any) -> str:
    """Whoever said a fact, by name."""
    return str(person.get_username()) if person is not None else "someone"
