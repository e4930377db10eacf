"""Why the plan gave a need what it gave it."""

from collections.abc import Mapping
from dataclasses import dataclass

from repairs.models import Need
from repairs.planning.why import Why, why
from repairs.supply_and_demand import Alike, Line, Piece, SupplyAndDemand, Wanting, read_pieces


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
    bench = SupplyAndDemand.load(borrow=True)
    line = bench.line_of(need)
    if need.status != Need.Status.OPEN or line not in bench.lines or not bench.lines[line].lacking:
        return None
    told = why(line, bench.demands(), bench.supplies(), recorded=bench.recorded)
    named = {
        *(each.supply for each in told.given),
        *(each.supply for each in told.elsewhere),
        *(each.supply for each in told.refused),
    }
    first = {alike: bench.shelves[alike].after(0) for alike in named}
    found = read_pieces(first.values())
    return Explained(line, told, {alike: found[first[alike]] for alike in named}, bench.lines)
