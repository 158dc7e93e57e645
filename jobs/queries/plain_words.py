"""A job told in plain language. Every sentence is counted from the log; nothing is said that the log doesn't hold."""

from collections.abc import Sequence

from jobs.models import Decision, Job, Verdict
from jobs.queries.missing import proof_of, soak_since_change
from jobs.queries.sheet import PositionState, Sheet
from shop.paper.wording import show_lasting

MOST_NAMED = 12
TAKEN_READINGS = (Verdict.WITHIN, Verdict.DRIFTED, Verdict.OPEN, Verdict.SHORTED, Verdict.LEAKY)


def plain_words(job: Job, sheet: Sheet) -> tuple[str, ...]:
    """Short paragraphs: what was looked at, what was wrong, what was put in, what was done otherwise, how it was proved."""
    told = (_looked_at(sheet), _wrong(sheet), _put_in(sheet), _otherwise(sheet), _wired(sheet), _proved(job, sheet))
    return tuple(paragraph for paragraph in told if paragraph)


def counted(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


def _names(rows: Sequence[PositionState]) -> str:
    names = [row.position.designator for row in rows[:MOST_NAMED]]
    more = f" and {len(rows) - MOST_NAMED} more" if len(rows) > MOST_NAMED else ""
    return ", ".join(names) + more


def _looked_at(sheet: Sheet) -> str:
    looked = [row for row in sheet.rows if row.entries]
    read = [row for row in sheet.rows if row.measured and row.measured.verdict in TAKEN_READINGS]
    if not sheet.rows:
        return "No positions are on record for this set."
    words = f"We went through {len(looked)} of the {counted(len(sheet.rows), 'position')} on this set's list"
    return words + (f" and took a reading at {len(read)}." if read else ".")


def _wrong(sheet: Sheet) -> str:
    """What was found to be other than it should be, one clause a position."""
    bad = [row for row in sheet.rows if row.verdict not in (Verdict.WITHIN, Verdict.NOT_MEASURED)]
    if not bad:
        within = [row for row in sheet.rows if row.verdict == Verdict.WITHIN]
        return f"Every reading we took was within tolerance ({counted(len(within), 'position')})." if within else ""
    clauses = [_fault(row) for row in bad[:MOST_NAMED]]
    more = f"; and {len(bad) - MOST_NAMED} more, listed below" if len(bad) > MOST_NAMED else ""
    return f"Not as it should be: {'; '.join(clauses)}{more}."


def _fault(row: PositionState) -> str:
    called = f", called for {row.called}" if row.called else ""
    if row.verdict == Verdict.WRONG_PART and row.found:
        return f"{row.position.designator} ({row.role_label.lower()}{called}) held {row.found.text}"
    read = f", read {row.measured.text}" if row.measured else ""
    was = "had drifted" if row.verdict == Verdict.DRIFTED else f"was {row.verdict_label}"
    return f"{row.position.designator} ({row.role_label.lower()}{called}{read}) {was}"


def _put_in(sheet: Sheet) -> str:
    replaced = [row for row in sheet.rows if row.fitted]
    if not replaced:
        return "We fitted no parts."
    clauses = [f"{row.position.designator} now has {_parts(row)}" for row in replaced[:MOST_NAMED]]
    more = f"; {len(replaced) - MOST_NAMED} more are listed below" if len(replaced) > MOST_NAMED else ""
    return f"We fitted parts at {counted(len(replaced), 'position')}: {'; '.join(clauses)}{more}."


def _parts(row: PositionState) -> str:
    parts = []
    for fit in row.fitted:
        count = f"{fit.count} × " if fit.count > 1 else ""
        grade = f" ({fit.part_class})" if fit.part_class else ""
        parts.append(f"{count}{fit.text}{grade}")
    return " and ".join(parts)


def _otherwise(sheet: Sheet) -> str:
    ways = (
        (Decision.REPAIR, "repaired in place"),
        (Decision.REMOVE, "taken out for good"),
        (Decision.KEEP, "left as they were"),
    )
    clauses = []
    for decision, words in ways:
        rows = [row for row in sheet.rows if row.decision == decision and not row.fitted]
        if rows:
            clauses.append(f"{words}: {_names(rows)}")
    open_rows = [row for row in sheet.rows if not row.is_resolved]
    if open_rows:
        clauses.append(f"not decided on: {_names(open_rows)}")
    told = "; ".join(clauses)
    return f"{told[0].upper()}{told[1:]}." if told else ""


def _wired(sheet: Sheet) -> str:
    if not sheet.wiring:
        return ""
    places = "place" if len(sheet.wiring) == 1 else "places"
    return f"The set was wired otherwise than its schematic in {len(sheet.wiring)} {places}; each is listed below."


def _proved(job: Job, sheet: Sheet) -> str:
    proof = proof_of(job, sheet)
    if proof.check is None:
        return "No electrical safety check was made in this job."
    readings = proof.check.readings.count()  # type: ignore[attr-defined]
    if not proof.check_holds:
        return "The circuit was changed after the last electrical safety check, so that check doesn't count."
    if not proof.check.passed:
        return "The set did not pass the electrical safety check."
    minutes = sum(run.minutes for run in soak_since_change(job, sheet))
    soaked = f" It then ran for {show_lasting(minutes)} on the bench without a fault." if minutes else ""
    return f"The electrical safety check passed, with {counted(readings, 'reading')} against their limits.{soaked}"
