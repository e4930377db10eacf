"""What is wanted, promised, owed and proven."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.models import REF_LENGTH, Board, Holding, Lot, Movement, Part, Place, StoredSpec
from repairs import proving_models, sharing_models, webhook_models  # noqa: F401  more models of this app


class Job(models.Model):
    """One repair or rebuild; its needs are the Specs that it requires."""

    class Status(models.TextChoices):
        OPEN = "open"
        PARKED = "parked"
        DONE = "done"
        ABANDONED = "abandoned"

    name = models.CharField(max_length=160, unique=True)
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="jobs")
    priority = models.PositiveSmallIntegerField(default=3)
    due = models.DateField(null=True, blank=True)
    status = models.CharField(max_length=10, choices=Status, default=Status.OPEN)
    symptom = models.TextField(blank=True)
    cause = models.TextField(blank=True)
    note = models.TextField(blank=True)
    owner = models.ForeignKey(  # whose job it is; null: everybody's
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    opened = models.DateTimeField(auto_now_add=True)
    closed = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(priority__gte=1, priority__lte=5), name="job_priority_is_1_to_5"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Need(models.Model):
    """So many pieces of a Spec that a job requires, at a position of its board or loose (no ref)."""

    class Status(models.TextChoices):
        OPEN = "open"
        DROPPED = "dropped"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="needs")
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    spec = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="needs")
    quantity = models.PositiveIntegerField(default=1)
    promised = models.IntegerField(default=0)
    fitted = models.IntegerField(default=0)
    status = models.CharField(max_length=8, choices=Status, default=Status.OPEN)
    note = models.CharField(max_length=400, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["job", "ref"], condition=~Q(ref=""), name="need_one_per_position_of_a_job"
            ),
            models.CheckConstraint(
                condition=Q(quantity__gte=1) & (Q(ref="") | Q(quantity=1)),
                name="need_quantity_suits_its_position",
            ),
            models.CheckConstraint(
                condition=Q(promised__gte=0, fitted__gte=0) & Q(quantity__gte=F("promised") + F("fitted")),
                name="need_is_promised_no_more_than_it_wants",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.ref or 'loose'}: {self.spec}"


class PieceAsk(models.Model):
    """Pieces of somebody's lot, asked of its owner for a need.

    Agreed, it lets so many of them be reserved for that need; the yes itself reserves them.
    """

    class State(models.TextChoices):
        ASKED = "asked"
        AGREED = "agreed"
        DECLINED = "declined"
        WITHDRAWN = "withdrawn"

    need = models.ForeignKey(Need, on_delete=models.CASCADE, related_name="asks")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="asks")
    quantity = models.PositiveIntegerField()
    owner = models.ForeignKey(  # who is asked, or was when it was answered
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    state = models.CharField(max_length=9, choices=State, default=State.ASKED)
    note = models.CharField(max_length=400, blank=True, default="")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    answer = models.CharField(max_length=400, blank=True, default="")
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["state"])]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="piece_ask_is_of_something"),
            models.UniqueConstraint(
                fields=["need", "lot"], condition=Q(state="asked"), name="piece_ask_is_open_once"
            ),
            models.CheckConstraint(
                condition=Q(state="asked", answered_at=None) | (~Q(state="asked") & ~Q(answered_at=None)),
                name="piece_ask_is_answered_at_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of lot {self.lot_id} for need {self.need_id}"


class Reservation(models.Model):
    """Pieces of a holding promised to a need; once fitted it names the movement that did it."""

    class Status(models.TextChoices):
        HELD = "held"
        FITTED = "fitted"
        RELEASED = "released"

    need = models.ForeignKey(Need, on_delete=models.CASCADE, related_name="reservations")
    holding = models.ForeignKey(Holding, on_delete=models.PROTECT, related_name="reservations")
    quantity = models.PositiveIntegerField()
    status = models.CharField(max_length=8, choices=Status, default=Status.HELD)
    movement = models.ForeignKey(
        Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="reservations"
    )
    ask = models.ForeignKey(  # by whose yes, where the pieces are another's
        PieceAsk, on_delete=models.PROTECT, null=True, blank=True, related_name="reservations"
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["status"])]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="reservation_promises_something"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} for need {self.need_id}"


class Purchase(models.Model):
    """Pieces to buy or bought; when received it becomes a lot."""

    class State(models.TextChoices):
        WANTED = "wanted"
        ORDERED = "ordered"
        RECEIVED = "received"

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="purchases")
    quantity = models.PositiveIntegerField()
    bought_from = models.CharField(max_length=200, blank=True)
    price = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.WANTED)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="purchase")
    note = models.CharField(max_length=400, blank=True)
    owner = models.ForeignKey(  # whose it becomes when it is received; null: everybody's
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # Which line of a buy sheet ordered it, so that a sheet that comes in twice orders once.
    sheet_line = models.CharField(max_length=100, blank=True, default="", db_index=True)
    # How many were on order where more of them came: so many are again if the arrival is taken back.
    ordered = models.PositiveIntegerField(null=True, blank=True)
    at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="purchase_buys_something"),
            models.CheckConstraint(condition=Q(price__gte=0), name="purchase_price_is_not_negative"),
            models.CheckConstraint(
                condition=Q(state="received", lot__isnull=False) | (~Q(state="received") & Q(lot=None)),
                name="purchase_received_is_a_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.part}"


class Loan(models.Model):
    """What a person said of a borrowing.  Whether it is open follows from the movements (`repairs.loans`)."""

    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="loan")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="loans")
    reason = models.CharField(max_length=400, blank=True)
    due = models.DateField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"loan by movement {self.movement_id}"


class DemoLoad(models.Model):
    """That the demo workshop was loaded, and the rows that made: table -> ids (`repairs.demo_removal`)."""

    rows = models.JSONField()
    at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"the demo, since {timezone.localtime(self.at):%Y-%m-%d}"


class Trial(models.Model):
    """A test of a lot or of a board."""

    class Verdict(models.TextChoices):
        GOOD = "good"
        SUSPECT = "suspect"
        FAULTY = "faulty"
        INCONCLUSIVE = "inconclusive"

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="trials")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="trials")
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    method = models.CharField(max_length=120)
    in_circuit = models.BooleanField(default=False)
    reading = models.CharField(max_length=200, blank=True)
    verdict = models.CharField(max_length=12, choices=Verdict)
    note = models.TextField(blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(lot__isnull=False, board=None) | Q(lot=None, board__isnull=False),
                name="trial_is_of_a_lot_or_of_a_board",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.method}: {self.verdict}"
