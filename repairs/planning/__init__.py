"""The best use of what the workshop has: plans from plain demands and supplies. No Django here."""

from repairs.planning.optimiser import CONDITIONS, Demand, Plan, Supply, Take, Tier, plan
from repairs.planning.refusals import Refusal

__all__ = ["CONDITIONS", "Demand", "Plan", "Refusal", "Supply", "Take", "Tier", "plan"]
