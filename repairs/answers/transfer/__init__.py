"""What of a donor goes where on the board of a job."""

from repairs.answers.transfer.answer import Transfer
from repairs.answers.transfer.plan import transfer_plan

__all__ = ["Transfer", "transfer_plan"]
