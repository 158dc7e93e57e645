"""Readers that fill the job summary. Those of the estimate and the warranty are `estimate_paper` and `warranty_paper`."""

from datetime import date
from decimal import Decimal

from django.utils import timezone

from jobs.bench.hazards import DEFERENCE
from jobs.bench.safety import PRACTICES
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
from jobs.models import (
    Consent,
    Decision,
    HandOver,
    HandOverKind,
    Job,
    LogEntry,
    SafetyCheck,
)
from jobs.models.estimate import ConsentHow
from jobs.queries.estimate_paper import estimate_paper as estimate_paper
from jobs.queries.exposure import standing_labour, with_allowance
from jobs.queries.jobs import cautions_of
from jobs.queries.missing import proof_of
from jobs.queries.papers_in import party_of, set_facts_of
from jobs.queries.plain_words import plain_words
from jobs.queries.sheet import PositionState, Sheet, sheet_of
from jobs.queries.warranty_paper import warranty_paper as warranty_paper
from shop.money import as_money, show
from shop.paper import Letterhead
from shop.paper.wording import show_day

PERCENT = Decimal(100)
# What can only be met with the chassis out; the owner of a closed set is told the rest.
BENCH_ONLY = ("stored_charge", "bursting", "pcb", "lead")


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
        soaks=soak_facts(job),
        cautions=_cautions(job, sheet),
        overrides=tuple(override_note(entry) for entry in sheet.fitted if entry.override_reason),
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


def soak_facts(job: Job) -> tuple[SoakFacts, ...]:
    ended = job.soaks.filter(ended_at__isnull=False)  # type: ignore[attr-defined]
    return tuple(SoakFacts(timezone.localtime(run.started_at), run.minutes, run.passed, run.note) for run in ended)


def _cautions(job: Job, sheet: Sheet) -> tuple[str, ...]:
    found = [one for one in cautions_of(job, sheet) if one.code not in BENCH_ONLY]
    return (*(f"{one.title}. {one.text}" for one in found), DEFERENCE)


def override_note(entry: LogEntry) -> OverrideNote:
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


def consent_words(consent: Consent, currency: str, locale: str) -> str:
    """What a bill was agreed by: who, when, how, to what, up to which sum."""
    most = with_allowance(consent.ceiling_minor, consent.allowance_bp)
    day = show_day(timezone.localdate(consent.at), locale)
    how = f", {ConsentHow(consent.how).label}" if consent.how in ConsentHow.values else ""
    if consent.how == ConsentHow.SPOKEN:
        how += f" at {timezone.localtime(consent.at):%H:%M}, number called {consent.number_called}"
        how += f", taken by {consent.person}" if consent.person else ""
    return f"{consent.who} agreed on {day}{how}: {consent.to_what}. Up to {show(most, currency, locale)} may be charged."
