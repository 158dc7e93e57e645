"""Live exposure: what the customer agreed to, what is spent, what is still to come. All with tax, as the customer pays it."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import F, QuerySet

from jobs.models import Consent, EntryKind, Estimate, FlatTask, Job, LabourEntry, Stage
from jobs.models.estimate import ConsentAnswer, EstimateLineKind, EstimateState
from jobs.models.log import LogEntry
from jobs.queries.jobs import was_declined
from jobs.queries.sheet import COUNTED, Sheet, sheet_of, still_in
from jobs.queries.tiers import agreed_tier, holds, positions_beyond
from shop.models import Profile, TaxRounding
from shop.money import round_minor
from shop.prepared import Prepared, by_key
from shop.tax_terms import labour_tax, parts_tax
from shop.totals import HUNDRED_PERCENT_BP, Line, TaxKey, total

# What a line of work on an estimate may be; all of it is billed from the labour log, fees as flat tasks.
WORK_KINDS = (EstimateLineKind.LABOUR, EstimateLineKind.FLAT, EstimateLineKind.FEE)
PARTS = (EntryKind.FITTED, EntryKind.TAKEN_OUT)
STILL_FITTING = (Stage.TAKEN_IN, Stage.INSPECTING, Stage.AWAITING_CONSENT, Stage.AGREED, Stage.REPAIRING)


@dataclass(frozen=True, slots=True)
class Exposure:
    """All in minor units, tax included. `ceiling_minor` is the agreed sum with the shop's written allowance.

    `beyond` are positions that only a larger alternative than the agreed one holds: nothing is to come there.
    """

    consented_minor: int
    allowance_minor: int
    spent_minor: int
    to_come_minor: int
    consent: Consent | None
    beyond: frozenset[int] = frozenset()

    @property
    def ceiling_minor(self) -> int:
        return self.consented_minor + self.allowance_minor

    @property
    def left_minor(self) -> int:
        return self.ceiling_minor - self.spent_minor

    @property
    def foreseen_minor(self) -> int:
        return self.spent_minor + self.to_come_minor

    @property
    def will_overrun(self) -> bool:
        return self.foreseen_minor > self.ceiling_minor


def tax_key(rate_bp: int, category: str = "") -> TaxKey:
    """The key of a line that was written down; one from before categories were kept has its rate only."""
    return TaxKey(category or ("S" if rate_bp else "Z"), rate_bp)


def with_tax(profile: Profile, parts_minor: list[int], labour_minor: list[int]) -> int:
    """The gross of parts and labour under the shop's terms."""
    lines = [Line(Decimal(1), Decimal(amount), parts_tax(profile)) for amount in parts_minor]
    lines += [Line(Decimal(1), Decimal(amount), labour_tax(profile)) for amount in labour_minor]
    per_line = profile.tax_rounding == TaxRounding.LINE
    return total(lines, prices_include_tax=profile.prices_include_tax, round_per_line=per_line).gross_minor


def with_allowance(agreed_minor: int, allowance_bp: int) -> int:
    """The most that may be charged: the agreed sum and the shop's written allowance on it."""
    return agreed_minor + round_minor(Decimal(agreed_minor) * allowance_bp / HUNDRED_PERCENT_BP)


def _standing(labour: "QuerySet[LabourEntry]") -> "QuerySet[LabourEntry]":
    return labour.filter(corrected_by__isnull=True, withdrawn=False)


def standing_labour(job: Job) -> "QuerySet[LabourEntry]":
    """Labour that counts: not corrected by a later entry and not withdrawn."""
    return _standing(job.labour.all()).select_related("worker", "task")


_WORKED = Prepared(lambda job: _standing(LabourEntry.objects.filter(job=job)))


_TASK = by_key(FlatTask)


def worked_on(job: Job) -> list[LabourEntry]:
    """The same for an act, with the tasks where there are any; who worked is not read."""
    entries = _WORKED.all(job.pk)
    keys = {entry.task_id for entry in entries if entry.task_id}
    # Mostly there is none, or one task that is charged flat.
    tasks = {key: _TASK.get(key) for key in keys} if len(keys) < 2 else FlatTask.objects.in_bulk(keys)
    for entry in entries:
        entry.task = tasks[entry.task_id] if entry.task_id else None
    return entries


_NEWEST_CONSENT = Prepared(
    lambda job: Consent.objects.filter(job=job, answer=ConsentAnswer.AGREED).order_by("-pk")[:1],
)


def newest_consent(job: Job) -> Consent | None:
    return _NEWEST_CONSENT.first(job.pk)


def usable_minor(job: Job, consent: Consent) -> int:
    """What a consent lets be spent now. A fee for declining is agreed to at intake; only a declined estimate makes it due."""
    if consent.estimate_id is None and not was_declined(job):
        return max(consent.ceiling_minor - job.decline_fee_minor, 0)
    return consent.ceiling_minor


def labour_to_come(job: Job, done: list[LabourEntry], estimate: Estimate | None, tier: int = 0) -> int:
    """The work of the estimate, or of its alternative `tier`, less what is logged and charged already; never below nothing.

    An estimate holds the whole work of the job, worked or not (`jobs.queries.estimates`), so the difference is what is left.
    On a bill, declined, or out of the house, nothing more comes.
    """
    if estimate is None or job.billed or not job.is_open or job.stage == Stage.DECLINED:
        return 0
    planned = sum(line.high_minor for line in estimate.lines.all() if line.kind in WORK_KINDS and holds(tier, line.tier))
    return max(planned - sum(entry.billed_minor for entry in done), 0)


def typed_parts_to_come(job: Job, estimate: Estimate | None, sheet: Sheet, tier: int = 0) -> list[int]:
    """Typed part lines still to be fitted: at a position until the log has a price for it, others until fitting is done."""
    if estimate is None or job.stage == Stage.DECLINED:
        return []
    priced = {row.position.pk for row in sheet.rows if row.has_price}
    typed = [
        line
        for line in estimate.lines.all()
        if line.kind == EstimateLineKind.PART and not line.from_log and holds(tier, line.tier)
    ]
    fitting = job.stage in STILL_FITTING
    return [line.high_minor for line in typed if (line.position_id not in priced if line.position_id else fitting)]


def working_estimate(job: Job, consent: Consent | None) -> Estimate | None:
    """The estimate whose labour is still to come: the newest one that is agreed, sent or drafted."""
    states = (EstimateState.AGREED, EstimateState.SENT, EstimateState.DRAFT)
    parts = ("lines", "alternatives", "position_tiers")
    newest = job.estimates.filter(state__in=states).prefetch_related(*parts).order_by("-number").first()
    return newest or (consent.estimate if consent else None)


@dataclass(frozen=True, slots=True)
class Spending:
    """What is spent against what is agreed, minor units, tax included; what is still to come is left out."""

    consented_minor: int
    allowance_minor: int
    spent_minor: int

    @property
    def ceiling_minor(self) -> int:
        return self.consented_minor + self.allowance_minor


def _agreed(job: Job, consent: Consent | None) -> tuple[int, int]:
    """The agreed sum and the shop's allowance on it."""
    if consent is None:
        return 0, 0
    agreed = usable_minor(job, consent)
    return agreed, with_allowance(agreed, consent.allowance_bp) - agreed


def parts_in(job: Job) -> list[LogEntry]:
    """The parts that are in the set now, without the rest of its log."""
    return still_in(_PARTS.all(job.pk))


_PARTS = Prepared(lambda job: LogEntry.objects.filter(job=job, kind__in=PARTS).order_by("seq"))
_PLACED = Prepared(
    lambda job: (
        LogEntry.objects.filter(job=job, kind__in=PARTS, position__isnull=False)
        .annotate(designator=F("position__designator"))
        .order_by("position__order", "position_id", "seq")
    )
)


def placed_parts(job: Job) -> list[tuple[str, LogEntry]]:
    """As `Sheet.placed`, without the rest of the log."""
    return [(fit.designator, fit) for fit in still_in(_PLACED.all(job.pk))]  # type: ignore[attr-defined]


def spending_of(job: Job, profile: Profile, consent: Consent | None, parts_minor: list[int], labour_minor: list[int]) -> Spending:
    """As far as a guard asks, the same as `exposure_of`: these prices of parts and labour against the newest consent."""
    return Spending(*_agreed(job, consent), with_tax(profile, parts_minor, labour_minor))


def exposure_of(
    job: Job, profile: Profile, sheet: Sheet | None = None, *, more_parts_minor: int = 0, more_labour_minor: int = 0
) -> Exposure:
    """Exposure as it stands, or as it would stand with more parts or labour added."""
    sheet = sheet or sheet_of(job, COUNTED)
    consent = newest_consent(job)
    labour = list(standing_labour(job))
    parts = [fit.price_minor for fit in sheet.fitted] + [more_parts_minor]
    worked = [entry.billed_minor for entry in labour] + [more_labour_minor]
    spent = with_tax(profile, parts, worked)
    estimate = working_estimate(job, consent)
    if consent is not None and estimate is not None and consent.estimate_id == estimate.pk:
        consent.estimate = estimate
    tier = agreed_tier(consent, estimate)
    beyond = positions_beyond(estimate, tier)
    rows = () if job.stage == Stage.DECLINED else sheet.rows
    planned = [row.planned_minor for row in rows if row.position.pk not in beyond]
    planned_parts = [*planned, *typed_parts_to_come(job, estimate, sheet, tier)]
    # Labour that is being added now was part of what was to come.
    planned_labour = max(labour_to_come(job, labour, estimate, tier) - more_labour_minor, 0)
    foreseen = with_tax(profile, [*parts, *planned_parts], [*worked, planned_labour])
    agreed, allowance = _agreed(job, consent)
    return Exposure(agreed, allowance, spent, foreseen - spent, consent, beyond)


def charged_parts(sheet: Sheet) -> list[LogEntry]:
    return [fit for fit in sheet.fitted if fit.charged]
