"""The reader that fills the estimate's paper: its lines, what it comes to, the choice, the findings, what it changes."""

from decimal import Decimal

from django.utils import timezone
from moneyed import Money

from jobs.documents.estimate_data import (
    AlternativeOnPaper,
    ChangeOnPaper,
    EstimatePaper,
    FindingOnPaper,
    RevisionOnPaper,
    TaxRange,
)
from jobs.documents.estimate_data import EstimateLine as LineOnPaper
from jobs.models import Estimate, EstimateLine, Photo
from jobs.queries.alternatives import Choice, marked
from jobs.queries.estimates import choices_of, estimate_totals
from jobs.queries.evidence import Finding, findings_of, reason_beyond
from jobs.queries.exposure import with_allowance
from jobs.queries.papers_in import deposit_of, party_of, set_facts_of
from jobs.queries.revisions import revision_of
from shop.money import as_money
from shop.paper import Letterhead
from shop.paper.pictures import PhotoOnPaper
from shop.tax_terms import tax_words
from shop.totals import Totals

PERCENT = Decimal(100)


def estimate_paper(estimate: Estimate, head: Letterhead, *, agree_url: str = "") -> EstimatePaper:
    """One version as it is frozen (or drafted). `agree_url` is known only while a link is being made: its token isn't kept."""
    job, currency = estimate.job, estimate.currency
    alternatives = list(estimate.alternatives.all())  # type: ignore[attr-defined]
    lines = marked(list(estimate.lines.select_related("position")), len(alternatives))
    low, high = estimate_totals(estimate, lines)
    before = job.estimates.filter(number__lt=estimate.number, sent_at__isnull=False).order_by("-number").first()  # type: ignore[attr-defined]
    deposit, findings = deposit_of(job), findings_of(estimate)
    return EstimatePaper(
        letterhead=head,
        job_number=job.number,
        version=estimate.number,
        made_at=timezone.localtime(estimate.sent_at or estimate.made_at),
        made_by=str(estimate.made_by),
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        fault=job.fault,
        goal=job.get_goal_display(),
        lines=tuple(_estimate_line(line, currency) for line in lines),
        net_low=as_money(low.net_minor, currency),
        net_high=as_money(high.net_minor, currency),
        taxes=_tax_ranges(low, high, currency),
        total_low=as_money(low.gross_minor, currency),
        total_high=as_money(high.gross_minor, currency),
        allowance_percent=Decimal(estimate.allowance_bp) / PERCENT,
        ceiling=as_money(with_allowance(high.gross_minor, estimate.allowance_bp), currency),
        agree_url=agree_url,
        prices_include_tax=estimate.prices_include_tax,
        stands_until_on=estimate.stands_until_on,
        deposit=as_money(deposit, currency) if deposit else None,
        note=estimate.note,
        terms=estimate.terms,
        promised_on=job.promised_on,
        replaces_version=before.number if before else None,
        alternatives=tuple(_alternative(one, currency) for one in choices_of(estimate, lines)),
        because=reason_beyond(estimate, findings),
        findings=tuple(_finding(one) for one in findings),
        revision=_revision(estimate),
    )


def _alternative(one: Choice, currency: str) -> AlternativeOnPaper:
    sums = (one.low.gross_minor, one.high.gross_minor, one.low.tax_minor, one.high.tax_minor, one.ceiling_minor)
    return AlternativeOnPaper(
        one.tier, one.alternative.name, one.alternative.text, *(as_money(minor, currency) for minor in sums)
    )


def _finding(one: Finding) -> FindingOnPaper:
    return FindingOnPaper(one.text, tuple(PhotoOnPaper(_bytes_of(photo), photo.caption) for photo in one.photos))


def _bytes_of(photo: Photo) -> bytes:
    try:
        with photo.image.open("rb") as file:
            return file.read()  # type: ignore[no-any-return]
    except FileNotFoundError:
        return b""


def _revision(estimate: Estimate) -> RevisionOnPaper | None:
    found = revision_of(estimate)
    if found is None:
        return None

    def money(minor: int | None) -> Money | None:
        return None if minor is None else as_money(minor, estimate.currency)

    changes = [ChangeOnPaper(one.place, one.text, money(one.before_minor), money(one.after_minor)) for one in found.changes]
    return RevisionOnPaper(
        agreed=f"version {found.version}" + (f", “{found.agreed_name}”" if found.agreed_name else ""),
        compared=found.compared,
        old=as_money(found.old_minor, estimate.currency),
        new=tuple((one.name, as_money(one.high_minor, estimate.currency)) for one in found.new),
        changes=tuple(changes),
    )


def _estimate_line(line: EstimateLine, currency: str) -> LineOnPaper:
    return LineOnPaper(
        kind=line.kind,  # type: ignore[arg-type]
        text=line.text,
        low=as_money(line.low_minor, currency),
        high=as_money(line.high_minor, currency),
        position=line.position.designator if line.position else "",
        count=line.count,
        minutes=line.minutes,
        unit=as_money(line.unit_minor, currency) if line.kind in ("part", "flat") else None,
        mark=line.mark,  # type: ignore[attr-defined]
    )


def _tax_ranges(low: Totals, high: Totals, currency: str) -> tuple[TaxRange, ...]:
    """Both ends have the same rates, as they have the same lines; a rate of nothing is left out."""
    lows = {tax.tax: tax.tax_minor for tax in low.taxes}
    return tuple(
        TaxRange(tax_words(tax), as_money(lows.get(tax.tax, 0), currency), as_money(tax.tax_minor, currency))
        for tax in high.taxes
        if tax.tax.rate_bp
    )
