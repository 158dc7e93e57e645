"""The rules of November 2026. Verdicts were given by them, so nothing here changes: another way to judge is another set of rules.

Each finding is judged by itself: what it is about (position, line, scope), when (the line's last day), what it is (fault, cause,
lot), and what ends the cover. One reason against it is enough. What can't be told yet is left open and never counts as covered.
"""

from collections.abc import Iterator
from datetime import date

from jobs.cover.case import KEPT, NO, OFFERED, REMOVED, REPAIRED, UNSURE, UNTOUCHED, YES, ClaimCase, Finding, Line
from jobs.cover.reasons import (
    AGAINST,
    CHARGEABLE,
    COVERED,
    FOR,
    NOTE,
    OPEN,
    OWN_TERMS,
    PARTLY,
    PRACTICE,
    THE_LOG,
    WORK,
    CoveredAt,
    Proposal,
    Reason,
    day,
    days,
    levels,
)
from jobs.cover.terms import LEFT_IN

NAME = "2026-11"
OURS = {
    "part": "a part that we fitted failed",
    "wiring": "our wiring or a joint of ours gave way",
    "diagnosis": "the fault wasn't found the first time",
}
THEIRS = {
    "transport": "transport or a fall caused it",
    "use": "how it was used, or what was done to it since, caused it",
}
STARTS = {
    "hand_over": "the day the set was handed over",
    "ready": "the day the set was ready to collect",
    "invoice": "the day of the invoice",
}
Reasons = Iterator[Reason]


def judge_2026_11(case: ClaimCase) -> Proposal:
    case = case.in_order
    judged = [(finding, tuple(_finding(case, finding))) for finding in case.findings]
    covered = [finding for finding, reasons in judged if levels(reasons).isdisjoint((AGAINST, OPEN))]
    work = tuple(_work(case, covered, all_of_it=len(covered) == len(judged)))
    whole = bool(covered) and len(covered) == len(judged) and AGAINST not in levels(work)
    answer = COVERED if whole else PARTLY if covered else CHARGEABLE
    reasons = [*_case(case), *(reason for _, found in judged for reason in found), *work]
    return Proposal(NAME, answer, tuple(reasons), _places(case, covered, whole))


def _places(case: ClaimCase, covered: list[Finding], whole: bool) -> tuple[CoveredAt, ...]:
    """Work is proposed as covered only where all of it is: what share of an hour went where is for a person to say."""
    at = dict.fromkeys(finding.designator or _line_place(case, finding) for finding in covered)
    places = [CoveredAt(name) for name in sorted(at) if name]
    return (*places, CoveredAt(WORK)) if whole else tuple(places)


def _line_place(case: ClaimCase, finding: Finding) -> str:
    line = case.line(finding.line)
    return line.designator if line else ""


def _case(case: ClaimCase) -> Reasons:
    """What holds for the claim as a whole."""
    began = STARTS.get(case.start_event, case.start_event)
    yield Reason("start", NOTE, f"The warranty of job {case.job} runs from {day(case.starts_on)}, {began}.")
    if not case.holder:
        yield Reason("holder", NOTE, "The set changed hands, and by its terms the warranty didn't go along.")
    elif case.moved:
        yield Reason("holder", NOTE, "The set changed hands, and the warranty went along: whoever claims holds it.")
    if not case.findings:
        yield Reason("inspect", OPEN, "Nothing is found yet. Inspect the set, then write down what it is.", source=PRACTICE)
    if case.law.text:
        yield Reason("law", NOTE, f"{_sentence(case.law.text)} Our own terms don't shorten that.", source=case.law.citation)


def _sentence(text: str) -> str:
    return text if text.rstrip().endswith(".") else f"{text.rstrip()}."


def _finding(case: ClaimCase, finding: Finding) -> Reasons:
    line = case.line(finding.line)
    yield from _shown(finding)
    yield from _holder(case, finding)
    if line is None:
        yield from _scope(case, finding)
    else:
        yield from _line(case, finding, line)
    yield from _fault(finding, line)
    yield from _cause(finding, line)
    yield from _void(case, finding)


def _name(finding: Finding) -> str:
    return finding.designator or "The set"


def _of(finding: Finding, code: str, level: str, sentence: str, source: str = OWN_TERMS, seq: int | None = None) -> Reason:
    return Reason(code, level, sentence, finding.designator, source, finding.number, seq)


def _shown(finding: Finding) -> Reasons:
    if not finding.entry_stands:
        words = f"Entry no. {finding.entry}, which shows this, was corrected or taken back. Look again, then correct the finding."
        yield _of(finding, "entry_struck", OPEN, words, THE_LOG)


def _holder(case: ClaimCase, finding: Finding) -> Reasons:
    if not case.holder:
        words = "Whoever claims doesn't hold the warranty: the set changed hands, and it didn't go along."
        yield _of(finding, "holder", AGAINST, words)


def _scope(case: ClaimCase, finding: Finding) -> Reasons:
    """No line of the warranty was named, so what was done at the place decides."""
    place, name = case.place(finding.designator), _name(finding)
    outcome, seq = (place.outcome, place.seq) if place else (UNTOUCHED, None)
    why = f" ({place.why})" if place and place.why else ""
    if not finding.designator:
        words = "It has to do with no line of the warranty. Only work done is covered."
        yield _of(finding, "scope_no_line", AGAINST, words)
    elif outcome == KEPT:
        words = f"{name} was left in as it was{why}. Only work done is covered, not what was left in."
        yield _of(finding, "scope_left_in", AGAINST, words, THE_LOG, seq)
    elif outcome == OFFERED:
        words = f"{name} was to be replaced, and that wasn't agreed to{why}. What was declined is not covered."
        yield _of(finding, "scope_declined", AGAINST, words, THE_LOG, seq)
    elif outcome == REMOVED:
        words = f"{name} was taken out and nothing of ours is there{why}."
        yield _of(finding, "scope_removed", AGAINST, words, THE_LOG, seq)
    elif outcome == UNTOUCHED:
        words = f"Nothing was done at {name} in job {case.job}, nor was it complained of. Only work done is covered."
        yield _of(finding, "scope_not_done", AGAINST, words, THE_LOG)
    else:
        done = "repaired in place" if outcome == REPAIRED else "replaced"
        words = f"{name} was {done} in job {case.job}. Say which line of the warranty this is about."
        yield _of(finding, "line_not_named", OPEN, words, THE_LOG, seq)


def _line(case: ClaimCase, finding: Finding, line: Line) -> Reasons:
    if not line.covered:
        code = "scope_left_in" if line.kind == LEFT_IN else "line_left_out"
        words = f"“{line.text}” stands on the record as not covered{f': {line.note}' if line.note else ''}."
        yield _of(finding, code, AGAINST, words, seq=line.seq)
        return
    if line.designator and finding.designator and line.designator != finding.designator:
        words = f"The line named is about {line.designator}, and this was found at {finding.designator}. Name the line that fits."
        yield _of(finding, "other_position", OPEN, words, THE_LOG, line.seq)
    place = f"{line.designator}, “{line.text}”," if line.designator else f"“{line.text}”"
    yield _of(finding, "line", FOR, f"{place} stands on the record of what we stand by.", seq=line.seq)
    yield from _dates(case, finding, line)
    yield from _not_done(case, finding, line)


def _dates(case: ClaimCase, finding: Finding, line: Line) -> Reasons:
    until, claimed = line.until_on, case.claimed_on
    if until is None:
        yield _of(finding, "date_unknown", OPEN, "The record names no last day for this line. Read the paper that was signed.")
    elif claimed < case.starts_on:
        words = f"Claimed on {day(claimed)}, before the warranty began on {day(case.starts_on)}. Check the days."
        yield _of(finding, "date_before", OPEN, words)
    elif claimed <= until:
        yield _of(finding, "date_runs", FOR, _still(claimed, until))
    else:
        over = days((claimed - until).days)
        yield _of(
            finding, "date_over", AGAINST, f"Covered to the end of {day(until)}; claimed on {day(claimed)}, {over} after it."
        )


def _still(claimed: date, until: date) -> str:
    left = (until - claimed).days
    how = f"with {days(left)} left" if left else "the last day, which counts"
    return f"Covered to the end of {day(until)}; claimed on {day(claimed)}, {how}."


def _not_done(case: ClaimCase, finding: Finding, line: Line) -> Reasons:
    """A line of work doesn't take in what the customer declined, whatever it says."""
    place = case.place(finding.designator) if finding.designator else None
    if line.is_work and place is not None and place.outcome == OFFERED:
        words = f"{finding.designator} was to be replaced, and that wasn't agreed to. What was declined is not covered."
        yield _of(finding, "scope_declined", AGAINST, words, THE_LOG, place.seq)


def _fault(finding: Finding, line: Line | None) -> Reasons:
    """The same fault again speaks for cover; another one speaks against it, unless the very part that we fitted failed."""
    if line is None or not line.covered:
        return
    if line.lot_is_bad:
        words = f"{_name(finding)} came from a lot that is known to be bad."
        yield _of(finding, "lot_bad", FOR, words, "the shop's list of bad lots", line.seq)
    if finding.same_fault == YES:
        yield _of(finding, "fault_same", FOR, "It is the fault that was repaired.", PRACTICE)
    elif finding.same_fault == NO and not line.is_work:
        yield _of(
            finding, "fault_of_the_part", NOTE, "Another fault than then; for a part, what counts is whether it failed.", PRACTICE
        )
    elif finding.same_fault == NO:
        words = "It is another fault than the one that was repaired. The work on that one isn't what failed."
        yield _of(finding, "fault_other", AGAINST, words, PRACTICE)
    elif finding.same_fault == UNSURE and not line.lot_is_bad:
        words = "Whether it is the same fault can't be told yet. Inspect first: measure there, then correct the finding."
        yield _of(finding, "fault_unsure", OPEN, words, PRACTICE)


def _cause(finding: Finding, line: Line | None) -> Reasons:
    cause, own = finding.cause, line is not None and line.covered
    if cause in THEIRS:
        yield _of(finding, f"cause_{cause}", AGAINST, f"{THEIRS[cause].capitalize()}, not the repair.", PRACTICE)
    elif cause in OURS and own:
        yield _of(finding, f"cause_{cause}", FOR, f"{OURS[cause].capitalize()}.", PRACTICE)
    elif cause in OURS:
        words = f"The cause is “{OURS[cause]}”, and no covered line is named. Name the line of the work or the part it is about."
        yield _of(finding, "cause_without_line", NOTE, words, PRACTICE)
    elif cause == "age" and line is not None and own and not line.is_work:
        words = (
            "The cause is an old part that was left in, and the line a part that we fitted. One of the two is wrong: look again."
        )
        yield _of(finding, "cause_age", OPEN, words, PRACTICE)
    elif cause == "age":
        yield _of(finding, "cause_age", AGAINST, "An old part that was left in failed. Its age is not our work.", PRACTICE)
    elif own and finding.same_fault == NO and line is not None and not line.lot_is_bad:
        words = "Another fault at a part that we fitted, and its cause isn't known yet. Find the cause first."
        yield _of(finding, "cause_unknown", OPEN, words, PRACTICE)


def _void(case: ClaimCase, finding: Finding) -> Reasons:
    rule = finding.void_rule
    if rule and case.void_rules and rule not in case.void_rules:
        words = f"“{rule}” isn't among what ends this warranty. Only what its own record names counts."
        yield _of(finding, "void_not_named", OPEN, words)
    elif rule:
        yield _of(finding, "void", AGAINST, f"What ends the cover has happened: {_sentence(rule)}")


def _work(case: ClaimCase, covered: list[Finding], *, all_of_it: bool) -> Reasons:
    """Whether the hours of the repair are covered too. A record that names no work at all says nothing against it."""
    lines = [one for one in case.lines if one.is_work]
    if not covered or not lines:
        return
    last = max((one.until_on for one in lines if one.covered and one.until_on), default=None)
    if last is not None and case.claimed_on <= last and not all_of_it:
        words = f"Work is covered to the end of {day(last)}. Say what share of the hours goes into what is covered."
        yield Reason("work_shared", NOTE, words)
    elif last is not None and case.claimed_on <= last:
        yield Reason("work_runs", FOR, f"Work is covered to the end of {day(last)}: the hours of this repair are, too.")
    elif last is not None:
        yield Reason("work_over", AGAINST, f"Cover of the work ended on {day(last)}: the hours of this repair are charged.")
    else:
        yield Reason("work_left_out", AGAINST, "The record covers no work, only parts: the hours of this repair are charged.")
