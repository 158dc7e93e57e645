"""What is asked of an output stage and what is answered."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.components.answers import Reason
from jobs.bench.output_stage.valves import Limit


@dataclass(frozen=True, slots=True)
class StageReadings:
    """What was measured, against chassis or B-. `count` valves share the cathode resistor.

    Either `cathode_volts` with `cathode_ohms`, or the plate current of each valve: `plate_amps`, or the drop over its half of
    the output transformer, `winding_volts` with `winding_ohms`. `screen_fraction` is the screen's share of the cathode current,
    where it isn't to be the sheet's.
    """

    plate_volts: Decimal
    cathode_volts: Decimal | None = None
    cathode_ohms: Decimal | None = None
    screen_volts: Decimal | None = None
    screen_amps: Decimal | None = None
    plate_amps: Decimal | None = None
    winding_volts: Decimal | None = None
    winding_ohms: Decimal | None = None
    grid_volts: Decimal | None = None
    screen_fraction: Decimal | None = None
    count: int = 1

    @property
    def has_current(self) -> bool:
        """Whether they tell a current: by the cathode resistor, or of the plate."""
        by_cathode = self.cathode_volts is not None and self.cathode_ohms is not None
        by_winding = self.winding_volts is not None and self.winding_ohms is not None
        return by_cathode or by_winding or self.plate_amps is not None


@dataclass(frozen=True, slots=True)
class Currents:
    """Of one valve, in amps. `screen_how` and `plate_how` say where each comes from; `screen` None where nothing tells."""

    cathode: Decimal | None
    plate: Decimal
    screen: Decimal | None
    plate_how: str
    screen_how: str


@dataclass(frozen=True, slots=True)
class StageCheck:
    """One valve of the stage. `plate_watts` and `screen_watts` as computed; reasons in the order a repairer would say them."""

    valve: str
    readings: StageReadings
    currents: Currents
    plate_watts: Decimal
    screen_watts: Decimal | None
    plate_limit: Limit | None
    screen_limit: Limit | None
    reasons: tuple[Reason, ...]

    @property
    def answer(self) -> str:
        """yes, warn or no: the worst of the reasons."""
        return max((reason.level for reason in self.reasons), key=("yes", "warn", "no").index, default="yes")

    @property
    def is_cathode_biased(self) -> bool:
        return self.currents.cathode is not None

    @property
    def over_limit(self) -> bool:
        """Whether plate or screen gets rid of more than its limit, whoever remembers that limit."""
        pairs = ((self.plate_watts, self.plate_limit), (self.screen_watts, self.screen_limit))
        return any(watts is not None and limit is not None and watts > limit.watts for watts, limit in pairs)
