"""A draft drawn from the log: made, drawn anew, added up."""

from datetime import datetime

from django.db import transaction

from jobs.models import Estimate, EstimateLine, Job, PositionTier
from jobs.models.estimate import EstimateLineKind, EstimateState
from jobs.queries.alternatives import lines_in, tiers_of
from jobs.queries.estimates import drawn_lines, estimate_totals, gives_way
from jobs.queries.sheet import sheet_of
from jobs.services.log import profile
from jobs.services.stages import open_job
from shop.acts import Stale
from shop.models import Profile, Staff
from shop.place import allowance_of, estimate_terms
from shop.tax_terms import labour_tax, parts_tax


@transaction.atomic
def draft(job: Job, *, person: Staff, at: datetime) -> Estimate:
    """The job's draft: the one there is, redrawn from the log, or a new version with what was typed by hand carried over."""
    current, terms = open_job(job), profile()
    existing = current.estimates.filter(state=EstimateState.DRAFT).first()
    if existing is not None:
        redraw(existing)
        return existing
    last = current.estimates.order_by("-number").first()
    made = Estimate.objects.create(
        job=current,
        number=last.number + 1 if last else 1,
        currency=terms.currency,
        prices_include_tax=terms.prices_include_tax,
        tax_rounding=terms.tax_rounding,
        allowance_bp=allowance_of(terms),
        note=last.note if last else "",
        made_at=at,
        made_by=person,
    )
    _carry_over(last, made)
    redraw(made)
    return made


def _carry_over(last: Estimate | None, made: Estimate) -> None:
    """Typed lines, the alternatives, and what belongs to which. The reason of a version is its own and stays with it."""
    if last is None:
        return
    for rows in (last.lines.filter(from_log=False), last.alternatives.all(), last.position_tiers.all()):  # type: ignore[attr-defined]
        for row in rows:
            row.pk, row.estimate = None, made
            row.save()


@transaction.atomic
def redraw(estimate: Estimate) -> None:
    """Draw the log's lines anew under today's terms. Typed lines stay, but for parts that the log has a price for."""
    draft_only(estimate)
    terms, sheet = profile(), sheet_of(estimate.job)
    estimate.lines.filter(from_log=True).delete()  # type: ignore[attr-defined]
    typed = list(estimate.lines.all())  # type: ignore[attr-defined]
    for line in [line for line in typed if gives_way(line, sheet)]:
        typed.remove(line)
        _leave_its_place(line)
        line.delete()
    EstimateLine.objects.bulk_create(drawn_lines(estimate, typed, terms, sheet))
    _take_terms(estimate, typed, terms)
    retotal(estimate)


def _leave_its_place(line: EstimateLine) -> None:
    """The log's line takes the alternative over from the typed one that gives way to it."""
    if line.tier and line.position is not None and line.position_id not in tiers_of(line.estimate):
        PositionTier.objects.create(estimate=line.estimate, position=line.position, tier=line.tier)


def _take_terms(estimate: Estimate, typed: list[EstimateLine], terms: Profile) -> None:
    """A draft follows the shop's terms; what is sent keeps those it was sent under."""
    estimate.currency, estimate.prices_include_tax = terms.currency, terms.prices_include_tax
    estimate.tax_rounding, estimate.allowance_bp = terms.tax_rounding, allowance_of(terms)
    estimate.terms = estimate_terms(terms)
    estimate.save(update_fields=["currency", "prices_include_tax", "tax_rounding", "allowance_bp", "terms"])
    for line in typed:
        line.tax_bp = tax_bp(line.kind, terms)
    EstimateLine.objects.bulk_update(typed, ["tax_bp"])


def tax_bp(kind: str, terms: Profile) -> int:
    return int((parts_tax if kind == EstimateLineKind.PART else labour_tax)(terms).rate_bp)


def draft_only(estimate: Estimate, seen: int | None = None) -> None:
    """Refuse a frozen version, or a draft that isn't the one this person saw."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if not current.is_draft:
        raise Stale(f"Version {current.number} was sent and is frozen. Draft a new version to change anything.", code="frozen")
    if seen is not None and seen != current.version:
        raise Stale(
            "Somebody else changed this draft since you opened it. What you typed is still here: look at the lines as they "
            "are now, then send it again.",
            code="changed",
        )
    estimate.version = current.version


def retotal(estimate: Estimate) -> None:
    """The version's sums, and those of each alternative it offers."""
    lines = list(estimate.lines.all())  # type: ignore[attr-defined]
    low, high = estimate_totals(estimate, lines)
    estimate.low_minor, estimate.high_minor = low.gross_minor, high.gross_minor
    touch(estimate, "low_minor", "high_minor")
    for one in estimate.alternatives.all():  # type: ignore[attr-defined]
        low, high = estimate_totals(estimate, lines_in(lines, one.tier))
        one.low_minor, one.high_minor = low.gross_minor, high.gross_minor
        one.save(update_fields=["low_minor", "high_minor"])


def touch(estimate: Estimate, *fields: str) -> None:
    estimate.version += 1
    estimate.save(update_fields=[*fields, "version"])
