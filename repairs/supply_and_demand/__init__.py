"""What open needs lack and what is free for them, as `repairs.planning` takes it.

Needs are grouped by requirement and job, free pieces by part, condition, reading and tier (`grouped`).
Nothing is loaded as rows of a model (`loading`), and only holdings that a plan draws on are looked up by
name.  The bench and its plan (`bench`) are kept while nothing is committed, and so shared: nobody may change
them.
"""

from repairs.supply_and_demand.bench import SupplyAndDemand, planned, the_bench
from repairs.supply_and_demand.grouped import (
    CHUNK,
    EVERYBODY,
    NOT_MEASURED,
    Alike,
    DemandKey,
    FreePieces,
    JobDemand,
    Shelf,
)
from repairs.supply_and_demand.loading import read_pieces, read_spec, read_specs

__all__ = [
    "Alike",
    "CHUNK",
    "DemandKey",
    "EVERYBODY",
    "FreePieces",
    "JobDemand",
    "NOT_MEASURED",
    "Shelf",
    "SupplyAndDemand",
    "planned",
    "read_pieces",
    "read_spec",
    "read_specs",
    "the_bench",
]
