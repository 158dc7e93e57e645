"""Readers that fill the papers a customer takes away: estimate, job summary, warranty record."""

from datetime import date
from decimal import Decimal

from django.utils import timezone
from moneyed import Money

from jobs.bench.hazards import DEFERENCE
from jobs.bench.safety import PRACTICES
from jobs.documents.estimate import EstimateLine as LineOnPaper
from jobs.documents.estimate import (
    AlternativeOnPaper,
    ChangeOnPaper,
    EstimatePaper,
    FindingOnPaper,
    RevisionOnPaper,
    TaxRange,
)
from jobs.documents.facts import Counted, SafetyFacts, SafetyReadingLine
from jobs.documents.summary import (
    ComponentRow,
    Finding,
    JobSummary,
    LeftAlone,
    NotCharged,
    OverrideNote,
    SoakFacts,
    WorkDone,
)
from jobs.documents.warranty import WarrantyLinePaper, WarrantyPaper
from jobs.models import (
    Consent,
    Decision,
    Estimate,
    EstimateLine,
    HandOver,
    HandOverKind,
    Job,
    LogEntry,
    Photo,
    SafetyCheck,
    Warranty,
    WarrantyLine,
)
from jobs.models.estimate import ConsentHow
from jobs.queries.alternatives import Choice, marked
from jobs.queries.estimates import choices_of, estimate_totals
from jobs.queries.evidence import Finding, findings_of
from jobs.queries.exposure import standing_labour, with_allowance
from jobs.queries.jobs import cautions_of
from jobs.queries.missing import proof_of
from jobs.queries.papers_in import deposit_of, party_of, set_facts_of
from jobs.queries.plain_words import plain_words
from jobs.queries.revisions import revision_of
from jobs.queries.sheet import PositionState, Sheet, sheet_of
from shop.models import Profile
from shop.money import as_money, show
from shop.paper import Letterhead
from shop.paper.pictures import PhotoOnPaper
from shop.paper.wording import show_day
from shop.tax_terms import tax_words
from shop.totals import Totals

PERCENT = Decimal(100)
# What can only be met with the chassis out; the owner of a closed set is told the rest.
BENCH_ONLY = ("stored_charge", "bursting", "pcb", "lead")


def estimate_paper(estimate: Estimate, head: Letterhead, *, agree_url: str = "") -> EstimatePaper:
    """One version as it is frozen (or drafted). `agree_url` is known only while a link is being made: its token isn't kept."""
    job, currency = estimate.job, estimate.currency
    alternatives = list(estimate.alternatives.all())  # type: ignore[attr-defined]
    lines = marked(list(estimate.lines.select_related("position")), len(alternatives))
    low, high = estimate_totals(estimate, lines)
    before = job.estimates.filter(number__lt=estimate.number, sent_at__isnull=False).order_by("-number").first()  # type: ignore[attr-defined]
    deposit = deposit_of(job)
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
        replaces_version=before.number if before else None,
        alternatives=tuple(_alternative(one, currency) for one in choices_of(estimate, lines)),
        because=estimate.because,
        findings=tuple(_finding(one) for one in findings_of(estimate)),
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


def summary_paper(job: Job, head: Letterhead, *, written_on: date, signed_by: str = "", invoice_number: str = "") -> JobSummary:
    """The whole job in the words of its log. `parts_total` is the sheet's fold, as the invoice's is."""
    sheet = sheet_of(job)
    handed = HandOver.objects.filter(job=job).first()
    unsafe = handed.how_disabled if handed and handed.kind == HandOverKind.UNSAFE else ""
    check = proof_of(job, sheet).check
    labour = list(standing_labour(job))
    return JobSummary(
        letterhead=head,
        job_number=job.number,
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        fault=job.fault,
        goal=job.get_goal_display(),
        taken_in_on=timezone.localdate(job.taken_in_at),
        written_on=written_on,
        in_plain_words=plain_words(job, sheet),
        components=tuple(_component(row, head.currency) for row in sheet.rows),
        parts_total=as_money(sheet.parts_minor, head.currency),
        work=_work(labour),
        wiring=tuple(Finding(entry.text, _place(entry)) for entry in sheet.wiring),
        left_alone=tuple(_left(row) for row in sheet.rows if row.decision == Decision.KEEP and not row.fitted),
        safety=safety_facts(check, with_sources=False) if check else None,
        soaks=_soaks(job),
        cautions=_cautions(job, sheet),
        overrides=tuple(_override(entry) for entry in sheet.fitted if entry.override_reason),
        not_charged=_not_charged(sheet, labour),
        old_parts_returned=_old_parts(job, sheet),
        returned_unsafe=unsafe,
        invoice_number=invoice_number,
        signed_by=signed_by,
    )


def _place(entry: LogEntry) -> str:
    return entry.position.designator if entry.position else ""


def _component(row: PositionState, currency: str) -> ComponentRow:
    return ComponentRow(
        position=row.position.designator,
        role=row.role_label,
        called=row.called,
        found=row.found.text if row.found else "",
        measured=row.measured.text if row.measured else "",
        verdict=row.verdict_label if row.entries else "",
        decision=row.decision_label,
        fitted="; ".join(f"{fit.count} × {fit.text}" if fit.count > 1 else fit.text for fit in row.fitted),
        price=as_money(row.price_minor, currency) if row.fitted else None,
    )


def _work(labour: list) -> tuple[WorkDone, ...]:
    """A line a step, with what was written down for it; a flat task under its name."""
    texts: dict[str, list[str]] = {}
    for entry in labour:
        found = texts.setdefault(entry.task.name if entry.task else entry.get_step_display(), [])
        if entry.text and entry.text not in found:
            found.append(entry.text)
    return tuple(WorkDone(step, "; ".join(words)) for step, words in texts.items())


def _left(row: PositionState) -> LeftAlone:
    what = f"{row.position.designator} {row.role_label.lower()} {row.called}".strip()
    why = row.decided.note if row.decided and row.decided.note else f"the verdict was “{row.verdict_label}”"
    return LeftAlone(what, why)


def safety_facts(check: SafetyCheck, *, with_sources: bool = True) -> SafetyFacts:
    """A check as papers print it. Where limits come from is for the bench's own sheet; the owner of a set needs the limits."""
    readings = tuple(
        SafetyReadingLine(
            one.label, one.reading, one.unit, one.limit, one.passed, one.polarity, one.switch, one.source if with_sources else ""
        )
        for one in check.readings.all()  # type: ignore[attr-defined]
    )
    label = PRACTICES[check.practice].label if check.practice in PRACTICES else check.practice
    return SafetyFacts(
        practice=label,
        readings=readings,
        passed=check.passed,
        made_at=timezone.localtime(check.at),
        made_by=str(check.person),
        instrument=check.instrument,
        earthed=check.earthed,
        isolating_transformer=check.isolating_transformer,
        findings=check.findings,
    )


def _soaks(job: Job) -> tuple[SoakFacts, ...]:
    ended = job.soaks.filter(ended_at__isnull=False)  # type: ignore[attr-defined]
    return tuple(SoakFacts(timezone.localtime(run.started_at), run.minutes, run.passed, run.note) for run in ended)


def _cautions(job: Job, sheet: Sheet) -> tuple[str, ...]:
    found = [one for one in cautions_of(job, sheet) if one.code not in BENCH_ONLY]
    return (*(f"{one.title}. {one.text}" for one in found), DEFERENCE)


def _override(entry: LogEntry) -> OverrideNote:
    second = str(entry.override_by) if entry.override_by else ""
    return OverrideNote(_place(entry), entry.text, entry.override_reason, str(entry.person), second, timezone.localtime(entry.at))


def _not_charged(sheet: Sheet, labour: list) -> tuple[NotCharged, ...]:
    parts = [NotCharged(fit.text, fit.not_charged_reason, _place(fit)) for fit in sheet.fitted if not fit.charged]
    work = [NotCharged(str(one.task or one.get_step_display()), one.not_charged_reason) for one in labour if not one.charged]
    return tuple(parts + work)


def _old_parts(job: Job, sheet: Sheet) -> tuple[Counted, ...]:
    """One old part for each position where something was fitted, if the customer wanted them back."""
    if not job.old_parts_back:
        return ()
    out = [row for row in sheet.rows if row.fitted or row.decision == Decision.REMOVE]
    return tuple(
        Counted(f"{row.position.designator}: {row.found.text if row.found else row.called or row.role_label}") for row in out
    )


def warranty_paper(
    warranty: Warranty, head: Letterhead, *, job_url: str, signed_by: str = "", invoice_number: str = ""
) -> WarrantyPaper:
    job = warranty.job
    terms = Profile.current()
    lines = warranty.lines.select_related("entry__position")  # type: ignore[attr-defined]
    return WarrantyPaper(
        letterhead=head,
        job_number=job.number,
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        starts_on=warranty.starts_on,
        lines=tuple(
            WarrantyLinePaper(text, line.until_on if line.covered else None, place, line.note)
            for line in lines
            for place, text in (split_place(line),)
        ),
        job_url=job_url,
        terms=terms.terms if terms else "",
        invoice_number=invoice_number,
        signed_by=signed_by,
    )


def split_place(line: WarrantyLine) -> tuple[str, str]:
    """Designator and text of a line; work has no designator."""
    place, sign, text = line.text.partition(": ")
    return (place, text) if sign and line.labour_id is None else ("", line.text)


def consent_words(consent: Consent, currency: str, locale: str) -> str:
    """What a bill was agreed by: who, when, how, to what, up to which sum."""
    most = with_allowance(consent.ceiling_minor, consent.allowance_bp)
    day = show_day(timezone.localdate(consent.at), locale)
    how = f", {ConsentHow(consent.how).label}" if consent.how in ConsentHow.values else ""
    if consent.how == ConsentHow.SPOKEN:
        how += f" at {timezone.localtime(consent.at):%H:%M}, number called {consent.number_called}"
        how += f", taken by {consent.person}" if consent.person else ""
    return f"{consent.who} agreed on {day}{how}: {consent.to_what}. Up to {show(most, currency, locale)} may be charged."
