"""The ledger: the only code that writes movements and holdings.

Every piece is in exactly one place.  A movement takes pieces from one holding and puts them in another in
one transaction, by conditional updates that the database decides; what cannot be done is refused with a
reason and the facts, and nothing is changed.  A mistake is undone by a reversing line.
"""

from inventory.ledger.arrivals import Arrival, Origin, receive, receive_all
from inventory.ledger.boards import fit, lift, remove
from inventory.ledger.forgetting import forget
from inventory.ledger.holdings import Spot, piece_at, promise, refuse_taken, release, spot_of
from inventory.ledger.loans import borrowed_lots, give_back, lend, open_loans, still_owed
from inventory.ledger.movements import Actor, count, give_away, is_kept, merge, move, reverse, scrap, split
from inventory.ledger.recount import differences, fold
from inventory.refusals import Gone, KnownPiece, NotEnough, PositionTaken, Refused

__all__ = [
    "Arrival", "Actor", "Gone", "KnownPiece", "NotEnough", "Origin", "PositionTaken", "Refused", "Spot",
    "borrowed_lots", "count", "differences", "fit", "fold", "forget", "give_away", "give_back", "is_kept",
    "lend", "lift", "merge", "move", "open_loans", "piece_at", "promise", "receive", "receive_all",
    "refuse_taken", "release", "remove", "reverse", "scrap", "split", "spot_of", "still_owed",
]  # fmt: skip
