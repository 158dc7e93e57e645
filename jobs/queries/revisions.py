"""What a version changes of the one agreed to before it: lines in, lines out, other sums, the old and the new total."""

from dataclasses import dataclass

from jobs.models import Consent, Estimate
from jobs.models.estimate import ConsentAnswer
from jobs.queries.alternatives import agreed_name, lines_in
from jobs.queries.estimates import Change, changes_between, choices_of, estimate_totals
from jobs.queries.tiers import agreed_tier


@dataclass(frozen=True, slots=True)
class NewTotal:
    """The new high end with tax; `name` is the alternative's, empty where the version offers none."""

    name: str
    high_minor: int


@dataclass(frozen=True, slots=True)
class Revision:
    """Against what was agreed. `compared` names the new version's alternative that the lines are compared with, if any."""

    consent: Consent
    agreed_name: str
    compared: str
    changes: tuple[Change, ...]
    old_minor: int
    new: tuple[NewTotal, ...]

    @property
    def version(self) -> int:
        return self.consent.estimate.number if self.consent.estimate else 0


def revision_of(estimate: Estimate) -> Revision | None:
    """None where no version before this one was agreed to."""
    agreed = Consent.objects.filter(
        job=estimate.job_id, answer=ConsentAnswer.AGREED, estimate__number__lt=estimate.number
    ).select_related("estimate")
    consent = agreed.order_by("-estimate__number").first()
    if consent is None or consent.estimate is None:
        return None
    tier = agreed_tier(consent, estimate)
    before = lines_in(consent.estimate.lines.select_related("position"), consent.tier)  # type: ignore[attr-defined]
    lines = list(estimate.lines.select_related("position"))  # type: ignore[attr-defined]
    choices = choices_of(estimate, lines)
    new = tuple(NewTotal(one.alternative.name, one.high.gross_minor) for one in choices)
    whole = NewTotal("", estimate_totals(estimate, lines)[1].gross_minor)
    compared = next((one.alternative.name for one in choices if one.tier == (tier or len(choices))), "")
    changes = changes_between(before, lines_in(lines, tier))
    return Revision(consent, agreed_name(consent), compared, changes, consent.ceiling_minor, new or (whole,))
