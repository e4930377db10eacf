"""Friends' lists come in; what is on them is asked for, confirmed, sent, and arrives as a lot."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import F, ProtectedError, Sum
from django.utils import timezone

from inventory import ledger
from inventory.ledger import Actor, Arrival, Origin, Spot
from inventory.models import Lot, Part, StoredSpec
from inventory.refusals import Code, Refused
from inventory.spec import Spec
from repairs.friends.files import refuse_older
from repairs.friends.keys import signer_for
from repairs.friends.lists import LackEntry, SpareDocument, SpareEntry
from repairs.models import Job
from repairs.sharing_models import DesignRecord, DesignTaken, Friend, FriendAsk, FriendLine

State = FriendAsk.State
OPEN = (State.ASKED, *FriendAsk.ON_ITS_WAY)
"""Asked for, and neither here nor cancelled."""
NEXT: Mapping[str, tuple[str, ...]] = {
    State.ASKED: (State.CONFIRMED, State.SENT, State.ARRIVED, State.CANCELLED),
    State.CONFIRMED: (State.SENT, State.ARRIVED, State.CANCELLED),
    State.SENT: (State.ARRIVED, State.CANCELLED),
    State.ARRIVED: (),
    State.CANCELLED: (),
}
ORIGIN_LENGTH = 200


@dataclass(frozen=True)
class ListSeen:
    """What a list holds beside the one that it replaces."""

    made: date
    spare: int
    lacking: int
    before: date | None
    lines_before: int
    signed_by: str


def look(friend: Friend, document: SpareDocument) -> ListSeen:
    """What taking the list would do.  Refused (`not_signed`) where the friend's key did not sign it."""
    return ListSeen(
        date.fromisoformat(document.made), len(document.spare), len(document.lacking), friend.made,
        friend.lines.count(), signer_for(friend, document.signature),
    )  # fmt: skip


@transaction.atomic
def take_list(friend: Friend, document: SpareDocument) -> ListSeen:
    """Keep this list in place of the friend's last one.

    Refused: older than that (`stale`), or not signed by the friend's key, where that is kept (`not_signed`).
    """
    friend = Friend.objects.select_for_update().get(pk=friend.pk)
    seen = look(friend, document)
    refuse_older("list", seen.made, friend.made, today=timezone.localdate())
    entries: list[SpareEntry | LackEntry] = [*document.spare, *document.lacking]
    specs = [Spec.from_dict(each.spec) for each in entries]
    rows = StoredSpec.keep_all(specs)
    friend.lines.all().delete()
    lines = [
        FriendLine(
            friend=friend, line=each.line, spec=rows[Spec.from_dict(each.spec)], quantity=each.quantity,
            condition=each.condition, marking=each.marking, came_off=each.came_off,
            came_off_ref=each.came_off_ref,
        )
        for each in document.spare
    ]  # fmt: skip
    lines += [
        FriendLine(
            friend=friend, spec=rows[Spec.from_dict(each.spec)], quantity=each.quantity, accepts=each.accepts
        )
        for each in document.lacking
    ]
    FriendLine.objects.bulk_create(lines, batch_size=500)
    Friend.objects.filter(pk=friend.pk).update(
        made=seen.made, signed_by=seen.signed_by, version=F("version") + 1
    )
    return seen


@transaction.atomic
def forget(friend: Friend) -> None:
    """Delete a friend with its list and what was asked and cancelled.  What its files told keeps its name.

    Refused (`in_use`) where anything else was asked of it, or anything given to it.
    """
    list(Friend.objects.select_for_update().filter(pk=friend.pk))
    friend.asks.filter(state=State.CANCELLED).delete()
    for told in (DesignRecord, DesignTaken):
        told.objects.filter(friend=friend).update(friend_name=friend.name)
    try:
        friend.delete()
    except ProtectedError:
        raise Refused(Code.IN_USE, f"{friend} stays: pieces were asked of it, or given to it") from None


@transaction.atomic
def ask(
    line: FriendLine, quantity: int, *, job: Job | None = None, required: StoredSpec | None = None
) -> FriendAsk:
    """Ask for pieces of a line.  Refused (`not_enough`) where more than is left of it."""
    Friend.objects.select_for_update().get(pk=line.friend_id)
    row = FriendLine.objects.select_related("spec", "friend").get(pk=line.pk)
    asked = FriendAsk.objects.filter(friend=row.friend, line=row.line, state__in=OPEN)
    left = row.quantity - (asked.aggregate(pieces=Sum("quantity"))["pieces"] or 0)
    if not row.line:
        raise Refused(Code.NOT_ENOUGH, f"{row.friend} lacks that, and spares none", available=0)
    if not 1 <= quantity <= left:
        raise Refused(Code.NOT_ENOUGH, f"{row}: {quantity} asked for, {left} left", available=left)
    return FriendAsk.objects.create(
        friend=row.friend, line=row.line, spec=row.spec, quantity=quantity, condition=row.condition,
        marking=row.marking, came_off=row.came_off, came_off_ref=row.came_off_ref, job=job, required=required,
    )  # fmt: skip


@transaction.atomic
def move_on(asked: FriendAsk, state: str, *, by: Actor, to: Spot | None = None) -> FriendAsk:
    """The next state of what was asked for; what arrived becomes a lot at `to`.

    Refused: a state that does not follow (`contradiction`), arrival without a place (`required`).
    """
    asked = (
        FriendAsk.objects.select_for_update(of=("self",))
        .select_related("friend", "spec", "job__owner")
        .get(pk=asked.pk)
    )
    if state not in NEXT[asked.state]:
        may = ", ".join(NEXT[asked.state]) or "nothing"
        raise Refused(Code.CONTRADICTION, f"it is {asked.state}: {may} follows, not {state}")
    columns: dict[str, Any] = {"state": state}
    if state == State.ARRIVED:
        if to is None:
            raise Refused(Code.REQUIRED, "say the drawer or tray that it went into")
        line = ledger.receive(_arrival(asked, to), by=by)
        columns["lot_id"] = line.lot_id
    FriendAsk.objects.filter(pk=asked.pk).update(**columns, version=F("version") + 1)
    asked.refresh_from_db()
    return asked


def origin_of(asked: FriendAsk) -> str:
    """Whose it was and what it came off there: `Lantern Street: Tern TR6 main board C, IC7 (their L12)`."""
    off = ", ".join(each for each in (asked.came_off, asked.came_off_ref) if each)
    tail = f" (their {asked.line})"
    head = f"{asked.friend}: {off}" if off else f"{asked.friend}"
    return f"{head[: ORIGIN_LENGTH - len(tail)]}{tail}"


def _arrival(asked: FriendAsk, to: Spot) -> Arrival:
    # Good at the friend's bench is not good at this one: it is tested here before it is called so.
    note = f"{asked.condition} by the friend's list"
    return Arrival(
        part=Part.of(asked.spec.spec), quantity=asked.quantity, to=to,
        origin=Origin(source=Lot.Source.DONATED, giver=origin_of(asked)), marking=asked.marking, note=note,
        owner=asked.job.owner if asked.job else None,
    )  # fmt: skip


def take_back_arrival(lot_id: int) -> None:
    """The receiving of this lot was undone: it is on its way again."""
    FriendAsk.objects.filter(lot=lot_id).update(state=State.SENT, lot=None, version=F("version") + 1)
