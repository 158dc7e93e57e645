"""What kind a position is of, as far as its chance goes: role, what it is made of, the set's age and supply."""

from inventory.components.materials import told_in
from inventory.components.roles import role as role_of
from inventory.components.valves import family
from jobs.forecast.likelihood import Cell
from jobs.models import RadioModel, RadioSet
from jobs.queries.sheet import PositionState

# First years of a band, and how it is said. Common practice, no source: parts and ways of building changed about then.
AGE_BANDS = ((1956, "1956 and later"), (1946, "1946 to 1955"), (1935, "1935 to 1945"), (0, "before 1935"))


def age_band(year: int | None) -> str:
    """Empty where the year isn't known."""
    return "" if year is None else next(words for first, words in AGE_BANDS if year >= first)


def year_of(radio: RadioSet) -> int | None:
    return radio.year or radio.model.year


def family_of(state: PositionState) -> str:
    """Of a valve its type without the envelope; else the material that was found, or that is called for, where it is named."""
    found = state.found.text if state.found else ""
    if role_of(state.role).kind == "valve":
        return family(state.called or found)
    return told_in(found) or told_in(state.called)


def cell_of(state: PositionState, year: int | None, model: RadioModel) -> Cell:
    return Cell(state.role, family_of(state), age_band(year), model.supply_kind)
