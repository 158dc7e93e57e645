"""The output stage: currents and heat from measured voltages, against the valve's limits, and after a change of B+.

check_stage("EL84", StageReadings(Decimal(257), cathode_volts=Decimal("7.3"), cathode_ohms=Decimal(135)))
after_bplus_change(check, Decimal(280), Decimal(257))
"""

from jobs.bench.output_stage.bplus import Prediction, Span, after_bplus_change
from jobs.bench.output_stage.checking import check_stage
from jobs.bench.output_stage.judging import check_grid
from jobs.bench.output_stage.shapes import Currents, StageCheck, StageReadings
from jobs.bench.output_stage.valves import Limit, OutputValve, Usual, output_valve

__all__ = [
    "Currents",
    "Limit",
    "OutputValve",
    "Prediction",
    "Span",
    "StageCheck",
    "StageReadings",
    "Usual",
    "after_bplus_change",
    "check_grid",
    "check_stage",
    "output_valve",
]
