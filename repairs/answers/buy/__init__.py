"""What is left to buy for the open jobs, and ordering it."""

from repairs.answers.buy.answer import Buy, Completion, LineToBuy
from repairs.answers.buy.listing import to_buy
from repairs.answers.buy.ordering import MAX_LINES, OrderLine, lock_buy_list, order, put_on_order

__all__ = [
    "MAX_LINES", "Buy", "Completion", "LineToBuy", "OrderLine", "lock_buy_list", "order", "put_on_order",
    "to_buy",
]  # fmt: skip
