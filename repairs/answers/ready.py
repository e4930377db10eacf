"""Whether a board is safe to switch on, as it is answered: by the API and by the command."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Self

from pydantic import Field

from inventory.answers import WholeAnswer, one_of
from inventory.models import Board
from repairs.proving.items import Item
from repairs.proving.ready import Readiness


@dataclass
class Ready(WholeAnswer):
    """`ready` only where every item passes; items in the order of bringing up."""

    board: int
    verdict: Annotated[str, one_of(("ready", "open", "stop"))]
    accepted: Annotated[int, Field(description="How many exceptions the verdict rests on.")]
    accepted_by: list[str]
    text: Annotated[str, Field(description="The verdict as one line: `ready, 2 accepted by robin`.")]
    items: list[Item]
    cautions: list[str]

    @classmethod
    def example(cls) -> Self:
        link = Item(
            "link", "LK1", "stop", "1-2 is required: IC10 is Texas Instruments 2716; it stands at 2-3",
            refs=("IC10", "IC11"), evidence=("IC10 is Texas Instruments 2716 (marked TMS2716JL-45 8145)",),
        )  # fmt: skip
        defer = "Follow local codes; mains and high-voltage work is for licensed or competent people."
        return cls(9, "stop", 0, [], "stop", [link], [defer])


def ready_answer(board: Board, judged: Readiness, items: Iterable[Item]) -> Ready:
    return Ready(
        board=board.pk,
        verdict=judged.verdict,
        accepted=judged.accepted,
        accepted_by=list(judged.accepted_by),
        text=judged.text,
        items=list(items),
        cautions=list(judged.cautions),
    )
