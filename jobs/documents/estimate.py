"""The estimate: what the customer is asked to agree to, line by line."""

from moneyed import Money
from reportlab.platypus import Flowable

from jobs.documents.blocks import owner_and_set
from jobs.documents.estimate_data import EstimateLine, EstimatePaper
from shop.paper.blocks import Sections, SignHere, link_with_code, notice, own_words, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.keeping import closed
from shop.paper.pictures import photos
from shop.paper.ruled import Ruled
from shop.paper.sums import SumRow, summed
from shop.paper.tables import Column, facts, say, table
from shop.paper.wording import show_day, show_lasting, show_percent, show_range, show_sum

PART_COLUMNS = (Column("position", 18, bold=True), Column("part"), Column("count", 12, "right"), Column("each", 27, "right"))
OTHER_COLUMNS = (Column("what"), Column("time", 24, "right"))
SUM_COLUMN = Column("sum", 44, "right", bold=True)
MARK_COLUMN = Column("in", 13, "right")
CHANGE_COLUMNS = (Column("position", 18, bold=True), Column("what"), Column("agreed", 34, "right"), Column("now", 34, "right"))


def _head(data: EstimatePaper) -> Heading:
    made = f"Made on {show_day(data.made_at.date(), data.letterhead.locale)} by {data.made_by}."
    before = f" It takes the place of version {data.replaces_version}." if data.replaces_version else ""
    return Heading("Estimate", f"{data.job_number} / {data.version}", f"Version {data.version}. {made}{before}")


def _part_table(data: EstimatePaper, room: float) -> Ruled:
    locale = data.letterhead.locale
    rows = [
        (
            line.position,
            line.text,
            str(line.count),
            show_sum(line.unit, locale),
            *_marks(data, line),
            show_range(line.low, line.high, locale),
        )
        for line in data.lines
        if line.kind == "part"
    ]
    return table((*PART_COLUMNS, *_mark_columns(data), SUM_COLUMN), rows, room)


def _mark_columns(data: EstimatePaper) -> tuple[Column, ...]:
    return (MARK_COLUMN,) if data.alternatives else ()


def _marks(data: EstimatePaper, line: EstimateLine) -> tuple[str, ...]:
    return (line.mark,) if data.alternatives else ()


def _work_table(data: EstimatePaper, room: float) -> Ruled:
    """Labour with its time, then what has a fixed price."""
    lines = [line for kind in ("labour", "flat", "fee") for line in data.lines if line.kind == kind]
    locale = data.letterhead.locale
    rows = [
        (line.text, _time_words(line, locale), *_marks(data, line), show_range(line.low, line.high, locale)) for line in lines
    ]
    return table((*OTHER_COLUMNS, *_mark_columns(data), SUM_COLUMN), rows, room)


def _time_words(line: EstimateLine, locale: str) -> str:
    if line.kind == "labour":
        return show_lasting(line.minutes) if line.minutes else ""
    if line.kind == "flat" and line.count > 1:
        return f"{line.count} × {show_sum(line.unit, locale)}"
    return "fee" if line.kind == "fee" else "fixed price"


def _line_sections(data: EstimatePaper, section: Sections, room: float) -> list[Flowable]:
    kinds = {line.kind for line in data.lines}
    return [
        *(section("Parts", [_part_table(data, room)]) if "part" in kinds else []),
        *(section("Labour and fees" if "fee" in kinds else "Labour", [_work_table(data, room)]) if kinds - {"part"} else []),
    ]


def sum_rows(data: EstimatePaper) -> tuple[SumRow, ...]:
    """The sums as the PDF and the page show them, low to high."""
    locale = data.letterhead.locale
    within = "of which " if data.prices_include_tax else ""
    taxes = [SumRow(f"{within}{tax.label}", show_range(tax.low, tax.high, locale)) for tax in data.taxes]
    net = SumRow("Without tax", show_range(data.net_low, data.net_high, locale))
    total = SumRow("Total", show_range(data.total_low, data.total_high, locale), is_strong=True)
    return (net, *taxes, total) if taxes else (total,)


def _alternative_table(data: EstimatePaper, room: float) -> Ruled:
    """The ways to choose from, one under the other, with all that tells them apart."""
    locale, taxed = data.letterhead.locale, bool(data.taxes)
    columns = (
        Column("no.", 9, bold=True),
        Column("alternative"),
        *([Column("tax in it", 30, "right")] if taxed else []),
        Column("total with tax" if taxed else "total", 42, "right", bold=True),
        Column("the most", 24, "right"),
    )
    rows = [
        (
            str(one.number),
            f"{one.name}\n{one.text}" if one.text else one.name,
            *([show_range(one.tax_low, one.tax_high, locale)] if taxed else []),
            show_range(one.low, one.high, locale),
            show_sum(one.ceiling, locale),
        )
        for one in data.alternatives
    ]
    return table(columns, rows, room)


MOST = "The most this can cost"
NOTHING_DIFFERS = "No line differs from what was agreed to."
CHOOSE = (
    "Each alternative holds all that the smaller ones hold; the numbers beside a line say which it is in. "
    "You agree to exactly one of them."
)


def _lines_and_totals(data: EstimatePaper, section: Sections, room: float) -> list[Flowable]:
    """The lines, and what they come to: one total, or the alternatives to choose from."""
    lines, most = _line_sections(data, section, room), notice(ceiling_words(data), room, MOST)
    if not data.alternatives:
        return closed(lines, [summed(sum_rows(data), room, 84), space(3), most], room)
    body = [say(CHOOSE, 8.5, after=4), _alternative_table(data, room), space(3), most]
    return [*lines, *section("Choose one of these", body, keep=True)]


def _why(data: EstimatePaper, section: Sections, room: float) -> list[Flowable]:
    body: list[Flowable] = [say(data.because, 9, after=3)] if data.because else []
    for finding in data.findings:
        body += [say(finding.text, 8.5, after=2), *photos(finding.photos, room)]
    return section("Why this version", body) if body else []


def _revision(data: EstimatePaper, section: Sections, room: float) -> list[Flowable]:
    if data.revision is None:
        return []
    locale, changed = data.letterhead.locale, data.revision
    rows = [(one.position, one.text, _or_none(one.before, locale), _or_none(one.after, locale)) for one in changed.changes]
    lines = [table(CHANGE_COLUMNS, rows, room)] if rows else [say(NOTHING_DIFFERS, 8.5)]
    return section("What is different", [say(revision_words(data), 8.5, after=3), *lines])


def revision_words(data: EstimatePaper) -> str:
    """What was agreed to and what it is now; empty where nothing was agreed to before."""
    if data.revision is None:
        return ""
    locale, changed = data.letterhead.locale, data.revision
    now = ", ".join(f"{show_sum(total, locale)}{f' for “{name}”' if name else ''}" for name, total in changed.new)
    words = f"Agreed to was {changed.agreed}: {show_sum(changed.old, locale)}. Now it is {now}. All with tax, at the high end."
    return words + (f" The lines are compared with “{changed.compared}”." if changed.compared else "")


def _or_none(amount: Money | None, locale: str) -> str:
    return show_sum(amount, locale) or "not in it"


def ceiling_words(data: EstimatePaper) -> str:
    ceiling = show_sum(data.ceiling, data.letterhead.locale)
    allowance = (
        f"the total plus {show_percent(data.allowance_percent)}" if data.allowance_percent else "the total, with nothing on top"
    )
    if data.alternatives:
        return (
            "We will not charge more than what stands last beside the alternative you choose without a newer consent of yours. "
            "Should the work turn out to need more, we stop, and you get a newer version with what was found."
        )
    return (
        f"We will not charge more than {ceiling} ({allowance}) without a newer consent of yours. "
        "Should the work turn out to need more, we stop, and you get a newer version with what was found."
    )


def _agree(data: EstimatePaper, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    pairs = (
        ("stands until", show_day(data.stands_until_on, locale)),
        ("ready by", show_day(data.promised_on, locale)),
        ("deposit received", show_sum(data.deposit, locale)),
    )
    words = agreeing_words(data)
    link = [link_with_code(data.agree_url, words, room)] if data.agree_url else [say(words, 9)]
    return [
        facts(pairs, room),
        *link,
        SignHere(signing(data)),
    ]


def signing(data: EstimatePaper) -> tuple[str, ...]:
    """What belongs on each line to sign on."""
    if data.alternatives:
        return ("I agree to alternative no. (write it here, and sign)", "Name", "Date")
    return ("I agree to this estimate (signature)", "Name", "Date")


def agreeing_words(data: EstimatePaper) -> str:
    if data.agree_url:
        return "Agree or decline on your private page, call us, or sign below and send this paper back."
    return "Call us, or sign below and send this paper back."


def draw(data: EstimatePaper) -> bytes:
    """The estimate as a PDF. The most that may be charged is the data's `ceiling`; nothing is reckoned here."""
    room, heading, section = room_on(data.letterhead.paper), _head(data), Sections()
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *section(
            "The fault, in your own words", [*own_words(data.fault), say(f"What it shall become: {data.goal}", 8.5, limit=200)]
        ),
        *_why(data, section, room),
        *_revision(data, section, room),
        *_lines_and_totals(data, section, room),
        space(4),
        *(section("A word on this estimate", [say(data.note, 9)]) if data.note else []),
        *(section("Not included", points(data.not_included)) if data.not_included else []),
        *([notice(data.terms, room, "Terms"), space(4)] if data.terms else []),
        *section("How to agree", _agree(data, room), keep=True),
    ]
    return build(data.letterhead, heading, story)
