"""What to lift off which donor for the jobs, and what to take while there."""

from repairs.answers.harvest.answer import HarvestPlan
from repairs.answers.harvest.plan import harvest_plan

__all__ = ["HarvestPlan", "harvest_plan"]
