"""What things are, where they are and where they came from.

Holdings and movements are written by `inventory.ledger` alone.  The constraints here are the last guard: the
database refuses what the ledger should never ask for.  One file, since each constraint is about
what the tables beside it may hold.
"""

import hashlib
from decimal import Decimal
from typing import Any, ClassVar, Self
from zlib import crc32

from django.conf import settings
from django.contrib.auth.models import User
from django.db import models
from django.db.models import F, Q

from inventory.chunks import chunks
from inventory.roles import role_of
from inventory.spec import KINDS, Spec

REF_LENGTH = 32


class StoredSpec(models.Model):
    """One Spec, stored once and never changed; parts, positions and needs point at it.

    Equal requirements therefore share a row, and grouping by row is grouping by requirement.
    """

    key_hash = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=16, choices=[(kind, kind) for kind in KINDS])
    number = models.CharField(max_length=64, blank=True)
    value = models.BigIntegerField(null=True)
    tolerance_percent = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    volts = models.DecimalField(max_digits=12, decimal_places=4, null=True)
    watts = models.DecimalField(max_digits=12, decimal_places=4, null=True)
    amps = models.DecimalField(max_digits=15, decimal_places=9, null=True)
    dielectric = models.CharField(max_length=32, blank=True)
    package = models.CharField(max_length=64, blank=True)
    lead_style = models.CharField(max_length=32, blank=True)
    pitch_mm = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    polarised = models.BooleanField(null=True)
    safety_class = models.CharField(max_length=32, blank=True)
    speed_ns = models.DecimalField(max_digits=12, decimal_places=4, null=True)
    make = models.CharField(max_length=64, blank=True)
    traits = models.JSONField(default=dict)
    text = models.CharField(max_length=400)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["kind", "value"]),
            models.Index(fields=["number"]),
        ]

    def __str__(self) -> str:
        return self.text

    @staticmethod
    def hash_of(spec: Spec) -> str:
        return hashlib.sha256(spec.key.encode()).hexdigest()

    @classmethod
    def unsaved(cls, spec: Spec) -> Self:
        return cls(
            key_hash=cls.hash_of(spec),
            **{name: getattr(spec, name) for name in SPEC_FIELDS if name != "traits"},
            traits=dict(spec.traits),
            text=spec.text[:400],
        )

    @classmethod
    def keep(cls, spec: Spec) -> Self:
        """Find the row of this Spec, or make it."""
        return cls.keep_all([spec])[spec]

    @classmethod
    def keep_all(cls, specs: list[Spec]) -> dict[Spec, Self]:
        """Find or make the rows of many Specs in a few queries."""
        wanted = {cls.hash_of(spec): spec for spec in specs}
        found: dict[str, Self] = {}
        for _attempt in range(2):
            missing = [key for key in wanted if key not in found]
            for chunk in chunks(missing):
                rows = cls.objects.filter(key_hash__in=chunk)
                found.update({row.key_hash: row for row in rows})
            if len(found) == len(wanted):
                break
            # A twin may insert the same Spec meanwhile: conflicts are ignored here and the rows read again.
            cls.objects.bulk_create(
                [cls.unsaved(spec) for key, spec in wanted.items() if key not in found],
                ignore_conflicts=True,
                batch_size=500,
            )
        return {wanted[key]: row for key, row in found.items()}

    @staticmethod
    def remembered(key_hash: str) -> Spec | None:
        """The Spec of a row that this process read before."""
        return _SPECS.get(key_hash)

    @property
    def spec(self) -> Spec:
        known = self.__dict__.get("_spec")
        if known is None:
            key = self.__dict__.get("key_hash")  # a row read in part may be without it
            known = self.remembered(key) if key else None
            if known is None:
                known = Spec(**{name: getattr(self, name) for name in SPEC_FIELDS})
                if key:
                    if len(_SPECS) >= MAX_REMEMBERED:
                        _SPECS.clear()
                    _SPECS[key] = known
            self.__dict__["_spec"] = known
        return known


MAX_REMEMBERED = 50_000
_SPECS: dict[str, Spec] = {}
"""Specs by the hash of all they say: a row never changes, and what its Spec worked out is worth keeping."""

SPEC_FIELDS = (
    "kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package",
    "lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits",
)  # fmt: skip


class Part(models.Model):
    """A Spec that the bench knows by name."""

    spec = models.OneToOneField(StoredSpec, on_delete=models.PROTECT, related_name="part")
    name = models.CharField(max_length=200)
    price = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    pack_size = models.PositiveIntegerField(default=1)
    reorder_at = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(pack_size__gte=1), name="part_pack_size_is_at_least_one"),
            models.CheckConstraint(condition=Q(price__gte=0), name="part_price_is_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def of(cls, spec: Spec) -> Self:
        """Find the part with this Spec, or make it, named by its one-line reading."""
        part, _made = cls.objects.get_or_create(
            spec=StoredSpec.keep(spec), defaults={"name": spec.text[:200]}
        )
        return part


class Place(models.Model):
    """Anywhere a piece can be.  Boards are places too; `inventory.places` keeps the tree without loops."""

    class Type(models.TextChoices):
        DRAWER = "drawer"
        TRAY = "tray"
        PERSON = "person"
        SCRAP = "scrap"
        OUTSIDE = "outside"
        BOARD = "board"

    name = models.CharField(max_length=120)
    within = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="contents"
    )
    type = models.CharField(max_length=8, choices=Type, default=Type.DRAWER)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["within", "name"], name="place_name_is_unique_within"),
            models.UniqueConstraint(
                fields=["name"], condition=Q(within=None), name="place_name_is_unique_at_the_top"
            ),
            models.UniqueConstraint(
                fields=["type"],
                condition=Q(type__in=["scrap", "outside"]),
                name="place_scrap_and_outside_are_single",
            ),
            models.CheckConstraint(condition=~Q(within=F("id")), name="place_is_not_within_itself"),
            models.CheckConstraint(
                condition=Q(within=None) | ~Q(type__in=["scrap", "outside", "board"]),
                name="place_boards_scrap_and_outside_are_at_the_top",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def outside(cls) -> Self:
        return cls.objects.get(type=cls.Type.OUTSIDE)

    @classmethod
    def scrap(cls) -> Self:
        return cls.objects.get(type=cls.Type.SCRAP)

    @classmethod
    def failed_tray(cls) -> Self:
        """Where parts go that failed, apart from the good ones; made when it is first needed."""
        return cls.objects.get_or_create(name="Failed parts", within=None, defaults={"type": cls.Type.TRAY})[
            0
        ]


class Design(models.Model):
    """The drawing of a board.  `links`, `rails`, `banks` and `hazards` are data: see `inventory.designs`."""

    name = models.CharField(max_length=120)
    revision = models.CharField(max_length=32, blank=True)
    note = models.TextField(blank=True)
    hazards = models.JSONField(default=list, blank=True)
    links = models.JSONField(default=list, blank=True)
    rails = models.JSONField(default=list, blank=True)
    banks = models.JSONField(default=list, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["name", "revision"], name="design_revision_is_unique"),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.revision}".strip()


class Position(models.Model):
    """A reference designator on a Design with the Spec that it requires."""

    design = models.ForeignKey(Design, on_delete=models.CASCADE, related_name="positions")
    ref = models.CharField(max_length=REF_LENGTH)
    spec = models.ForeignKey(StoredSpec, on_delete=models.PROTECT, related_name="positions")
    socketed = models.BooleanField(default=False)
    note = models.CharField(max_length=400, blank=True)
    x = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    y = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    side = models.CharField(max_length=8, blank=True)
    empty_when = models.JSONField(default=dict, blank=True)  # as the `when` of a link rule

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["design", "ref"], name="position_ref_is_unique_on_its_design"),
            models.CheckConstraint(condition=~Q(ref=""), name="position_has_a_ref"),
        ]

    def __str__(self) -> str:
        return self.ref


class Board(models.Model):
    """A physical board, and the place that its pieces are at."""

    class Purpose(models.TextChoices):
        DONOR = "donor"
        WORKING = "working"
        UNDER_REPAIR = "under_repair"
        SCRAPPED = "scrapped"

    name = models.CharField(max_length=120, unique=True)
    design = models.ForeignKey(Design, on_delete=models.PROTECT, null=True, blank=True, related_name="boards")
    purpose = models.CharField(max_length=16, choices=Purpose)
    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="board")
    note = models.TextField(blank=True)
    owner = models.ForeignKey(  # whose it is; null: everybody's
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.name


MAX_METER_ERROR = Decimal(50)
"""In per cent."""


class Lot(models.Model):
    """Identical pieces of one Part with one origin and one condition; a salvaged piece is a lot of one."""

    class Source(models.TextChoices):
        BOARD = "board"
        BOUGHT = "bought"
        DONATED = "donated"
        UNKNOWN = "unknown"

    class Condition(models.TextChoices):
        UNTESTED = "untested"
        GOOD = "good"
        SUSPECT = "suspect"
        FAULTY = "faulty"

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="lots")
    origin_source = models.CharField(max_length=8, choices=Source, default=Source.UNKNOWN)
    origin_board = models.ForeignKey(
        Board, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces"
    )
    origin_ref = models.CharField(max_length=REF_LENGTH, blank=True)
    origin_from = models.CharField(max_length=200, blank=True)
    split_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="splits"
    )
    condition = models.CharField(max_length=8, choices=Condition, default=Condition.UNTESTED)
    marking = models.CharField(max_length=200, blank=True)
    measured = models.BigIntegerField(null=True, blank=True)
    measured_tolerance = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    """What the meter may be off, in per cent of the reading; null: as bench meters are."""
    note = models.TextField(blank=True)
    owner = models.ForeignKey(  # whose pieces they are; null: everybody's
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["condition"])]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(origin_source="board", origin_board__isnull=False)
                | (~Q(origin_source="board") & Q(origin_board=None, origin_ref="")),
                name="lot_origin_is_a_board_or_another_source",
            ),
            models.CheckConstraint(
                condition=Q(measured_tolerance=None)
                | Q(measured_tolerance__gte=0, measured_tolerance__lte=MAX_METER_ERROR),
                name="lot_meter_is_off_by_no_more_than_half",
            ),
            models.UniqueConstraint(
                fields=["origin_board", "origin_ref"],
                condition=Q(origin_board__isnull=False, split_from=None) & ~Q(origin_ref=""),
                name="lot_one_original_piece_per_board_position",
            ),
        ]

    def __str__(self) -> str:
        return f"lot {self.pk}: {self.part}"


class HandOver(models.Model):
    """That a lot or a board became somebody's, or everybody's (blank); names as they were then."""

    lot = models.ForeignKey(Lot, on_delete=models.CASCADE, null=True, related_name="hand_overs")
    board = models.ForeignKey(Board, on_delete=models.CASCADE, null=True, related_name="hand_overs")
    before = models.CharField(max_length=150, blank=True)
    after = models.CharField(max_length=150, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(lot__isnull=False, board=None) | Q(lot=None, board__isnull=False),
                name="hand_over_is_of_a_lot_or_of_a_board",
            ),
            models.CheckConstraint(condition=~Q(before=F("after")), name="hand_over_changes_whose_it_is"),
        ]

    def __str__(self) -> str:
        return f"{self.before or 'everybody'} to {self.after or 'everybody'}"


class Holding(models.Model):
    """How many pieces of a lot are at a place (on a board: at a position), and how many are promised."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="holdings")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="holdings")
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    quantity = models.IntegerField(default=0)
    promised = models.IntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "place", "ref"], name="holding_is_unique"),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="holding_is_never_negative"),
            models.CheckConstraint(
                condition=Q(promised__gte=0, promised__lte=F("quantity")),
                name="holding_promises_only_what_is_held",
            ),
            models.CheckConstraint(
                condition=Q(ref="") | Q(quantity__lte=1), name="holding_a_position_holds_one_piece"
            ),
            models.UniqueConstraint(
                fields=["place", "ref"],
                condition=Q(quantity__gt=0) & ~Q(ref=""),
                name="holding_a_position_holds_one_lot",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of lot {self.lot_id} at place {self.place_id} {self.ref}".rstrip()


class LedgerIsAppendOnly(TypeError):
    """Raised on any attempt to edit or delete a movement."""


class MovementQuerySet(models.QuerySet["Movement"]):
    def update(self, **kwargs: Any) -> int:
        raise LedgerIsAppendOnly("movements are never edited: reverse the movement instead")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise LedgerIsAppendOnly("movements are never deleted: reverse the movement instead")


class Movement(models.Model):
    """One ledger line: so many of a lot, from a place, to a place, when, by whom, why."""

    class Kind(models.TextChoices):
        RECEIVE = "receive"
        LIFT = "lift"
        MOVE = "move"
        FIT = "fit"
        REMOVE = "remove"
        LEND = "lend"
        RETURN = "return"
        SCRAP = "scrap"
        COUNT = "count"
        REVERSE = "reverse"

    kind = models.CharField(max_length=8, choices=Kind)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements")
    # Set where the pieces change lot on the way: a split or a merge.
    to_lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="arrivals")
    quantity = models.PositiveIntegerField()
    from_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="departures")
    from_ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    to_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="arrivals")
    to_ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    note = models.CharField(max_length=400, blank=True)
    borrow = models.BooleanField(default=False)
    # How a piece came off a board: what it was judged to be, and what it was before where that changed.
    condition_before = models.CharField(max_length=8, blank=True, default="")
    condition_after = models.CharField(max_length=8, blank=True, default="")
    settles = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="settled_by"
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )

    objects = MovementQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0) | Q(kind="count"), name="movement_moves_something"
            ),
            models.CheckConstraint(
                condition=Q(kind="reverse", reverses__isnull=False) | (~Q(kind="reverse") & Q(reverses=None)),
                name="movement_a_reversal_names_what_it_reverses",
            ),
            models.CheckConstraint(
                condition=Q(borrow=False) | Q(kind="lift"), name="movement_only_a_lift_borrows"
            ),
            models.CheckConstraint(
                condition=Q(settles=None) | Q(kind="return"), name="movement_only_a_return_settles"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.quantity} of lot {self.lot_id}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.pk is not None:
            raise LedgerIsAppendOnly("movements are never edited: reverse the movement instead")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise LedgerIsAppendOnly("movements are never deleted: reverse the movement instead")


class ApiCall(models.Model):
    """The answer given to an Idempotency-Key, kept so that a repeat does nothing twice."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="api_calls")
    key = models.CharField(max_length=255)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    body = models.JSONField(null=True)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["user", "key"], name="api_call_key_is_unique_for_its_user"),
        ]

    def __str__(self) -> str:
        return self.key


class Photo(models.Model):
    """A picture, as `inventory.pictures.photos` keeps it.

    What it shows is a row of any model in `SUBJECTS` there, where other apps add theirs: so it is a name
    and an id, and no foreign key.  `ref` is the position that it shows, on a board or a design.
    A photo of a design with a `side` is the whole of that side, on which the positions are pinned.
    """

    content = models.CharField(max_length=64)  # sha256 of the file, which is also its name
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    subject = models.CharField(max_length=16, blank=True, default="")
    subject_id = models.BigIntegerField(null=True, blank=True)
    ref = models.CharField(max_length=REF_LENGTH, blank=True, default="")
    side = models.CharField(max_length=8, blank=True, default="")
    note = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["subject", "subject_id"]),
            models.Index(fields=["content"]),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(subject="", subject_id=None) | (~Q(subject="") & Q(subject_id__isnull=False)),
                name="photo_shows_one_thing_or_nothing_named",
            ),
            models.CheckConstraint(
                condition=Q(ref="") | Q(subject__in=["board", "design"]),
                name="photo_ref_is_on_a_board_or_a_design",
            ),
            models.CheckConstraint(
                condition=Q(side="") | Q(side__in=["top", "bottom"], subject="design", ref=""),
                name="photo_side_is_the_whole_of_a_design",
            ),
        ]

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.subject} {self.subject_id}" if self.subject else f"photo {self.pk}"


class Attachment(models.Model):
    """A file kept with a part or a design, such as a data sheet, as `inventory.attachments` keeps it."""

    class Type(models.TextChoices):
        PDF = "application/pdf"
        JPEG = "image/jpeg"
        PNG = "image/png"
        WEBP = "image/webp"
        TEXT = "text/plain"

    content = models.CharField(max_length=64, db_index=True)  # sha256 of the file, which is also its name
    name = models.CharField(max_length=120)
    type = models.CharField(max_length=16, choices=Type)
    size = models.PositiveIntegerField()
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="attachments"
    )
    design = models.ForeignKey(
        Design, on_delete=models.PROTECT, null=True, blank=True, related_name="attachments"
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(part=None) | Q(design=None), name="attachment_is_of_a_part_or_of_a_design"
            ),
            models.UniqueConstraint(
                fields=["part", "content"],
                condition=Q(part__isnull=False),
                name="attachment_once_with_a_part",
            ),
            models.UniqueConstraint(
                fields=["design", "content"],
                condition=Q(design__isnull=False),
                name="attachment_once_with_a_design",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SignInFailure(models.Model):
    """A name and password that did not go together, from an address: too many in a while must wait."""

    address = models.CharField(max_length=64)
    name = models.CharField(max_length=150)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["address", "name", "at"])]

    def __str__(self) -> str:
        return f"{self.name} from {self.address}"


class SecondFactor(models.Model):
    """What a person signs in with besides the password; `inventory.second_factor` makes and reads it.

    The secret itself is not stored.  Until `since`, it was offered and no code of it has come.
    """

    person = models.OneToOneField(User, models.CASCADE, related_name="second_factor")
    nonce = models.CharField(max_length=32)
    since = models.DateTimeField(null=True)
    last_step = models.BigIntegerField(default=0)  # the half minute whose code was taken last

    def __str__(self) -> str:
        return f"{self.person.username}'s second factor"


class RecoveryCode(models.Model):
    """Signs in once in place of a code of the second factor; what it is known by is `digest`."""

    person = models.ForeignKey(User, models.CASCADE, related_name="recovery_codes")
    digest = models.CharField(max_length=64, unique=True)

    def __str__(self) -> str:
        return f"a recovery code of {self.person.username}"


class AccessChange(models.Model):
    """A role, password or key that was given or taken; names and not rows, so that it stands for itself."""

    version: ClassVar[int] = 1  # never changed

    at = models.DateTimeField(auto_now_add=True)
    by = models.CharField(max_length=150)
    person = models.CharField(max_length=150)
    what = models.CharField(max_length=200)
    address = models.CharField(max_length=64, blank=True, default="")
    request = models.CharField(max_length=64, blank=True, default="")

    def __str__(self) -> str:
        return f"{self.person}: {self.what}"


class ChangeEntry(models.Model):
    """That a row changed; written by triggers, read by `inventory.changes`.  No part of a workshop."""

    passing: ClassVar[bool] = True

    table = models.CharField(max_length=32)
    row = models.BigIntegerField()
    tx = models.BigIntegerField()  # the transaction, on PostgreSQL; 0 on SQLite, where ids are in order

    class Meta:
        indexes: ClassVar = [models.Index(fields=["tx", "id"])]

    def __str__(self) -> str:
        return f"{self.table} {self.row}"


class ChangeEpoch(models.Model):
    """From when on changes were noted without a gap: one row.  No part of a workshop."""

    passing: ClassVar[bool] = True

    text = models.CharField(max_length=16)

    def __str__(self) -> str:
        return self.text


class BenchSettings(models.Model):
    """What is set once for the whole bench; there is one row, `inventory.bench_settings` reads it."""

    name = models.CharField(max_length=60, blank=True, default="")
    era = models.CharField(max_length=10, blank=True, default="")
    labels = models.CharField(max_length=40, blank=True, default="")
    address = models.CharField(max_length=200, blank=True, default="")
    backups = models.CharField(max_length=60, blank=True, default="")
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.name or "the bench"


class Person(User):
    """Somebody who may sign in, with what the bench says of them; the row is that of Django's own user."""

    class Meta:
        proxy = True

    @property
    def role(self) -> str:
        return role_of(self)

    @property
    def version(self) -> int:
        """Stands for what may be changed of a person: equal versions have equal roles and standing."""
        return crc32(f"{self.username} {self.role} {self.is_active} {self.has_second_factor}".encode())

    @property
    def has_second_factor(self) -> bool:
        factor: SecondFactor | None = getattr(self, "second_factor", None)
        return factor is not None and factor.since is not None


class SheetShape(models.Model):
    """What the columns of a list mean that came in before: proposed again for one with the same headings."""

    version: ClassVar[int] = 1

    shape = models.CharField(max_length=64, unique=True)
    meanings = models.JSONField()

    def __str__(self) -> str:
        return ", ".join(self.meanings)


class AccessKey(models.Model):
    """A key with which a program acts as a person; `inventory.keys` makes and reads it.

    The key itself is not stored: what it is known by is `digest`.
    """

    version: ClassVar[int] = 1  # made and revoked, never changed

    person = models.ForeignKey(User, models.CASCADE, related_name="access_keys")
    name = models.CharField(max_length=60)
    nonce = models.CharField(max_length=32, blank=True, default="")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    used_on = models.DateField(null=True)

    class Meta:
        verbose_name = "key"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "name"], name="one_key_of_a_name"),
        ]

    def __str__(self) -> str:
        return self.name
