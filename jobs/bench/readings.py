"""What a judged reading is."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from inventory.components.specs import Band

VERDICTS: Mapping[str, str] = MappingProxyType(
    {
        "within": "Within tolerance",
        "drifted": "Drifted",
        "open": "Open",
        "shorted": "Shorted",
        "leaky": "Leaky",
        "wrong_part": "Wrong part",
        "not_measured": "Not measured",
    }
)


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict code from VERDICTS, the deviation from the called value in percent, the limits in SI base units, and why."""

    verdict: str
    deviation_percent: Decimal | None
    limits: Band | None
    reasons: tuple[str, ...]

    @property
    def label(self) -> str:
        """The verdict in the trade's words."""
        return VERDICTS[self.verdict]
