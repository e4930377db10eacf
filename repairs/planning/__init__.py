"""The best use of what the workshop has: plans from plain demands and supplies. No Django here."""

from repairs.planning.optimiser import CONDITIONS, Allocation, Demand, Plan, Supply, Tier, plan
from repairs.planning.refusals import RefusedSupply

__all__ = ["CONDITIONS", "Demand", "Plan", "RefusedSupply", "Supply", "Allocation", "Tier", "plan"]
