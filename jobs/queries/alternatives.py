"""The alternatives that a version offers: nested, each holding all lines of the smaller ones; what is outside the agreed one."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jobs.models import Alternative, Consent, Estimate, EstimateLine, Position, PositionTier
from jobs.queries.sheet import Sheet
from jobs.queries.tiers import holds
from shop.totals import Totals

MOST_ALTERNATIVES = 3
# Offered as a start, in the trade's plain words; names and texts are the shop's to change.
SUGGESTED: tuple[tuple[str, str], ...] = (
    ("Repair only", "It plays again; what still works stays in, and may fail later."),
    ("Recommended", "The repair, and the parts that are known to fail next."),
    ("Full restoration", "All of that, and the set brought back as near as possible to how it left the maker."),
)


@dataclass(frozen=True, slots=True)
class Choice:
    """One alternative with both ends of its own range, tax included in `gross`. `ceiling_minor`: the most it may cost."""

    alternative: Alternative
    low: Totals
    high: Totals
    ceiling_minor: int
    is_agreed: bool = False

    @property
    def tier(self) -> int:
        return self.alternative.tier

    @property
    def is_range(self) -> bool:
        return self.low.gross_minor != self.high.gross_minor


def lines_in(lines: Iterable[EstimateLine], tier: int) -> list[EstimateLine]:
    """The lines of an alternative: its own and those of all smaller ones. 0: every line."""
    return [line for line in lines if holds(tier, line.tier)]


def placeable(lines: Iterable[EstimateLine], sheet: Sheet) -> list[EstimateLine]:
    """Lines that can be put into one alternative or another. What is in the set or worked already is in all of them."""
    fitted = {row.position.pk for row in sheet.rows if row.fitted}
    return [line for line in lines if not line.from_log or (line.position_id is not None and line.position_id not in fitted)]


def alternative_named(estimate: Estimate | None, tier: int) -> Alternative | None:
    if estimate is None or not tier:
        return None
    return next((one for one in estimate.alternatives.all() if one.tier == tier), None)  # type: ignore[attr-defined]


def agreed_name(consent: Consent | None) -> str:
    """The name of the alternative a consent agrees to, empty where it agrees to a whole estimate or to a sum."""
    found = alternative_named(consent.estimate, consent.tier) if consent and consent.tier else None
    return found.name if found else ""


def outside_agreed(position: Position, consent: Consent | None) -> str:
    """The name of the alternative agreed to, where this position is only in a larger one; else empty."""
    if consent is None or not consent.tier:
        return ""
    above = PositionTier.objects.filter(estimate=consent.estimate_id, position=position, tier__gt=consent.tier)
    return agreed_name(consent) if above.exists() else ""


def tiers_of(estimate: Estimate) -> dict[int, int]:
    """Position to the smallest alternative that holds what is decided there; those not named are in all."""
    return {one.position_id: one.tier for one in estimate.position_tiers.all()}  # type: ignore[attr-defined]


def mark_of(tier: int, count: int) -> str:
    """In which of `count` alternatives a line is: `1 2 3`, `2 3`, `3`."""
    return " ".join(str(number) for number in range(max(tier, 1), count + 1))


def marked(lines: Sequence[EstimateLine], count: int) -> tuple[EstimateLine, ...]:
    """The lines, each with `mark` set to the alternatives it is in, for pages."""
    for line in lines:
        line.mark = mark_of(line.tier, count) if count else ""  # type: ignore[attr-defined]
    return tuple(lines)
