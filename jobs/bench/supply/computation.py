"""From a circuit to its figures."""

from jobs.bench.supply.circuit import Supply
from jobs.bench.supply.results import Result


def compute(supply: Supply) -> Result:
    """The steady state and the start of a supply. Pure; a few milliseconds; every Supply has an answer, and it is finite."""
    raise NotImplementedError
