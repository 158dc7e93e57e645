"""The reader that fills the safety sheet: a job's cautions, what stands at the line, its proofs, and how it left."""

from typing import Literal

from django.utils import timezone

from inventory.components.roles import role as role_of
from jobs.bench.hazards import DEFERENCE
from jobs.bench.safety import PRACTICES, Practice, SafetyTest
from jobs.documents.facts import LinePosition, LookFacts, ReadingToTake, ReleaseFacts
from jobs.documents.safety_sheet import SafetySheet
from jobs.models import Decision, HandOver, HandOverKind, Job, LogEntry, SafetyCheck
from jobs.queries.jobs import cautions_of
from jobs.queries.missing import Proof, proof_of
from jobs.queries.papers_in import set_facts_of
from jobs.queries.papers_out import override_note, safety_facts, soak_facts
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import PositionState, Sheet, sheet_of
from shop.models import Profile
from shop.paper import Letterhead
from shop.paper.wording import show_lasting

USUAL_PRACTICE = "hot_check_075"
# The classes that will do, by the place (IEC 60384-14, as the role's own source tells it).
NEEDED = {"line_to_line": "X1, X2, Y1 or Y2", "line_to_chassis": "Y1 or Y2"}
NEEDED_TOUCHABLE = "Y1, or two Y2 in series"
JUDGED: dict[str, tuple[str, Literal["yes", "warn", "no", "open"]]] = {
    "yes": ("right class", "yes"),
    "warn": ("will do with care", "warn"),
    "no": ("NOT the class needed", "no"),
}
WITH_EARTH, WITHOUT_EARTH = "for a set with protective earth", "for a set without protective earth"


def practice_of(profile: Profile | None) -> Practice:
    """The safety practice that the owner chose, or the usual one."""
    chosen = profile.safety_practice if profile else ""
    return PRACTICES.get(chosen, PRACTICES[USUAL_PRACTICE])


def safety_paper(job: Job, check: SafetyCheck | None, head: Letterhead) -> SafetySheet:
    """`check` None gives the sheet to fill in by hand, with the readings of the shop's practice."""
    sheet, profile = sheet_of(job), Profile.current()
    practice, proof = practice_of(profile), proof_of(job, sheet)
    points = [] if proof.second_look else second_look_points(sheet)
    return SafetySheet(
        letterhead=head,
        job_number=job.number,
        customer_name=job.customer.name,
        radio=set_facts_of(job.radio),
        safety=safety_facts(check) if check else None,
        cautions=(*(f"{one.title}. {one.text}" for one in cautions_of(job, sheet)), DEFERENCE),
        holds=check is not None and check.log_seq >= sheet.last_change_seq,
        practice=practice.label,
        to_take=() if check else readings_to_take(practice),
        line_positions=tuple(line_positions(sheet)),
        overrides=tuple(override_note(entry) for entry in sheet.fitted if entry.override_reason),
        look=_look(proof),
        open_points=tuple(f"{point.place}: {point.text}{' (blocks)' if point.blocks else ''}" for point in points),
        soaks=soak_facts(job),
        soak_wanted=show_lasting(profile.soak_hours * 60) if profile and profile.soak_hours else "",
        release=_release(job),
    )


def line_positions(sheet: Sheet) -> list[LinePosition]:
    """Every position across the line or from the line to the chassis, with what is in it now."""
    rows = [row for row in sheet.rows if role_of(row.role).safety]
    return [one for row in rows for one in ([_fitted(row, fit) for fit in row.fitted] or [_not_fitted(row)])]


def _needed(row: PositionState) -> str:
    role = role_of(row.role)
    return NEEDED_TOUCHABLE if role.touchable else NEEDED[role.safety]


def _fitted(row: PositionState, fit: LogEntry) -> LinePosition:
    kept = fit.part.safety_class if fit.part else ""
    standing, sign = _judged(fit)
    return LinePosition(row.position.designator, row.role_label, row.called, _needed(row), fit.text, kept, standing, sign)


def _judged(fit: LogEntry) -> tuple[str, Literal["yes", "warn", "no", "open"]]:
    if fit.override_reason:
        return "override", "warn"
    return JUDGED.get(fit.answer, ("not judged", "open"))


def _not_fitted(row: PositionState) -> LinePosition:
    found = row.found.text if row.found else ""
    kept = found or "the part that came with it"
    where = (row.position.designator, row.role_label, row.called, _needed(row))
    if row.decision in (Decision.KEEP, Decision.REPAIR):
        return LinePosition(*where, kept, "", "old part stays", "warn")
    if row.decision == Decision.REMOVE:
        return LinePosition(*where, "nothing", "", "left out", "warn")
    if row.decision == Decision.REPLACE:
        return LinePosition(*where, "nothing yet", "", "still to fit", "no")
    return LinePosition(*where, found, "", "not decided on", "open")


def readings_to_take(practice: Practice) -> tuple[ReadingToTake, ...]:
    """Every reading of a practice in its order; whether the set has an earth is seen at the bench, so both kinds stand there."""
    return tuple(
        ReadingToTake(test.label, test.unit, test.limit_text, polarity, switch, _how(test), f"Source: {test.source}.")
        for test in practice.tests
        if test.concerns(True) or test.concerns(False)
        for polarity in (("normal", "reversed") if test.per_polarity else ("",))
        for switch in (("on", "off") if test.per_switch else ("",))
    )


def _how(test: SafetyTest) -> str:
    only = "" if test.concerns(True) and test.concerns(False) else WITH_EARTH if test.concerns(True) else WITHOUT_EARTH
    return " ".join(words for words in (test.note, f"Only {only}." if only else "") if words)


def _look(proof: Proof) -> LookFacts | None:
    look = proof.second_look
    if look is None:
        return None
    points = tuple(line for line in look.accepted.split("\n") if line)
    return LookFacts(timezone.localtime(look.at), str(look.person), points, look.note, proof.looked)


def _release(job: Job) -> ReleaseFacts | None:
    gone = HandOver.objects.filter(job=job).select_related("person").first()
    if gone is None:
        return None
    return ReleaseFacts(
        gone.kind == HandOverKind.UNSAFE, timezone.localtime(gone.at), str(gone.person), gone.received_by, gone.how_disabled
    )
