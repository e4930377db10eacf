"""What came from other workshops and what is given to them; kept apart from what one found oneself."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import REF_LENGTH, Design, Lot, Movement, StoredSpec
from inventory.spec.recorded import AS_DRAWN, EVIDENCE, WAYS


class DesignCredit(models.Model):
    """Who made a section of a design, under which licence, and where it is from."""

    design = models.ForeignKey(Design, on_delete=models.CASCADE, related_name="credits")
    of = models.CharField(max_length=16)
    author = models.CharField(max_length=120, blank=True)
    licence = models.CharField(max_length=120, blank=True)
    source = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["design", "of", "author", "licence", "source"], name="design_credit_is_given_once"
            ),
            models.CheckConstraint(
                condition=~Q(author="") | ~Q(licence="") | ~Q(source=""), name="design_credit_says_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.of}: {', '.join(each for each in (self.author, self.licence, self.source) if each)}"


class DesignRecord(models.Model):
    """What another workshop saw on boards of a design: a fault, a trial, the image of a memory.

    `facts` is the record as it stands in the file of a design (`repairs.design_files.document`).
    """

    class What(models.TextChoices):
        SEEN = "seen"
        TRIAL = "trial"
        IMAGE = "image"

    design = models.ForeignKey(Design, on_delete=models.CASCADE, related_name="records")
    what = models.CharField(max_length=8, choices=What)
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    facts = models.JSONField()
    digest = models.CharField(max_length=64)  # of the facts: the same is kept once
    friend = models.ForeignKey(  # whose file told it
        "repairs.Friend", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    friend_name = models.CharField(max_length=120, blank=True, default="")  # kept when the friend is deleted

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["design", "digest"], name="design_record_is_kept_once"),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.ref}".rstrip()

    @property
    def credit(self) -> str:
        """Whose word it is."""
        named = [self.facts.get(name, "") for name in ("author", "licence", "source")]
        friend = self.friend.name if self.friend is not None else self.friend_name
        by = f"by {friend}'s file" if friend else ""
        return ", ".join(filter(None, [*named, by])) or "source not given"


class DesignTaken(models.Model):
    """The file of a design that came in, with what was there before, so that it can be undone whole.

    `made` maps what the file added (`credits`, `records`, `photos`) to the ids of the rows.
    """

    design = models.ForeignKey(Design, on_delete=models.CASCADE, null=True, blank=True, related_name="taken")
    title = models.CharField(max_length=160)
    new = models.BooleanField()
    before = models.JSONField(default=dict)
    made = models.JSONField(default=dict)
    left_at = models.PositiveIntegerField()  # the version of the design right after
    signed_by = models.CharField(max_length=160, blank=True, default="")
    friend = models.ForeignKey(
        "repairs.Friend", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    friend_name = models.CharField(max_length=120, blank=True, default="")  # kept when the friend is deleted
    undone = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(design__isnull=False) | Q(undone__isnull=False),
                name="design_taken_is_of_a_design",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}, taken in {self.at:%Y-%m-%d}"


class SpareMark(models.Model):
    """The owner's word on a lot: so many of it may go, or it is kept back.  Without one nothing goes."""

    lot = models.OneToOneField(Lot, on_delete=models.CASCADE, related_name="spare_mark")
    quantity = models.PositiveIntegerField(default=0)
    keep = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(keep=True, quantity=0) | Q(keep=False, quantity__gte=1),
                name="spare_mark_gives_or_keeps",
            ),
        ]

    def __str__(self) -> str:
        return f"lot {self.lot_id}: {'kept back' if self.keep else self.quantity}"


class LackMark(models.Model):
    """That friends may be told of this shortage."""

    spec = models.OneToOneField(StoredSpec, on_delete=models.CASCADE, related_name="lack_mark")

    def __str__(self) -> str:
        return f"{self.spec}"


class BenchKey(models.Model):
    """The secret half of the key with which this bench signs what it gives away: one row, told to nobody."""

    seed = models.CharField(max_length=64)

    def __str__(self) -> str:
        return "the key of this bench"


class Friend(models.Model):
    """Another workshop: how to reach it, what a parcel from it costs, and the list that it gave last."""

    name = models.CharField(max_length=120, unique=True)
    reach = models.CharField(max_length=400, blank=True)
    postage = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    note = models.TextField(blank=True)
    key = models.CharField(max_length=44, blank=True, default="")  # what it gives is signed by this one
    made = models.DateField(null=True, blank=True)  # the day on the list
    signed_by = models.CharField(max_length=160, blank=True, default="")  # the list
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(name=""), name="friend_has_a_name"),
            models.CheckConstraint(condition=Q(postage__gte=0), name="friend_postage_is_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name


class FriendLine(models.Model):
    """A line of a friend's list: pieces to spare, by their name `line`; without one, pieces lacking."""

    friend = models.ForeignKey(Friend, on_delete=models.CASCADE, related_name="lines")
    line = models.CharField(max_length=40, blank=True, default="")
    spec = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="friend_lines")
    quantity = models.PositiveIntegerField()
    condition = models.CharField(max_length=8, blank=True, default="")
    marking = models.CharField(max_length=200, blank=True, default="")
    came_off = models.CharField(max_length=160, blank=True, default="")
    came_off_ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    accepts = models.CharField(max_length=16, blank=True, default="")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="friend_line_is_of_something"),
            models.UniqueConstraint(
                fields=["friend", "line"], condition=~Q(line=""), name="friend_line_is_named_once"
            ),
            models.CheckConstraint(
                condition=(Q(line="") & ~Q(accepts=""))
                | (~Q(line="") & Q(condition__in=["good", "untested"])),
                name="friend_line_spares_or_lacks",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.spec}"


class FriendAsk(models.Model):
    """Pieces asked of a friend: asked, confirmed, sent, arrived; then a lot, which says whose they were.

    What the friend's list said is kept here, for the next list replaces it.
    """

    class State(models.TextChoices):
        ASKED = "asked"
        CONFIRMED = "confirmed"
        SENT = "sent"
        ARRIVED = "arrived"
        CANCELLED = "cancelled"

    ON_ITS_WAY = (State.CONFIRMED, State.SENT)
    """The friend said yes: it counts as what was ordered does."""

    friend = models.ForeignKey(Friend, on_delete=models.PROTECT, related_name="asks")
    line = models.CharField(max_length=40)
    spec = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="friend_asks")
    quantity = models.PositiveIntegerField()
    condition = models.CharField(max_length=8)
    marking = models.CharField(max_length=200, blank=True, default="")
    came_off = models.CharField(max_length=160, blank=True, default="")
    came_off_ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    job = models.ForeignKey(
        "repairs.Job", on_delete=models.SET_NULL, null=True, blank=True, related_name="friend_asks"
    )
    required = models.ForeignKey(
        StoredSpec, on_delete=models.SET_NULL, null=True, blank=True, related_name="asked_of_friends"
    )
    state = models.CharField(max_length=9, choices=State, default=State.ASKED)
    lot = models.OneToOneField(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="friend_ask"
    )
    at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="friend_ask_is_of_something"),
            models.CheckConstraint(
                condition=Q(state="arrived", lot__isnull=False) | (~Q(state="arrived") & Q(lot=None)),
                name="friend_ask_arrived_is_a_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.spec} of {self.friend}"


class FriendGift(models.Model):
    """To whom the pieces of a movement out of the bench were given."""

    friend = models.ForeignKey(Friend, on_delete=models.PROTECT, related_name="gifts")
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="gift")

    def __str__(self) -> str:
        return f"{self.movement} to {self.friend}"


class EvidenceTaken(models.Model):
    """A file of what another workshop found out.  Put away, it is kept and holds for nothing."""

    source = models.CharField(max_length=120, unique=True)
    friend = models.OneToOneField(
        Friend, on_delete=models.SET_NULL, null=True, blank=True, related_name="evidence"
    )
    made = models.DateField()
    author = models.CharField(max_length=120, blank=True, default="")
    licence = models.CharField(max_length=120, blank=True, default="")
    from_where = models.CharField(max_length=400, blank=True, default="")
    signed_by = models.CharField(max_length=160, blank=True, default="")
    put_away = models.BooleanField(default=False)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(source=""), name="evidence_has_a_source"),
        ]

    def __str__(self) -> str:
        return f"evidence of {self.source}"


class FoundElsewhere(models.Model):
    """Who found it out, where the file says so: it may have come to that workshop from another."""

    taken = models.ForeignKey(EvidenceTaken, on_delete=models.CASCADE, related_name="%(class)s_rows")
    author = models.CharField(max_length=120, blank=True, default="")
    licence = models.CharField(max_length=120, blank=True, default="")
    source = models.CharField(max_length=400, blank=True, default="")

    class Meta:
        abstract = True

    @property
    def whose(self) -> str:
        """The workshop that the file is of, and from whom that has it where it says so."""
        first = self.author or self.source
        return f"{self.taken.source}, from {first}" if first else self.taken.source


class EvidenceSubstitution(FoundElsewhere):
    """That a part served for another there, or did not; the design is meant by its name and revision."""

    required = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="+")
    offered = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="+")
    design_name = models.CharField(max_length=120, blank=True, default="")
    design_revision = models.CharField(max_length=32, blank=True, default="")
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    evidence = models.CharField(max_length=16, choices=[(word, word) for word in EVIDENCE])
    way = models.CharField(max_length=16, choices=[(word, word) for word in WAYS], default=AS_DRAWN)
    pin_map = models.CharField(max_length=200, blank=True, default="")
    note = models.CharField(max_length=400, blank=True, default="")
    day = models.CharField(max_length=10, blank=True, default="")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(design_name="") | Q(design_revision="", ref=""),
                name="evidence_of_a_place_names_the_design",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.offered} for {self.required}: {self.evidence}"


class EvidenceReading(FoundElsewhere):
    """What a marking turned out to mean there; `plain` is the marking as it is compared."""

    marking = models.CharField(max_length=200)
    plain = models.CharField(max_length=800, db_index=True)
    spec = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="+")
    measured = models.CharField(max_length=200)

    def __str__(self) -> str:
        return f"{self.marking}: {self.spec}"


class EvidenceWindow(FoundElsewhere):
    """A trial there: what was read of such a part, between which limits it had to be."""

    spec = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="+")
    method = models.CharField(max_length=120)
    in_circuit = models.BooleanField(default=False)
    reading = models.CharField(max_length=200, blank=True, default="")
    limits = models.JSONField(default=list)
    verdict = models.CharField(max_length=12)

    def __str__(self) -> str:
        return f"{self.method} of {self.spec}: {self.verdict}"
