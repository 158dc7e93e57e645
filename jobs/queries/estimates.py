"""Reading estimates: the lines that the log gives, totals of both ends of the range, how far the log moved on, the private link.

How work stands on an estimate: it is either typed or drawn, never both. As soon as one line of work (time, a flat task, a fee) is
typed, the typed lines are the whole work of the job, worked already or still to come, and nothing is drawn from the labour log.
With none typed, what was worked so far is drawn, a line a step. So no hour is on an estimate twice, and work still to come is
always the estimate's work less what was logged (`jobs.queries.exposure.labour_to_come`).

Parts are drawn from the log: fitted ones at their price, planned ones at the planned price. A typed part line for a position
stands until the log has a price for it, and then gives way to it.

Where a version offers alternatives, what is fitted and worked already is in all of them; what is planned at a position is in the
alternative the position was put into (`jobs.queries.tiers`). The version's own totals are those of its largest alternative.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from jobs.models import ApprovalLink, Consent, Estimate, EstimateLine, Job
from jobs.models.estimate import EstimateLineKind, EstimateState
from jobs.queries.alternatives import Choice, lines_in, marked, tiers_of
from jobs.queries.borne import Share, borne_on
from jobs.queries.evidence import Finding, findings_of, reason_beyond
from jobs.queries.exposure import WORK_KINDS, standing_labour, tax_key, with_allowance
from jobs.queries.sheet import PositionState, Sheet, sheet_of
from shop.models import Profile, TaxRounding
from shop.private_tokens import digest_of, is_token
from shop.tax_terms import labour_tax, parts_tax
from shop.totals import Line, Totals, total

LABOUR_ORDER = 100_000
PRICE_OPEN = "price to follow in a newer version"
ANSWERED = (EstimateState.AGREED, EstimateState.DECLINED)


def estimate_totals(estimate: Estimate, lines: Sequence[EstimateLine] | None = None) -> tuple[Totals, Totals]:
    """Totals of the low and the high end."""
    listed = list(estimate.lines.all()) if lines is None else lines
    per_line = estimate.tax_rounding == TaxRounding.LINE

    def reckon(end: str) -> Totals:
        rows = [Line(Decimal(1), Decimal(getattr(line, end)), tax_key(line.tax_bp)) for line in listed]
        return total(rows, prices_include_tax=estimate.prices_include_tax, round_per_line=per_line)

    return reckon("low_minor"), reckon("high_minor")


def drawn_lines(
    estimate: Estimate, typed: Sequence[EstimateLine], terms: Profile, sheet: Sheet | None = None
) -> list[EstimateLine]:
    """The lines that the log gives now, not saved. `typed` are the estimate's lines that were typed by hand."""
    sheet = sheet or sheet_of(estimate.job)
    named = {line.position_id for line in typed if line.kind == EstimateLineKind.PART and line.position_id}
    tiers, borne = tiers_of(estimate), borne_on(estimate.job)
    lines = [
        line
        for row in sheet.rows
        for line in (
            *_part_lines(estimate, row, row.position.pk in named, terms, tiers.get(row.position.pk, 0)),
            *_borne_lines(estimate, row, borne.at(row.position), terms),
        )
    ]
    if not any(line.kind in WORK_KINDS for line in typed):
        lines += _worked_lines(estimate, terms)
    return lines


def gives_way(line: EstimateLine, sheet: Sheet) -> bool:
    """Whether a typed part line is out of date, since the log has a price for its position."""
    if line.kind != EstimateLineKind.PART or line.position_id is None:
        return False
    return any(row.has_price for row in sheet.rows if row.position.pk == line.position_id)


def _part_lines(estimate: Estimate, row: PositionState, is_typed: bool, terms: Profile, tier: int) -> list[EstimateLine]:
    """What is in the set already is in every alternative; `tier` holds for what is planned."""
    lines = [
        _part_line(estimate, row, fit.text, fit.count, fit.unit_price_minor or 0, terms) for fit in row.fitted if fit.charged
    ]
    if row.to_fit and row.decided is not None:
        decided = row.decided
        if not decided.charged:
            return lines
        if decided.unit_price_minor is not None:
            text = decided.part.title if decided.part else _what(row)
            lines.append(_part_line(estimate, row, text, decided.count, decided.unit_price_minor, terms, tier))
        elif not is_typed:
            lines.append(_part_line(estimate, row, f"{_what(row)}: {PRICE_OPEN}", decided.count, 0, terms, tier))
    return lines


def _borne_lines(estimate: Estimate, row: PositionState, borne: Share | None, terms: Profile) -> list[EstimateLine]:
    """What the shop bears wholly stands there at nothing, so that the customer reads that it is done."""
    if borne is None or not borne.is_all:
        return []
    planned = [row.decided] if row.to_fit and row.decided is not None and row.decided.part is not None else []
    own = [one for one in (*row.fitted, *planned) if one.not_charged_reason == borne.reason]
    texts = [(one.text or one.part.title, one.count) for one in own if one.part is not None]
    return [_part_line(estimate, row, f"{text}: {borne.reason}", count, 0, terms) for text, count in texts]


def _what(row: PositionState) -> str:
    return f"{row.role_label.lower()} {row.called}".strip()


def _part_line(
    estimate: Estimate, row: PositionState, text: str, count: int, unit_minor: int, terms: Profile, tier: int = 0
) -> EstimateLine:
    amount = unit_minor * count
    return EstimateLine(
        estimate=estimate,
        order=row.position.order + 1,
        kind=EstimateLineKind.PART,
        position=row.position,
        text=text[:200],
        count=count,
        unit_minor=unit_minor,
        low_minor=amount,
        high_minor=amount,
        tax_bp=int(parts_tax(terms).rate_bp),
        from_log=True,
        tier=tier,
    )


def _worked_lines(estimate: Estimate, terms: Profile) -> list[EstimateLine]:
    """Labour logged and charged, one line a step or task, so that it can be agreed to."""
    sums: dict[str, list[int]] = {}
    minutes: dict[str, int] = {}
    for entry in standing_labour(estimate.job):
        if entry.billed_minor:
            label = entry.task.name if entry.task else entry.get_step_display()
            sums.setdefault(label, []).append(entry.billed_minor)
            minutes[label] = minutes.get(label, 0) + (0 if entry.task else entry.charged_minutes)
    return [
        EstimateLine(
            estimate=estimate,
            order=LABOUR_ORDER + order,
            kind=EstimateLineKind.LABOUR,
            text=f"{label} (done so far)"[:200],
            minutes=minutes[label],
            low_minor=sum(amounts),
            high_minor=sum(amounts),
            tax_bp=int(labour_tax(terms).rate_bp),
            from_log=True,
        )
        for order, (label, amounts) in enumerate(sums.items())
    ]


@dataclass(frozen=True, slots=True)
class Change:
    """One line that the log would write otherwise now; a sum is None where the line isn't there. Minor units, as priced."""

    place: str
    text: str
    before_minor: int | None
    after_minor: int | None


@dataclass(frozen=True, slots=True)
class Drift:
    """How far the log has moved on since a version was drawn. The totals are the high ends with tax, in minor units."""

    changes: tuple[Change, ...]
    before_minor: int
    after_minor: int

    @property
    def difference_minor(self) -> int:
        return self.after_minor - self.before_minor


def drift_of(estimate: Estimate, terms: Profile, sheet: Sheet | None = None) -> Drift:
    """Compare a version with what it would be if it were drawn now. No changes: it still says what the log says."""
    sheet = sheet or sheet_of(estimate.job)
    stored = list(estimate.lines.select_related("position"))
    kept = [line for line in stored if not line.from_log and not gives_way(line, sheet)]
    now_drawn = drawn_lines(estimate, kept, terms, sheet)
    gone = [line for line in stored if line.from_log or line not in kept]
    changes = changes_between(gone, now_drawn)
    if estimate.is_draft:
        changes += _shifted(gone, now_drawn)
    return Drift(changes, estimate.high_minor, estimate_totals(estimate, [*kept, *now_drawn])[1].gross_minor)


def _shifted(stored: Iterable[EstimateLine], drawn: Iterable[EstimateLine]) -> tuple[Change, ...]:
    """Lines that cost the same and stand in other alternatives now, as a planned part does once it is fitted."""
    tiers = {(line.position_id, line.text): line.tier for line in stored if line.from_log}
    moved = [line for line in drawn if tiers.get((line.position_id, line.text), line.tier) != line.tier]

    def change(line: EstimateLine) -> Change:
        place, words = line.position.designator if line.position else "", f"{line.text}, in other alternatives"
        return Change(place, words, line.high_minor, line.high_minor)

    return tuple(change(line) for line in moved)


def changes_between(before: Iterable[EstimateLine], after: Iterable[EstimateLine]) -> tuple[Change, ...]:
    """Lines that are gone, new, or come to another sum."""
    return _changes(_by_place(before), _by_place(after))


def _by_place(lines: Iterable[EstimateLine]) -> dict[tuple[str, str], int]:
    sums: dict[tuple[str, str], int] = {}
    for line in lines:
        key = (line.position.designator if line.position else "", line.text)
        sums[key] = sums.get(key, 0) + line.high_minor
    return sums


def _changes(before: dict[tuple[str, str], int], after: dict[tuple[str, str], int]) -> tuple[Change, ...]:
    keys = list(dict.fromkeys([*before, *after]))
    return tuple(Change(*key, before.get(key), after.get(key)) for key in keys if before.get(key) != after.get(key))


@dataclass(frozen=True, slots=True)
class WorkStanding:
    """Work as the estimate foresees it and as it is logged, in minor units as priced."""

    low_minor: int
    high_minor: int
    worked_minor: int

    @property
    def is_short(self) -> bool:
        """More was worked already than the estimate holds at its high end."""
        return self.worked_minor > self.high_minor


def work_standing(estimate: Estimate) -> WorkStanding:
    """The work of the smallest alternative, as whichever is agreed to has to hold what is worked already."""
    smallest = min((one.tier for one in estimate.alternatives.all()), default=0)  # type: ignore[attr-defined]
    work = [line for line in lines_in(estimate.lines.all(), smallest) if line.kind in WORK_KINDS]  # type: ignore[attr-defined]
    worked = sum(entry.billed_minor for entry in standing_labour(estimate.job))
    return WorkStanding(sum(line.low_minor for line in work), sum(line.high_minor for line in work), worked)


def newest_given(job: Job) -> Estimate | None:
    """The newest version that is with the customer or was agreed to: what the log is compared with."""
    given = job.estimates.filter(state__in=(EstimateState.SENT, EstimateState.AGREED))  # type: ignore[attr-defined]
    return given.order_by("-number").first()  # type: ignore[no-any-return]


def link_for(token: str, at: datetime) -> ApprovalLink | None:
    """The live link behind a token, or None for whatever reason it isn't good: all bad links look the same from outside."""
    if not is_token(token):
        return None
    hashed = digest_of(token)
    heads = ("estimate__job__radio__model", "estimate__job__customer")
    link = ApprovalLink.objects.select_related(*heads).filter(token_hash=hashed).first()
    if link is None or link.revoked_at is not None or link.expires_at <= at:
        return None
    return link if link.estimate.state in ANSWERED or _still_open(link.estimate, at) else None


def _still_open(estimate: Estimate, at: datetime) -> bool:
    until = estimate.stands_until_on
    return estimate.state == EstimateState.SENT and (until is None or timezone.localdate(at) <= until)


@dataclass(frozen=True, slots=True)
class Version:
    """One version as pages show it, its lines and both totals with it. `link_until` is set while a private link is out."""

    estimate: Estimate
    lines: tuple[EstimateLine, ...]
    low: Totals
    high: Totals
    consent: Consent | None
    link_until: datetime | None
    choices: tuple[Choice, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def because(self) -> str:
        return reason_beyond(self.estimate, self.findings)

    @property
    def chosen(self) -> Choice | None:
        """The alternative agreed to."""
        return next((one for one in self.choices if one.is_agreed), None)

    @property
    def ceiling_minor(self) -> int:
        """The most that may be charged: of what was agreed to, else of the whole."""
        if self.chosen is not None:
            return self.chosen.ceiling_minor
        return with_allowance(self.high.gross_minor, self.estimate.allowance_bp)

    @property
    def mark(self) -> str:
        return STATE_MARKS[EstimateState(self.estimate.state)]

    @property
    def taxes(self) -> list[tuple[int, int, int]]:
        """Rate in basis points, tax at the low end, tax at the high end."""
        lows = {tax.tax: tax.tax_minor for tax in self.low.taxes}
        return [(int(tax.tax.rate_bp), lows.get(tax.tax, 0), tax.tax_minor) for tax in self.high.taxes if tax.tax.rate_bp]


PARTS = (
    "lines__position",
    "lines__task",
    "consents__person",
    "links",
    "alternatives",
    "position_tiers",
    "evidence__entry__position__photos",
)
STATE_MARKS = {
    EstimateState.DRAFT: "open",
    EstimateState.SENT: "wait",
    EstimateState.AGREED: "yes",
    EstimateState.DECLINED: "no",
    EstimateState.SUPERSEDED: "note",
}


def version_of(estimate: Estimate, at: datetime) -> Version:
    """Reads what hangs on the estimate (`PARTS`), prefetched where there are several."""
    alternatives = list(estimate.alternatives.all())  # type: ignore[attr-defined]
    lines = marked(list(estimate.lines.all()), len(alternatives))  # type: ignore[attr-defined]
    low, high = estimate_totals(estimate, lines)
    live = [link.expires_at for link in estimate.links.all() if link.revoked_at is None and link.expires_at > at]  # type: ignore[attr-defined]
    consent = next(iter(estimate.consents.all()), None)  # type: ignore[attr-defined]
    until = live[-1] if live and estimate.state in (EstimateState.SENT, *ANSWERED) else None
    choices = choices_of(estimate, lines, consent)
    return Version(estimate, lines, low, high, consent, until, choices, findings_of(estimate))


def choices_of(estimate: Estimate, lines: Sequence[EstimateLine], consent: Consent | None = None) -> tuple[Choice, ...]:
    """The alternatives side by side, the smallest first, each with the exact sums of its lines."""
    found = []
    for one in estimate.alternatives.all():  # type: ignore[attr-defined]
        low, high = estimate_totals(estimate, lines_in(lines, one.tier))
        ceiling = with_allowance(high.gross_minor, estimate.allowance_bp)
        agreed = consent is not None and consent.tier == one.tier
        found.append(Choice(one, low, high, ceiling, agreed))
    return tuple(found)


def versions_of(job: Job, at: datetime) -> list[Version]:
    """Every version of a job, the newest first, in a fixed number of queries."""
    listed = job.estimates.order_by("-number")  # type: ignore[attr-defined]
    return [version_of(one, at) for one in listed.prefetch_related(*PARTS)]
