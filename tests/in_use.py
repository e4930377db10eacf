"""What the demo workshop leaves to be begun, so that its pages are there to look at."""

from django.contrib.auth.models import User

from inventory.ledger import spot_of
from inventory.models import Board, Holding, Place
from repairs.swaps import open_test


def begin(name: str = "robin") -> None:
    """This person tries a chip in the socket of a working board."""
    board = Board.objects.filter(purpose="working", design__positions__socketed=True).first()
    filled = Holding.objects.filter(place=board.place, quantity=1).values_list("ref", flat=True)
    socket = board.design.positions.filter(socketed=True, ref__in=list(filled)).first()
    tray = Place.objects.filter(board=None, type="drawer").first()
    open_test(board, socket.ref, spot_of(tray), by=User.objects.get(username=name))
