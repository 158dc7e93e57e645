"""The power supply computed: `compute(Supply(...))` gives voltages, ripples and currents, `limits` what the rectifier bears."""

from jobs.bench.supply.circuit import RANGES, TOPOLOGIES, Supply
from jobs.bench.supply.computation import compute
from jobs.bench.supply.errors import SupplyError
from jobs.bench.supply.laws import Law, Linear, ThreeHalves, rectifier_law
from jobs.bench.supply.limits import Limit, limits
from jobs.bench.supply.results import Result, StartUp, Waveform

__all__ = [
    "RANGES",
    "TOPOLOGIES",
    "Law",
    "Limit",
    "Linear",
    "Result",
    "StartUp",
    "Supply",
    "SupplyError",
    "ThreeHalves",
    "Waveform",
    "compute",
    "limits",
    "rectifier_law",
]
