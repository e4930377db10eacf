"""The demo taken out of a bench again: its rows, and what was done with them, but nothing that anybody owns.

What goes: the rows that loading made, and rows that only say something of those (`OWNERS`).  What both the
demo and others use stays: values, parts, drawers.  Where anything else hangs on what would go, nothing goes,
and the reasons say what.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import IntegrityError, connection, models, transaction
from django.db.models import Count, Max, Q

from inventory import ledger, statistics
from inventory.ledger import Refused
from inventory.models import (
    AccessChange,
    AccessKey,
    ApiCall,
    BenchSettings,
    Board,
    ChangeEntry,
    Design,
    HandOver,
    Holding,
    Lot,
    Movement,
    Part,
    Photo,
    Place,
    Position,
    RecoveryCode,
    SecondFactor,
    SheetShape,
    SignInFailure,
    StoredSpec,
)
from inventory.own_models import own_models
from inventory.pictures import photos
from inventory.refusals import Code
from repairs.models import DemoLoad, Job, Loan, Need, PieceAsk, Purchase, Reservation, Trial
from repairs.proving_models import (
    AcceptedException,
    BenchEntry,
    Confirmation,
    LinkSetting,
    LoanProof,
    RailReading,
    SwapStep,
    SwapTest,
    TrialRecord,
)
from repairs.sharing_models import (
    BenchKey,
    DesignCredit,
    DesignRecord,
    DesignTaken,
    EvidenceReading,
    EvidenceSubstitution,
    EvidenceWindow,
    FriendAsk,
    FriendGift,
    FriendLine,
    LackMark,
    SpareMark,
)
from repairs.webhook_models import Webhook, WebhookDelivery

Model = type[models.Model]
Rows = dict[Model, set[int]]

APART = (
    AccessChange, AccessKey, ApiCall, SecondFactor, RecoveryCode, SignInFailure, BenchSettings, BenchKey,
    DemoLoad, SheetShape, Webhook, WebhookDelivery,
)  # fmt: skip
"""Tables that hold nothing of a workshop."""

SHARED = (StoredSpec, Part, Place)
"""What is kept where something that stays uses it; boards' places go with their boards."""

OWNERS: Mapping[Model, tuple[str, ...]] = {
    Position: ("design",),
    Lot: ("split_from", "origin_board", "purchase"),
    HandOver: ("lot", "board"),
    Holding: ("lot",),
    Movement: ("lot",),
    Need: ("job",),
    PieceAsk: ("need", "lot"),
    Reservation: ("need",),
    Loan: ("movement",),
    LoanProof: ("loan",),
    Trial: ("lot", "board"),
    TrialRecord: ("trial",),
    SwapTest: ("board",),
    SwapStep: ("test",),
    BenchEntry: ("job",),
    LinkSetting: ("board",),
    Confirmation: ("board",),
    RailReading: ("board",),
    AcceptedException: ("board",),
    DesignCredit: ("design",),
    DesignRecord: ("design",),
    DesignTaken: ("design",),
    SpareMark: ("lot",),
    LackMark: ("spec",),
    FriendLine: ("friend",),
    FriendAsk: ("friend", "lot"),
    FriendGift: ("friend", "movement"),
    EvidenceSubstitution: ("taken",),
    EvidenceReading: ("taken",),
    EvidenceWindow: ("taken",),
}
"""A row of this table says something of its owner and of nothing else: it goes with it."""

DONE_SINCE: Mapping[Model, tuple[str, str]] = {
    Lot: ("lot that came of it", "lots that came of it"),
    Movement: ("movement", "movements"),
    Reservation: ("promise", "promises"),
    Trial: ("trial", "trials"),
    Need: ("need", "needs"),
    BenchEntry: ("log entry", "log entries"),
    Loan: ("loan", "loans"),
    SwapTest: ("swap test", "swap tests"),
    LinkSetting: ("link setting", "link settings"),
    Confirmation: ("confirmation", "confirmations"),
    RailReading: ("rail reading", "rail readings"),
    AcceptedException: ("accepted exception", "accepted exceptions"),
    Position: ("position drawn", "positions drawn"),
    PieceAsk: ("request", "requests"),
    HandOver: ("change of hands", "changes of hands"),
}
MAX_REASONS = 12


@dataclass
class Removal:
    """What taking the demo out would do.  `against` are reasons not to; `since` is what was done with it."""

    rows: Rows
    boards: list[str] = field(default_factory=list)
    designs: list[str] = field(default_factory=list)
    jobs: list[str] = field(default_factory=list)
    lots: int = 0
    places: int = 0
    purchases: int = 0
    pictures: int = 0
    since: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    against: list[str] = field(default_factory=list)

    @property
    def summary(self) -> str:
        """What the person was shown, so that nothing else goes when they agree to it."""
        counts = {model._meta.label: len(ids) for model, ids in self.rows.items() if ids}
        return " ".join(f"{label}={count}" for label, count in sorted(counts.items()))


def tables() -> list[Model]:
    """The tables of a workshop."""
    return [model for model in own_models() if model not in APART]


def alone() -> None:
    """Keep others from writing until the transaction ends.  SQLite has locked everything at BEGIN."""
    if connection.vendor == "postgresql":
        names = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in tables())
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {names} IN SHARE ROW EXCLUSIVE MODE")


def ids_of(model: Model) -> set[int]:
    return set(model._base_manager.values_list("pk", flat=True))


def is_loaded() -> bool:
    return DemoLoad.objects.exists()


def planned() -> Removal | None:
    """What taking the demo out would do now; None where it is not here, or its rows were never noted."""
    load = DemoLoad.objects.first()
    if load is None:
        return None
    here: Rows = {model: ids_of(model) for model in tables()}
    made: Rows = {model: set(load.rows.get(model._meta.label, ())) & here[model] for model in tables()}
    rows = _with_what_is_owned({model: set(ids) for model, ids in made.items()}, here)
    kept = _keep_what_is_shared(rows, here)
    removal = Removal(rows)
    removal.against = list(dict.fromkeys([*_hanging(rows, here), *_touching(rows)]))[:MAX_REASONS]
    _describe(removal, made, kept)
    return removal


def remove(confirmation: str) -> Removal:
    """Take the demo out, whole or not at all.  `confirmation` is what the person saw would go.

    What goes is worked out while others write; then they wait only until it is gone, unless one of them
    changed the workshop meanwhile: then it is worked out again.
    Refused where it is not here, has changed since, or others' work hangs on it.
    """
    state = _state()
    removal = planned()
    with transaction.atomic():
        alone()
        if _state() != state:
            removal = planned()
        return _taken_out(removal, confirmation)


def _state() -> object:
    """What differs once anything was committed that could change what goes.

    The log of changes notes what was changed in a list; rows of the other tables get another owner only
    together with a row that is made or removed.
    """
    listed = ChangeEntry.objects.filter(table__in=[model._meta.db_table for model in tables()])
    last = listed.aggregate(Max("id"), **({} if connection.vendor == "sqlite" else {"count": Count("id")}))
    return last, [model._base_manager.aggregate(Max("pk"), Count("pk")) for model in tables()]


def _taken_out(removal: Removal | None, confirmation: str) -> Removal:
    if removal is None:
        raise Refused(Code.NO_DEMO, "The demo is not here: there is nothing to take out.")
    if removal.against:
        raise Refused(
            Code.IN_USE, f"The demo stays, because your own work depends on it: {'; '.join(removal.against)}."
        )
    if removal.summary != confirmation:
        raise Refused(Code.STALE, "Something was done since you looked: look again at what would go.")
    rows = removal.rows
    contents = set(Photo.objects.filter(pk__in=rows[Photo]).values_list("content", flat=True))
    for name, shown in photos.SUBJECTS.items():
        photos.let_go_of(name, rows.get(shown, set()), but=rows[Photo])
    for model, key in _nulled():
        model._base_manager.filter(**{f"{key}__in": rows[_target(model, key)]}).exclude(
            pk__in=rows[model]
        ).update(**{key: None})
    ledger.forget(rows[Lot])
    for model, ids in rows.items():
        if model not in (Holding, Movement):
            found: Any = model._base_manager.filter(pk__in=ids)
            found._raw_delete(found.db)  # the keys are checked below, all at once
    DemoLoad.objects.all().delete()
    try:
        connection.check_constraints()
    except IntegrityError as error:
        raise Refused(Code.IN_USE, f"The demo stays, for something still refers to it: {error}") from None
    photos.remove_files(contents)
    statistics.renew()
    return removal


# --- what goes, and what hangs on it


def _with_what_is_owned(rows: Rows, here: Rows) -> Rows:
    grown = True
    while grown:
        grown = False
        for model, owners in OWNERS.items():
            if here[model] <= rows[model]:
                continue
            owned = Q()
            for owner in owners:
                owned |= Q(**{f"{owner}__in": rows[_target(model, owner)]})
            if model is Reservation:  # one that was given up is history of the pieces as of the job
                owned |= Q(holding__in=rows[Holding], status=Reservation.Status.RELEASED)
            found = set(model._base_manager.filter(owned).values_list("pk", flat=True)) - rows[model]
            if found:
                rows[model] |= found
                grown = True
    return rows


def _target(model: Model, key: str) -> Model:
    target: Any = model._meta.get_field(key).related_model
    return target  # type: ignore[no-any-return]


def _keys_to(model: Model) -> Iterator[tuple[Model, str, bool]]:
    """What refers to a table: the other table, its key, and whether that may become blank."""
    for relation in model._meta.get_fields(include_hidden=True):
        if relation.auto_created and not relation.concrete and (relation.one_to_many or relation.one_to_one):
            other: Any = relation.related_model
            if other in tables():
                yield other, relation.field.name, relation.on_delete is models.SET_NULL  # type: ignore[union-attr]


def _nulled() -> Iterator[tuple[Model, str]]:
    for model in tables():
        yield from ((other, key) for other, key, may_be_blank in _keys_to(model) if may_be_blank)


def _others(model: Model, rows: Rows, here: Rows) -> Iterator[tuple[Model, str, models.QuerySet[Any]]]:
    """Rows that stay and refer to rows of this table that would go; a table that goes whole is not asked."""
    for other, key, may_be_blank in _keys_to(model):
        if not may_be_blank and rows[model] and not here[other] <= rows[other]:
            found = other._base_manager.filter(**{f"{key}__in": rows[model]}).exclude(pk__in=rows[other])
            yield other, key, found


def _keep_what_is_shared(rows: Rows, here: Rows) -> Rows:
    """Leave in what others use of values, parts and drawers, with what those stand in; answer which."""
    kept: Rows = {model: set() for model in SHARED}
    boards = set(Place.objects.filter(type=Place.Type.BOARD).values_list("pk", flat=True))
    grown = True
    while grown:
        grown = False
        for model in SHARED:
            used: set[int] = set()
            for _other, key, found in _others(model, rows, here):
                used |= set(found.values_list(key, flat=True))
            used = (used & rows[model]) - (boards if model is Place else set())
            if used:
                rows[model] -= used
                kept[model] |= used
                grown = True
    return kept


def _hanging(rows: Rows, here: Rows) -> Iterator[str]:
    """Why it cannot go: what stays and refers to what would go."""
    for model in rows:
        for other, _key, found in _others(model, rows, here):
            for row in found.order_by("pk")[:MAX_REASONS]:
                yield _words(other, row)


def _touching(rows: Rows) -> Iterator[str]:
    """Why it cannot go: what would go and has a hand in what stays."""
    boards = Board.objects.exclude(pk__in=rows[Board])
    here = Movement.objects.filter(pk__in=rows[Movement], reversed_by=None, reverses=None)
    for board in boards.filter(Q(place__arrivals__in=here) | Q(place__departures__in=here)).distinct():
        yield f"a piece of the demo is or was on your board {board.name}"
    merged = Movement.objects.filter(pk__in=rows[Movement], to_lot__isnull=False).exclude(
        to_lot__in=rows[Lot]
    )
    for line in merged.select_related("to_lot__part")[:MAX_REASONS]:
        yield f"pieces of the demo were put into your {line.to_lot}"
    promised = Reservation.objects.filter(pk__in=rows[Reservation]).exclude(holding__in=rows[Holding])
    for each in promised.exclude(status=Reservation.Status.RELEASED).select_related("need__job", "holding"):
        yield f"pieces of your lot {each.holding.lot_id} are reserved for the demo's job {each.need.job}"


def _words(model: Model, row: Any) -> str:
    """What hangs on the demo, as a person knows it."""
    if model is Job:
        return f"your job {row} is for one of its boards"
    if model is Board:
        return f"your board {row} is made to one of its drawings"
    if model is Reservation:
        return f"pieces of the demo are reserved for your job {row.need.job}, or fitted for it"
    if model in (Movement, Holding):
        return f"your {row.lot} is or was on one of its boards"
    if model in (Confirmation, SwapStep):
        return f"one of its pieces is named in what was found on your board {getattr(row, 'board', row)}"
    return f"your {model._meta.verbose_name} {row.pk} ({row}) refers to it"


# --- in words


def _describe(removal: Removal, made: Rows, kept: Rows) -> None:
    rows = removal.rows
    removal.boards = _names(Board, rows)
    removal.designs = _names(Design, rows)
    removal.jobs = _names(Job, rows)
    removal.lots = len(rows[Lot])
    removal.places = Place.objects.filter(pk__in=rows[Place]).exclude(type=Place.Type.BOARD).count()
    removal.purchases = len(rows[Purchase])
    removal.pictures = len(rows[Photo])
    for model, (one, many) in DONE_SINCE.items():
        count = len(rows[model] - made[model])
        if count:
            removal.since.append(f"{count} {one if count == 1 else many}")
    removal.kept = [
        *Place.objects.filter(pk__in=kept[Place]).order_by("name").values_list("name", flat=True),
        *Part.objects.filter(pk__in=kept[Part]).order_by("name").values_list("name", flat=True),
    ]


def _names(model: Model, rows: Rows) -> list[str]:
    found: Iterable[models.Model] = model._base_manager.filter(pk__in=rows[model]).order_by("name", "pk")
    return [str(each) for each in found]
