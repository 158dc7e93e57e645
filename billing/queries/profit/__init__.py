"""What jobs really earned: each with its steps, in groups, and laid open line by line."""

from billing.queries.profit.figures import JobProfit, ProfitStep, Summed, summed
from billing.queries.profit.groups import BY, CauseCost, Group, causes, groups_of
from billing.queries.profit.jobs import NONE_BILLED, SHOWN, ProfitList, profit_of, profits
from billing.queries.profit.opened import Opened, opened

__all__ = [
    "BY",
    "NONE_BILLED",
    "SHOWN",
    "CauseCost",
    "Group",
    "JobProfit",
    "Opened",
    "ProfitList",
    "ProfitStep",
    "Summed",
    "causes",
    "groups_of",
    "opened",
    "profit_of",
    "profits",
    "summed",
]
