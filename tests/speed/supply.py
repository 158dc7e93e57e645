"""How long a computed supply takes, and how much longer a process of the circuit simulator takes for the same circuit.

.venv/bin/python -m tests.speed.supply
"""

import math
import random
import statistics
import tempfile
from pathlib import Path

from jobs.bench.supply import Linear, Supply, ThreeHalves, compute
from shop.setup.programs import find_ngspice
from tests.outside.facts import facts
from tests.outside.simulator import simulate
from tests.outside.test_power_supplies import circuit
from tests.speed.timing import best_of

CIRCUITS = 300
SIMULATED = 3


def main() -> None:
    compute(_random_circuit(random.Random(0)))
    published = [circuit(row) for row in facts("power_supplies.csv")]
    chance = random.Random(17)
    _show("published circuits", published)
    _show(f"{CIRCUITS} random circuits", [_random_circuit(chance) for _ in range(CIRCUITS)])
    _against_the_simulator(published[:: len(published) // SIMULATED][:SIMULATED])


def _show(heading: str, supplies: list[Supply]) -> None:
    times = [1000 * best_of(lambda one=supply: compute(one), 3) for supply in supplies]  # type: ignore[misc]
    print(f"  {heading}: {statistics.median(times):.2f} ms a case (median), {max(times):.2f} ms (slowest); wanted: at most 10 ms")


def _against_the_simulator(supplies: list[Supply]) -> None:
    program = find_ngspice()
    if program is None:
        print("  ngspice was not found, so nothing is compared with it")
        return
    with tempfile.TemporaryDirectory() as folder:
        simulated = sum(best_of(lambda one=one: simulate(program, one, Path(folder)), 1) for one in supplies)  # type: ignore[misc]
    computed = sum(best_of(lambda one=one: compute(one), 3) for one in supplies)  # type: ignore[misc]
    print(
        f"  one ngspice process takes {simulated / computed:.0f} times as long ({1000 * simulated / len(supplies):.0f} ms a case)"
    )


def _random_circuit(chance: random.Random) -> Supply:
    """A set's supply as one might meet it, silicon to weak valves."""
    valve = ThreeHalves(math.exp(chance.uniform(math.log(1.5e-4), math.log(4e-3))))
    load = {"load_amps": chance.uniform(0.01, 0.15)} if chance.random() < 0.6 else {"load_ohms": chance.uniform(1300, 20000)}
    return Supply(
        topology=chance.choice(["half-wave", "full-wave"]),
        volts_rms=chance.uniform(90, 450),
        frequency_hz=chance.choice([25, 40, 50, 60, 100, 115]),
        source_ohms=chance.uniform(5, 500),
        rectifier=chance.choice([Linear(chance.uniform(1, 300)), valve]),
        reservoir_uf=chance.choice([4, 8, 16, 32, 50, 100]),
        choke_h=chance.choice([0, 0, 5, 10, 20, 30]),
        choke_ohms=chance.uniform(100, 1500),
        smoothing_uf=chance.choice([8, 16, 32, 50, 100]),
        **load,
    )


if __name__ == "__main__":
    main()
