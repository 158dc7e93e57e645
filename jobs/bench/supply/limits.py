"""What a computed supply asks of its rectifier, against the figures on file for the type."""

from dataclasses import dataclass

from jobs.bench.supply.circuit import Supply
from jobs.bench.supply.results import Result


@dataclass(frozen=True, slots=True)
class Limit:
    """One figure of a type against what the circuit asks of it.

    `code` names it (max_reservoir_uf, max_dc_ma, ...). `exceeded` holds where the circuit is beyond it, above a largest or
    below a least figure; a limit `from_memory` only cautions. `sentence` says it in words.
    """

    code: str
    value: float
    limit: float
    unit: str
    exceeded: bool
    from_memory: bool
    sentence: str
    source: str


def limits(supply: Supply, result: Result) -> tuple[Limit, ...]:
    """Every figure on file for `supply.rectifier_type` against the result; empty for no type or a solid-state one."""
    return ()
