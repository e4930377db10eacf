"""Why the plan gave a need what it gave it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inventory.refs import write_refs
from repairs.models import Need
from repairs.planning import Tier
from repairs.planning.why import Why, why
from repairs.supply_and_demand import Alike, Line, Piece, Wanting, read_pieces, the_bench
from repairs.telling import TIERS, grade, noted, objections, pieces, settled


@dataclass(frozen=True)
class Explained:
    """The reasons; the first of the pieces that each supply in them stands for; the lines behind demands.

    `line` is that of the need itself.
    """

    line: Line
    why: Why
    pieces: Mapping[Alike, Piece]
    lines: Mapping[Line, Wanting]


def explain(need: Need) -> Explained | None:
    """None for a need that lacks nothing, was dropped, or whose job is not open: no plan is made for it.

    Needs of one job with one requirement are planned together.
    """
    bench = the_bench(borrow=True)
    line = bench.line_of(need)
    if need.status != Need.Status.OPEN or line not in bench.lines or not bench.lines[line].lacking:
        return None
    told = why(line, bench.demands, bench.supplies, recorded=bench.recorded)
    named = {
        *(each.supply for each in told.given),
        *(each.supply for each in told.elsewhere),
        *(each.supply for each in told.refused),
    }
    first = {alike: bench.shelves[alike].after(0) for alike in named}
    found = read_pieces(first.values())
    return Explained(line, told, {alike: found[first[alike]] for alike in named}, bench.lines)


def sentences(found: Explained) -> list[str]:
    """The chain of reasons as a person reads it: given, gone elsewhere, short, what would change it, and the
    nearest of what was refused."""
    return [*_together(found), *_given(found), *_gone_elsewhere(found), *_what_would_change(found)]


def _together(found: Explained) -> Iterator[str]:
    mine = found.lines[found.line]
    if mine.lacking > 1:
        refs = f": {write_refs(mine.refs)}" if mine.refs else ""
        yield f"{mine.name} lacks {pieces(mine.lacking)} of it, planned together{refs}."


def _given(found: Explained) -> Iterator[str]:
    for take in found.why.given:
        notes = "; ".join(noted(take.fit))
        told = f"{grade(take.fit)} ({notes})" if notes else grade(take.fit)
        first = "first " if take.quantity > 1 else ""
        yield f"The plan takes {pieces(take.quantity)}, {first}{_where(found, take.supply)}: {told}."


def _gone_elsewhere(found: Explained) -> Iterator[str]:
    for each in found.why.elsewhere:
        other = found.lines[each.demand.id]
        refs = f" ({write_refs(other.refs)})" if other.refs else ""
        reason = "which is first in line" if each.first_in_line else "for the whole plan is better so"
        yield (
            f"By itself it would have had {pieces(each.quantity)}, {_where(found, each.supply)}; "
            f"{'that goes' if each.quantity == 1 else 'those go'} to {other.name}{refs}, {reason}."
        )


def _what_would_change(found: Explained) -> Iterator[str]:
    why = found.why
    if not why.short:
        return
    yield f"{pieces(why.short)} short."
    name = found.lines[found.line].name
    for left, condition in (
        (why.if_first, f"If {name} came first"),
        (why.if_borrowing, "If working boards were borrowed from"),
    ):
        if left < why.short:
            yield f"{condition}, {pieces(left) if left else 'nothing'} would be short."
    if min(why.if_first, why.if_borrowing) == why.short:
        yield "Neither another place in line nor borrowing from working boards would change that."
    for miss in why.refused:
        verdict = "In question" if miss.fit.grade == "ask" else "Refused"
        told = f"{verdict}, {_where(found, miss.supply)}: {objections(miss.fit)[0]}."
        yield " ".join(filter(None, (told, settled(miss.settled_by))))


def _where(found: Explained, supply: Alike) -> str:
    """`lot 7 in Cabinet A / Drawer 3`, `lot 8 on Tern donor 1, C3`, `on order`."""
    piece = found.pieces[supply]
    if piece.lot is None:
        return TIERS[Tier.ON_ORDER]
    at = f"on {piece.place_name}" if supply.tier != Tier.DRAWER else f"in {piece.place_name}"
    return f"lot {piece.lot} {at}" + (f", {piece.ref}" if piece.ref else "")
