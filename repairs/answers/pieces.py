"""What answers share: where pieces are, how they fit, and jobs that wait."""

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from inventory.answers import Answer, Reasons, one_of
from inventory.refs import write_refs
from inventory.spec import GRADES, Fit
from inventory.spec.judging import SETTLERS
from repairs import explanations
from repairs.planning import Tier
from repairs.supply_and_demand import FreePieces

TIER_NAMES: dict[int, str] = {tier: tier.name.lower() for tier in Tier}
TierName = Annotated[str, one_of(TIER_NAMES.values())]
GradeName = Annotated[str, one_of(GRADES)]
Words = list[str]
SettledBy = Annotated[
    str, one_of(("", *SETTLERS), "What would make it a yes or a clear no; blank where nothing would.")
]
Why = Annotated[Words, Field(description="The reasons that matter, in words.")]


@dataclass
class Where(Answer):
    """Pieces of a lot at a place, and what they are.  What is on order has no lot and no place yet."""

    __slots__ = ()  # so that what there are very many of can do without a dictionary each

    lot: int | None
    place: int | None
    place_name: str
    ref: str
    tier: TierName
    spec_text: str

    @property
    def where(self) -> str:
        """`Cabinet A / Drawer 3`, `Tern donor 1 C3`; blank for what is on order."""
        return f"{self.place_name} {self.ref}".strip()

    @property
    def tier_words(self) -> str:
        return explanations.TIER_LABELS[Tier[self.tier.upper()]]

    @property
    def name(self) -> str:
        """`lot 7 in Cabinet A / Drawer 3`, `lot 8 on Tern donor 1, C3`, `on order`."""
        if self.lot is None:
            return explanations.TIER_LABELS[Tier.ON_ORDER]
        at = "in" if self.tier == "drawer" else "on"
        return f"lot {self.lot} {at} {self.place_name}" + (f", {self.ref}" if self.ref else "")


@dataclass
class Fitting(Answer):
    """How well pieces do, with every reason as data and those that matter in words."""

    __slots__ = ()

    grade: GradeName
    reasons: Reasons
    why: Why

    @property
    def grade_words(self) -> str:
        return explanations.GRADE_LABELS[self.grade]


@dataclass(slots=True)
class NotPlanned(Where, Fitting):
    """Pieces that were not planned."""

    in_the_way: Annotated[str, Field(description="The property that stands in the way: of the first reason.")]
    settled_by: SettledBy

    @property
    def settled(self) -> str:
        return explanations.settled(self.settled_by)


@dataclass(slots=True)
class ForJob(Where, Fitting):
    """Pieces that serve a job."""

    job: int
    job_name: str
    quantity: int


@dataclass(slots=True)
class InQuestion(ForJob):
    """Pieces that would serve a job but for a question about them."""

    settled_by: SettledBy
    question: Annotated[str, Field(description="What to do next: `test the legs of lot 12`.")]


@dataclass
class FriendMay(Fitting):
    """Pieces of a friend that would fill what is short; nothing is promised before they say yes."""

    line: Annotated[int, Field(description="By which it is asked for, at friends/asks/.")]
    friend: int
    friend_name: str
    quantity: Annotated[int, Field(description="Pieces that nobody asked for yet.")]
    would: Annotated[int, Field(description="So many of them the plan would ask for, for this.")]
    spec_text: str
    condition: Annotated[str, one_of(("good", "untested"), "By the friend's list.")]

    @property
    def label(self) -> str:
        """`Lantern Street has 2: drop-in`."""
        return f"{self.friend_name} has {self.quantity}: {self.grade_words}"


@dataclass(slots=True)
class OtherMay(ForJob):
    """Pieces of another person at this bench that would serve a job; nothing is promised before their yes."""

    owner: Annotated[str, Field(description="Whose they are: who is asked, at asks/.")]

    @property
    def label(self) -> str:
        """`merle here has 2: drop-in`."""
        return f"{self.owner} here has {self.quantity}: {self.grade_words}"


@dataclass(slots=True)
class Waiting(Answer):
    """One job's share of a requirement, in pieces."""

    job: int
    name: str
    refs: tuple[str, ...]
    needed: int
    fitted: int
    promised: int
    short: int
    lacking_refs: Annotated[
        tuple[str, ...], Field(description="The part of `refs` that is neither fitted nor reserved in full.")
    ]
    short_refs: Annotated[
        tuple[str, ...],
        Field(
            description="The part of `lacking_refs` that stays short: earlier needs are given pieces first."
        ),
    ]

    @property
    def lacking(self) -> int:
        return self.needed - self.fitted - self.promised

    @property
    def waiting_refs(self) -> tuple[str, ...]:
        """Those that are short or, where none is, those that only wait to be reserved."""
        return self.short_refs if self.short else self.lacking_refs

    @property
    def name_and_refs(self) -> str:
        """`Tern C rebuild R1-R4`."""
        return f"{self.name} {write_refs(self.waiting_refs)}".rstrip()


def where(piece: FreePieces, tier: int, spec_text: str) -> dict[str, Any]:
    """The fields of `Where`."""
    return {
        "lot": piece.lot, "place": piece.place, "place_name": piece.place_name, "ref": piece.ref,
        "tier": TIER_NAMES[tier], "spec_text": spec_text,
    }  # fmt: skip


def fitting(fit: Fit) -> dict[str, Any]:
    """The fields of `Fitting`."""
    return {"grade": fit.grade, "reasons": fit.reasons, "why": explanations.reasons(fit)}


def not_planned(at: dict[str, Any], fit: Fit) -> NotPlanned:
    return NotPlanned(**at, **fitting(fit), in_the_way=fit.reasons[0].property, settled_by=fit.settled_by)


def in_question(at: dict[str, Any], fit: Fit, **for_job: Any) -> InQuestion:
    what = explanations.ON_ORDER if at["lot"] is None else f"lot {at['lot']}"
    return InQuestion(
        **at, **fitting(fit), **for_job, settled_by=fit.settled_by, question=explanations.question(fit, what)
    )
