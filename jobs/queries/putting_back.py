"""A declined set's way back, from the log: what was done in exact reverse, what was there before, what may go in again."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from django.utils import timezone

from inventory.components.roles import role as role_of
from jobs.documents.facts import Counted
from jobs.documents.put_back import BackStep, ClosingPaper, FoundLine, PutBackList
from jobs.models import Decision, EntryKind, Job, LogEntry, Stage, Verdict
from jobs.queries.declining import holds_of
from jobs.queries.fees import Fees, fees_of
from jobs.queries.jobs import cautions_of
from jobs.queries.missing import proof_of
from jobs.queries.papers_in import party_of, set_facts_of
from jobs.queries.sheet import PositionState, Sheet, sheet_of, standing
from shop.jurisdictions.rules import Rules
from shop.models import Profile
from shop.money import as_money, round_minor
from shop.paper import Letterhead
from shop.place import rules_of

UNSAFE = (Verdict.LEAKY, Verdict.SHORTED)
FAULTY = (Verdict.LEAKY, Verdict.SHORTED, Verdict.OPEN, Verdict.WRONG_PART)


def declined_at(job: Job) -> datetime | None:
    """When the customer's no came, or the work was stopped for it; None while the job wasn't declined."""
    last = job.acts.filter(to_stage=Stage.DECLINED).exclude(from_stage=Stage.DECLINED).order_by("-pk").first()  # type: ignore[attr-defined]
    return last.at if last else None


def old_part_advice(row: PositionState) -> tuple[str, bool]:
    """What is to be said of putting the old part back, and whether it is unsafe to."""
    verdict = row.verdict
    if role_of(row.role).safety and verdict in UNSAFE:
        return f"It was {row.verdict_label} at the line: not safe. Leave it out, disable the set, and tell the owner", True
    if verdict in FAULTY:
        return f"It was {row.verdict_label}: back only so that the set is as it came, never under power", False
    return "", False


@dataclass(frozen=True, slots=True)
class _Story:
    """What the steps share: rows by position, entries taken out, what was written since the job was declined."""

    rows: dict[int, PositionState]
    out: dict[int, LogEntry]
    since: datetime | None
    currency: str

    def told_since(self, entry: LogEntry, entries: Iterable[LogEntry]) -> str:
        """A note or wiring entry at the same place, written since the job was declined, ticks what the stock can't tick."""
        if self.since is None:
            return ""
        kinds = (EntryKind.NOTE, EntryKind.WIRING)
        later = [one for one in entries if one.kind in kinds and one.at >= self.since and one.position_id == entry.position_id]
        return f"written down: {later[-1].text}" if later else ""


def back_steps(sheet: Sheet, since: datetime | None, currency: str) -> tuple[BackStep, ...]:
    """Every change of the log, the last one first. `since`: when the job was declined; what is written later only ticks."""
    entries = standing(sheet.entries)
    out = {one.takes_out_id: one for one in sheet.entries if one.takes_out_id}
    story = _Story({row.position.pk: row for row in sheet.rows}, out, since, currency)  # type: ignore[arg-type]
    before = [one for one in entries if since is None or one.at < since or one.kind == EntryKind.FITTED]
    return tuple(step for entry in reversed(before) for step in _step(entry, entries, story))


def _step(entry: LogEntry, entries: list[LogEntry], story: _Story) -> Iterator[BackStep]:
    row = story.rows.get(entry.position_id or 0)
    place = row.position.designator if row else ""
    if entry.kind == EntryKind.FITTED and row is not None:
        yield from _fitted(entry, row, story)
    elif entry.kind == EntryKind.WIRING:
        yield BackStep("wiring", place, entry.text, done=story.told_since(entry, entries), position=entry.position_id)
    elif entry.kind == EntryKind.DECIDED and row is not None and row.decided == entry and not row.fitted:
        yield from _decided(entry, entries, row, story)


def _fitted(entry: LogEntry, row: PositionState, story: _Story) -> Iterator[BackStep]:
    gone = story.out.get(entry.pk)
    if gone is not None and (story.since is None or gone.at < story.since):
        return
    advice, unsafe = old_part_advice(row)
    yield BackStep(
        "take_out",
        row.position.designator,
        entry.text,
        entry.count,
        goes_to=f"{entry.movement.drawer}, lot {entry.lot_id}" if entry.movement else "",
        cost=as_money(_in_minor(_cost_milli(entry)), story.currency),
        before=_before(row),
        advice=advice,
        unsafe=unsafe,
        done=_done(gone) if gone else "",
        position=entry.position_id,
    )


def _before(row: PositionState) -> str:
    if row.found:
        return f"Found: {row.found.text}"
    return f"Called for: {row.called}" if row.called else ""


def _done(gone: LogEntry) -> str:
    return f"out and scrapped: {gone.note}" if gone.scrapped else "out, and back in its drawer"


def _cost_milli(entry: LogEntry) -> int:
    return entry.lot.unit_cost_milli * entry.count if entry.lot else 0


def _decided(entry: LogEntry, entries: list[LogEntry], row: PositionState, story: _Story) -> Iterator[BackStep]:
    if entry.decision not in (Decision.REMOVE, Decision.REPAIR):
        return
    advice, unsafe = old_part_advice(row)
    removed = entry.decision == Decision.REMOVE
    text = (
        (row.found.text if row.found else row.called or row.role_label)
        if removed
        else f"repaired in place, {entry.note or 'see the log'}"
    )
    done = story.told_since(entry, entries)
    what: Literal["put_back", "look"] = "put_back" if removed else "look"
    yield BackStep(
        what,
        row.position.designator,
        text,
        before=_before(row),
        advice=advice,
        unsafe=unsafe,
        done=done,
        position=row.position.pk,
    )


def _in_minor(milli: int) -> int:
    return round_minor(Decimal(milli) / 1000)


def back_in_stock_minor(sheet: Sheet) -> int:
    """What the parts had cost that came out and are in their drawers again, in minor units."""
    fitted = {one.pk: one for one in sheet.entries if one.kind == EntryKind.FITTED}
    back = [one for one in sheet.entries if one.takes_out_id in fitted and not one.scrapped]
    return _in_minor(sum(_cost_milli(fitted[one.takes_out_id or 0]) for one in back))


def _came_with(job: Job) -> tuple[Counted, ...]:
    return tuple(Counted(one.what, one.count) for one in job.came_with.all())  # type: ignore[attr-defined]


def put_back_list(job: Job, head: Letterhead, *, written_on: date) -> PutBackList:
    sheet = sheet_of(job)
    back = back_in_stock_minor(sheet)
    return PutBackList(
        letterhead=head,
        job_number=job.number,
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        written_on=written_on,
        steps=back_steps(sheet, declined_at(job), head.currency),
        came_with=_came_with(job),
        held=tuple(Counted(f"{one.lot.part} in {one.drawer}", one.count) for one in holds_of(job)),
        back_in_stock=as_money(back, head.currency) if back else None,
        cautions=tuple(one.text for one in cautions_of(job, sheet)),
    )


def fee_rule(rules: Rules) -> str:
    """Under which rule only agreed fees are due."""
    rule = rules.estimate if "estimate_fee" in rules.estimate.codes else rules.overrun
    return f"Only what was agreed to is due. {rules.name}: {rule.source.text} {rule.source.citation} ({rule.source.note})."


def _fee_lines(fees: Fees, currency: str) -> list[tuple[str, int]]:
    lines = [("Work until then, with tax", fees.labour_minor)] if fees.labour_minor else []
    if fees.minimum.is_due:
        lines.append(("Up to the minimum bench fee agreed to", fees.minimum.adds_minor))
    elif fees.minimum.booked:
        lines.append(("Minimum bench fee agreed to, in all", max(fees.minimum.agreed_minor - fees.labour_minor, 0)))
    if fees.decline.is_due or fees.decline.booked:
        lines.append(("Fee for the declined estimate, agreed to at intake", fees.decline.agreed_minor))
    return [line for line in lines if line[1]]


def closing_paper(job: Job, head: Letterhead, *, written_on: date) -> ClosingPaper:
    sheet, profile, since = sheet_of(job), Profile.current(), declined_at(job)
    steps = back_steps(sheet, since, head.currency)
    back = job.acts.filter(act="is_back", undone_by__isnull=True).order_by("-pk").first()  # type: ignore[attr-defined]
    fees = fees_of(job, profile) if profile else None
    return ClosingPaper(
        letterhead=head,
        job_number=job.number,
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        fault=job.fault,
        written_on=written_on,
        declined_on=timezone.localdate(since) if since else None,
        found=tuple(_found_lines(sheet)),
        wiring=tuple(entry.text for entry in sheet.wiring if since is None or entry.at < since),
        fees=tuple((what, as_money(minor, head.currency)) for what, minor in (_fee_lines(fees, head.currency) if fees else ())),
        fee_rule=fee_rule(rules_of(profile)) if profile else "",
        kept_out=tuple(
            f"Not put back at {one.place}: {one.before.partition(': ')[2] or 'the old part'}. {one.advice}."
            for one in steps
            if one.unsafe
        ),
        not_back=tuple(
            f"{one.text} at {one.place or 'the set'}" for one in steps if not one.done and one.kind in ("take_out", "wiring")
        ),
        came_with=_came_with(job),
        ready_on=timezone.localdate(back.at) if back else None,
        terms=profile.terms if profile else "",
        proven=proof_of(job, sheet).safe,
    )


def _found_lines(sheet: Sheet) -> Iterator[FoundLine]:
    """Places where something was found or measured that isn't as it should be."""
    for row in sheet.rows:
        if row.verdict in (Verdict.WITHIN, Verdict.NOT_MEASURED) and not row.found:
            continue
        measured = row.measured.text if row.measured else ""
        found = row.found.text if row.found else ""
        yield FoundLine(row.position.designator, row_place(row), found, measured, row.verdict_label)


def row_place(row: PositionState) -> str:
    return role_of(row.role).label
