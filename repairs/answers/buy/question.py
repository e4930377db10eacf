"""What may be asked of the buy list, and its sheets: the list, which comes back in with its lines marked."""

import secrets
from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal
from itertools import chain

from inventory.refusals import Code
from inventory.sheets import SheetOut
from inventory.sheets.exports import sheet_out
from inventory.sheets.grid import CellOut
from inventory.sheets.specs import SPEC_COLUMNS, spec_values
from inventory.spec import Spec
from repairs.answers.buy.answer import ANYWAY, ASKS, COMPLETIONS, FRIENDS, QUESTIONS, Buy, of_completions
from repairs.answers.buy.listing import to_buy
from repairs.answers.parameters import ASK, BORROW, JOBS, Parameter, PlanQuestion, Unreadable
from repairs.buy_table import BUY, ListLine, Written
from repairs.models import Purchase


def read_postage(text: str) -> Decimal:
    """Postage as it is typed: `3.50` or `3,50`.  Unreadable says what is wanted.

    >>> read_postage("3.5"), read_postage("3,5")
    (Decimal('3.5'), Decimal('3.5'))
    """
    whole, _, cents = text.replace(",", ".").partition(".")
    figures = f"{whole}{cents}"
    if not (figures.isascii() and figures.isdigit() and 1 <= len(whole) <= 6 and len(cents) <= 2):
        raise Unreadable("expected an amount such as 3.50")
    return Decimal(f"{whole}.{cents or 0}")


def _postage(texts: Sequence[str]) -> Decimal | None:
    return read_postage("".join(texts)) if texts else None


POSTAGE = Parameter(
    "postage",
    "For the whole order: shared over the lines by price, or evenly where none is known.",
    _postage,
    {"type": "string", "pattern": r"^[0-9]{1,6}([.,][0-9]{1,2})?$"},
)


def _friends(texts: Sequence[str]) -> str:
    if len(texts) > 1 or not set(texts) <= set(FRIENDS):
        raise Unreadable(f"expected {', '.join(FRIENDS)}", Code.INVALID_CHOICE)
    return texts[0] if texts else ANYWAY


ABOUT_FRIENDS = Parameter(
    "friends",
    "What friends have: `first` leaves off the list what they could give, to be asked of them; `anyway` buys "
    "it and says who has it; `cost` asks where that costs less, the postage of their parcels paid. But for "
    "`anyway`, others here come before friends: what they could give is left off too, to be asked of them.",
    _friends,
    {"type": "string", "enum": list(FRIENDS), "default": ANYWAY},
)


def ask_buy(
    jobs: Collection[int] | None = None,
    *,
    borrow: bool = False,
    ask: bool = False,
    postage: Decimal | None = None,
    friends: str = ANYWAY,
) -> Buy:
    """What is left to buy."""
    answer = to_buy(jobs, postage=postage, borrow=borrow, ask=ask, friends=friends)
    answer.of_jobs = jobs is not None
    return answer


def sheets(answer: Buy) -> Sequence[SheetOut]:
    """The list and what is on order, to be marked; what needs an answer; the sets that complete jobs."""
    lines = chain(_lines(answer), () if answer.of_jobs else _on_order())
    return [
        sheet_out(BUY, "Buy", lines),
        QUESTIONS.sheet(answer.questions),
        COMPLETIONS.sheet(of_completions(answer)),
        *([ASKS.sheet(answer.ask_friends)] if answer.ask_friends else []),
    ]


def _lines(answer: Buy) -> Iterator[dict[str, CellOut]]:
    mark = secrets.token_hex(4)
    for number, line in enumerate(answer.results, 1):
        yield {
            **_spec(line.spec),
            **{
                name: getattr(line, name)
                for name in (
                    "part", "needed", "pieces", "packs", "pack_size", "for_stock", "postage", "bought_from",
                )
            },
            "what": line.name,
            "price": line.price_each,
            "cost": line.price,
            "jobs": line.jobs_served,
            "completes": ", ".join(line.completes_names),
            "written": str(ListLine(mark, number)),
        }  # fmt: skip


def _on_order() -> Iterator[dict[str, CellOut]]:
    rows = Purchase.objects.filter(state=Purchase.State.ORDERED).select_related("part__spec").order_by("id")
    for row in rows:
        yield {
            **_spec(row.part.spec.spec),
            "purchase": row.pk,
            "part": row.part_id,
            "what": row.part.name,
            "pieces": row.quantity,
            "state": row.state,
            "price": row.price,
            "cost": None if row.price is None else row.quantity * row.price,
            "bought_from": row.bought_from,
            "written": str(Written(row.version, row.quantity, row.price, row.bought_from)),
        }


def _spec(spec: Spec) -> dict[str, CellOut]:
    return dict(zip((column.key for column in SPEC_COLUMNS), spec_values(spec), strict=True))


BUY_LIST = PlanQuestion((JOBS, BORROW, ASK, POSTAGE, ABOUT_FRIENDS), ask_buy, sheets)
