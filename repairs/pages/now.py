"""Now: what is open, what it waits for, what is owed, and what to do next."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import timedelta

from django.contrib.auth.models import User
from django.db.models import F, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from inventory.models import Board, Design, Holding, Lot
from inventory.pages.frame import page, who
from inventory.roles import BENCH, OWNER, may_act_as
from repairs import demo_removal
from repairs.asks import told, waiting
from repairs.explanations import pieces
from repairs.friends.tier import could_be_asked
from repairs.loans import all_loans
from repairs.models import Job, PieceAsk
from repairs.planning import Tier
from repairs.supply_and_demand import planned

MAX_OWED = 50
MAX_JOBS = 20
"""So many jobs are told here, those first in line; the page of jobs has them all."""


@dataclass
class Standing:
    """How one open job stands: pieces needed, and where those still lacking would come from."""

    job: Job
    needed: int = 0
    fitted: int = 0
    promised: int = 0
    short: int = 0
    at_others: int = 0
    at_friends: int = 0
    tiers: dict[Tier, int] = field(default_factory=lambda: defaultdict(int))

    @property
    def percent(self) -> int:
        return 100 * self.fitted // self.needed if self.needed else 0

    @property
    def tonight(self) -> bool:
        """Everything that it lacks is promised or free in a drawer."""
        at_hand = self.fitted + self.promised + self.tiers[Tier.DRAWER]
        return 0 < self.needed == at_hand and self.fitted < self.needed

    @property
    def to_find(self) -> int:
        """Pieces that nobody is known to have."""
        return self.short - self.at_others - self.at_friends

    @property
    def waits_for(self) -> list[str]:
        waits = [
            (self.tiers[Tier.DONOR], "to lift from donors"),
            (self.tiers[Tier.ON_ORDER], "on order"),
            (self.at_others, "to ask of others here"),
            (self.at_friends, "to ask of friends"),
            (self.to_find, "to find or buy"),
        ]
        return [f"{count} {what}" for count, what in waits if count]

    @property
    def next_step(self) -> tuple[str, str]:
        """What to do next for it, in one line, and where."""
        name, pk = self.job.name, self.job.pk
        if not self.needed:
            return f"Say what {name} needs", reverse("job", args=[pk])
        if self.fitted == self.needed and self.job.board is not None:
            return f"Is {self.job.board.name} safe to switch on?", reverse("safe", args=[self.job.board.pk])
        if self.fitted == self.needed:
            return f"Write down the cause and close {name}", reverse("job-close", args=[pk])
        if self.promised:
            return f"Fetch and fit {pieces(self.promised)} for {name}", reverse("fetch", args=[pk])
        if self.tiers[Tier.DRAWER]:
            step = f"Reserve {pieces(self.tiers[Tier.DRAWER])} in the drawers for {name}"
            return step, reverse("job", args=[pk])
        if self.tiers[Tier.DONOR]:
            step = f"Lift {pieces(self.tiers[Tier.DONOR])} for {name}"
            return step, f"{reverse('harvest')}?job={pk}"
        if self.at_others:
            step = f"Ask others here for {pieces(self.at_others)} for {name}"
            return step, f"{reverse('shortages')}"
        if self.at_friends:
            return f"Ask friends for {pieces(self.at_friends)} for {name}", reverse("friends")
        if self.short:
            return f"Find or buy {pieces(self.short)} for {name}", reverse("buy")
        return f"Wait for what is on order for {name}", f"{reverse('buy')}#on-order"


def standings() -> list[Standing]:
    """Every open job in its rank, from the plan over all of them."""
    bench, plan = planned()
    jobs = Job.objects.filter(status=Job.Status.OPEN).select_related("board", "owner")
    found = {job.pk: Standing(job) for job in jobs}
    for line, demand in bench.lines.items():
        if (standing := found.get(line.job)) is not None:
            standing.needed += demand.needed
            standing.fitted += demand.fitted
            standing.promised += demand.promised
            standing.short += plan.short.get(line, 0)
    for take in plan.takes:
        if (standing := found.get(take.demand.job)) is not None:
            standing.tiers[take.tier] += take.quantity
    others, friends = could_be_asked()
    for job, standing in found.items():
        standing.at_others, standing.at_friends = others.get(job, 0), friends.get(job, 0)
    day = timezone.localdate()
    return sorted(found.values(), key=lambda each: (each.job.priority, each.job.due or day.max, each.job.pk))


NEWS = timedelta(days=14)
"""So long a no is told to whoever asked."""


def _asks(person: User) -> dict[str, object]:
    """What this person is asked for, and what they asked of others and wait for, or were told no."""
    mine = Q(by=person) | Q(need__job__owner=person)
    no = Q(state=PieceAsk.State.DECLINED, answered_at__gt=timezone.now() - NEWS)
    asked = told(PieceAsk.objects.filter(mine, no | Q(state=PieceAsk.State.ASKED))).exclude(owner=person)
    return {
        "asked_of_you": waiting(PieceAsk.objects.filter(owner=person)),
        "you_asked": asked.order_by("-id")[:MAX_JOBS],
    }


@page()
def now(request: HttpRequest) -> HttpResponse:
    empty = not (Lot.objects.exists() or Board.objects.exists() or Design.objects.exists())
    if empty:
        return render(request, "bench/first-use.html", {"owner": may_act_as(request.user, OWNER)})
    # Overdue first, then what is due soonest, then what has no day.
    loans = all_loans().filter(owed__gt=0).order_by(F("due").asc(nulls_last=True), "id")  # type: ignore[misc]
    owed = list(loans[:MAX_OWED])
    untested = Holding.objects.filter(
        lot__condition=Lot.Condition.UNTESTED, place__type__in=["drawer", "tray"], quantity__gt=0
    ).values("lot")
    # One's own first, each in the order of the plan; at a bench where no job is anybody's it is one list.
    every = sorted(standings(), key=lambda each: each.job.owner_id != request.user.pk)
    today = timezone.localdate()
    return render(
        request,
        "bench/now.html",
        {
            "standings": every[:MAX_JOBS],
            "mine": [each for each in every[:MAX_JOBS] if each.job.owner_id == request.user.pk],
            "theirs": [each for each in every[:MAX_JOBS] if each.job.owner_id != request.user.pk],
            "open": len(every),
            **_asks(who(request)),
            "tonight": [each for each in every if each.tonight][:MAX_JOBS],
            "owed": [loan for loan in owed if loan.movement.borrow],
            "lent": [loan for loan in owed if not loan.movement.borrow],
            "overdue": sum(loan.due is not None and loan.due < today for loan in owed),
            "today": today,
            "may_write": may_act_as(request.user, BENCH),
            "untested": untested.distinct().count(),
            "demo": demo_removal.is_loaded() and may_act_as(request.user, OWNER),
        },
    )
