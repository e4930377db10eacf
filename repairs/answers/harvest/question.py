"""What may be asked of the harvest: for which jobs."""

from repairs.answers.harvest.answer import sheets
from repairs.answers.harvest.plan import harvest_plan
from repairs.answers.parameters import JOBS, PlanQuestion

HARVEST = PlanQuestion((JOBS,), harvest_plan, sheets)
