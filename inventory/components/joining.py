"""Two parts joined in series or in parallel: value, tolerance, and what each of them bears.

Resistors in series and capacitors in parallel add up; the other two ways their reciprocals do. Either way a part's share of the
whole (of the voltage in series, of a resistor's heat in both) is its share of that sum: textbook relations of Ohm and Kirchhoff.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from operator import truediv
from typing import Literal

from inventory.components.specs import Band

How = Literal["single", "series", "parallel"]
KINDS = ("resistance", "capacitance")
_TWELVE = Context(prec=12)
LEAST, MOST = Decimal("1e-15"), Decimal("1e12")
CombiningCode = Literal["out_of_range", "unknown"]


class CombiningError(ValueError):
    """A question about joined parts that has no answer; `message` says what would be accepted."""

    def __init__(self, code: CombiningCode, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


@dataclass(frozen=True, slots=True)
class StockValue:
    """`free` pieces of one part in the drawers: ohm or farad, V, W, signed percents. `id` is whatever the asker knows it by.

    Floats, as the drawers keep them: thousands are searched at once. Decimals are made of the few that are shown.
    """

    id: int
    value: float
    tolerance_percent: tuple[float, float] | None = None
    volts: float | None = None
    watts: float | None = None
    free: int = 1
    polarised: bool = False
    label: str = ""

    @property
    def is_sound(self) -> bool:
        """Whether it can be reckoned with: a stray NaN or nought on a card must not spoil the rest."""
        band = self.tolerance_percent
        return (
            1e-15 <= self.value <= 1e12
            and self.free > 0
            and (self.volts is None or 0 < self.volts <= 1e12)
            and (self.watts is None or 0 < self.watts <= 1e12)
            and (band is None or -100 < band[0] <= band[1] < 1000)
        )


def tidy(number: Decimal) -> Decimal:
    """Without the last figures, where a division left its remainder: 750, not 750.0000000000000000000000003."""
    return _TWELVE.plus(number).normalize()


def round_figures(value: Decimal, figures: int = 3) -> Decimal:
    """Rounded to so many figures, as one says a reckoned value."""
    return value.quantize(Decimal(1).scaleb(value.adjusted() - figures + 1))


def exact(number: float) -> Decimal:
    return Decimal(repr(number))


def in_range(number: Decimal) -> bool:
    return number.is_finite() and LEAST <= number <= MOST


def adds_up(kind: str, how: How) -> bool:
    """Whether the values themselves add; otherwise their reciprocals do."""
    return how == "single" or (kind == "resistance") == (how == "series")


@dataclass(frozen=True, slots=True)
class Joined:
    """`parts` as one. Bands are signed percents; what is not known of a part is not known of the whole.

    `shares` sum to 1. `volts_allowed` leaves room for the parts' tolerances, which in series set how they share.
    """

    how: How
    parts: tuple[StockValue, ...]
    value: Decimal
    tolerance_percent: Band | None
    shares: tuple[Decimal, ...]
    volts_allowed: Decimal | None
    watts_allowed: Decimal | None

    def volts_seen(self, volts: Decimal) -> tuple[Decimal, ...]:
        """Of `volts` across the whole, what stands across each part."""
        return tuple(tidy(volts * share) if self.how == "series" else volts for share in self.shares)

    def watts_seen(self, watts: Decimal) -> tuple[Decimal, ...]:
        """Of `watts` in the whole, what each resistor gets rid of."""
        return tuple(tidy(watts * share) for share in self.shares)


def join(kind: str, how: How, parts: Sequence[StockValue]) -> Joined:
    """One part alone, or two joined. CombiningError for another kind, or a value that is none."""
    if kind not in KINDS:
        raise CombiningError("unknown", "Only resistors and capacitors are made up from two; give resistance or capacitance.")
    if not parts or not all(part.is_sound for part in parts):
        raise CombiningError("out_of_range", "Give each part a value above zero and below 1e12, in ohms or farads.")
    straight = adds_up(kind, how)
    amounts = [_amount(exact(part.value), straight) for part in parts]
    shares = tuple(amount / sum(amounts) for amount in amounts)
    return Joined(
        how,
        tuple(parts),
        tidy(_amount(sum(amounts, Decimal(0)), straight)),
        _band(parts, straight),
        shares,
        _volts_allowed(parts, how, straight),
        _watts_allowed(parts, shares) if kind == "resistance" else None,
    )


def _amount(value: Decimal, straight: bool) -> Decimal:
    return value if straight else 1 / value


def _band(parts: Sequence[StockValue], straight: bool) -> Band | None:
    """Worst case: every part at its lower, or at its upper limit."""
    nominal = _at_limit(parts, straight, None)
    ends = [_at_limit(parts, straight, end) for end in (0, 1)]
    if nominal is None or ends[0] is None or ends[1] is None:
        return None
    low, high = ((end / nominal - 1) * 100 for end in (ends[0], ends[1]))
    return low.quantize(Decimal("0.01")), high.quantize(Decimal("0.01"))


def _at_limit(parts: Sequence[StockValue], straight: bool, end: int | None) -> Decimal | None:
    amounts = []
    for part in parts:
        if end is not None and part.tolerance_percent is None:
            return None
        percent = part.tolerance_percent[end] if end is not None and part.tolerance_percent is not None else 0.0
        amounts.append(_amount(_off_by(part, percent), straight))
    return _amount(sum(amounts, Decimal(0)), straight)


def _volts_allowed(parts: Sequence[StockValue], how: How, straight: bool) -> Decimal | None:
    rated = [exact(part.volts) for part in parts if part.volts is not None]
    if len(rated) < len(parts):
        return None
    if how != "series":
        return min(rated)
    return tidy(min(volts / _worst_share(parts, place, straight) for place, volts in enumerate(rated)))


def _worst_share(parts: Sequence[StockValue], place: int, straight: bool) -> Decimal:
    """The largest part of the voltage that can fall on one: it at one end of its tolerance, the others at the other end."""
    mine, others = Decimal(0), Decimal(0)
    for number, part in enumerate(parts):
        ends = [_amount(_off_by(part, percent), straight) for percent in part.tolerance_percent or (0.0, 0.0)]
        if number == place:
            mine = max(ends)
        else:
            others += min(ends)
    return mine / (mine + others)


def _off_by(part: StockValue, percent: float) -> Decimal:
    return exact(part.value) * (1 + exact(percent) / 100)


def _watts_allowed(parts: Sequence[StockValue], shares: Sequence[Decimal]) -> Decimal | None:
    rated = [exact(part.watts) for part in parts if part.watts is not None]
    return tidy(min(map(truediv, rated, shares))) if len(rated) == len(parts) else None
