"""Which lines and positions an agreed alternative holds. The alternatives are nested, so one number says it."""

from jobs.models import Consent, Estimate


def holds(tier: int, line_tier: int) -> bool:
    """Whether alternative `tier` holds a line; 0 stands for the whole estimate, and a line of 0 is in all."""
    return tier == 0 or line_tier <= tier


def agreed_tier(consent: Consent | None, estimate: Estimate | None) -> int:
    """The alternative of `estimate` that is counted with: the one agreed to, or the whole where none was chosen.

    A newer version may offer fewer alternatives; what was agreed to then stands for its largest.
    """
    if consent is None or estimate is None or not consent.tier:
        return 0
    offered = [one.tier for one in estimate.alternatives.all()]  # type: ignore[attr-defined]
    return min(consent.tier, max(offered)) if offered else 0


def positions_beyond(estimate: Estimate | None, tier: int) -> frozenset[int]:
    """Positions that only a larger alternative holds."""
    if estimate is None or not tier:
        return frozenset()
    return frozenset(one.position_id for one in estimate.position_tiers.all() if one.tier > tier)  # type: ignore[attr-defined]
