"""What is left to buy for the open jobs, and ordering it."""

from repairs.answers.buy.answer import Buy, Completion, LineToBuy
from repairs.answers.buy.listing import to_buy
from repairs.answers.buy.ordering import MOST_LINES, OrderLine, hold_the_list, order, put_on_order

__all__ = [
    "MOST_LINES", "Buy", "Completion", "LineToBuy", "OrderLine", "hold_the_list", "order", "put_on_order",
    "to_buy",
]  # fmt: skip
