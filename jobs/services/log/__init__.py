"""The change log's only writer. Entries are appended; a correction is a new entry that names the one it corrects."""

from jobs.services.log.charging import SetPrice
from jobs.services.log.deciding import MOST_A_POSITION, Plan, decide
from jobs.services.log.fitting import FITTING_STAGES, TAKING_OUT_STAGES, Fit, fit, fit_pair, guard, take_out
from jobs.services.log.one_line import Foreseen, foresee, spelled_out, take_back_line, write_line
from jobs.services.log.planning_anew import plan_anew
from jobs.services.log.readings import record_found, record_measured
from jobs.services.log.remarks import amend_called_for, confirm_polarity, record_note, record_wiring, withdraw
from jobs.services.log.voltages import record_voltage
from jobs.services.log.writing import Ambiguous, Author, ambiguous, append, profile

__all__ = [
    "FITTING_STAGES",
    "MOST_A_POSITION",
    "TAKING_OUT_STAGES",
    "Ambiguous",
    "Author",
    "Fit",
    "Foreseen",
    "Plan",
    "SetPrice",
    "ambiguous",
    "amend_called_for",
    "append",
    "confirm_polarity",
    "decide",
    "fit",
    "fit_pair",
    "foresee",
    "guard",
    "plan_anew",
    "profile",
    "record_found",
    "record_measured",
    "record_note",
    "record_voltage",
    "record_wiring",
    "spelled_out",
    "take_back_line",
    "take_out",
    "withdraw",
    "write_line",
]
