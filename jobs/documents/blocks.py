"""Blocks that several papers of a job share."""

from collections.abc import Sequence

from reportlab.platypus import Flowable

from jobs.documents.facts import ReadingToTake, SafetyFacts, SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import party_block, space
from shop.paper.frame import room_on
from shop.paper.lines import OneLine
from shop.paper.marks import passed_mark
from shop.paper.ruled import Ruled
from shop.paper.tables import Column, beside, facts, say, table
from shop.paper.wording import show_moment

READING_COLUMNS = (
    Column("what was tested"),
    Column("line plug", 18),
    Column("switch", 14),
    Column("reading", 24, "right"),
    Column("limit", 34),
    Column("result", 20, bold=True),
)


TO_TAKE_COLUMNS = (
    Column("what is tested"),
    Column("line plug", 18),
    Column("switch", 14),
    Column("limit", 34),
    Column("reading", 34),
    Column("result", 24),
)
BLANK = "…" * 9


def set_block(radio: SetFacts, room: float) -> list[Flowable]:
    pairs = (
        ("serial number", radio.serial or "none found"),
        ("year", str(radio.year) if radio.year else ""),
        ("supply", radio.supply),
        ("line-up", radio.lineup),
    )
    return [OneLine("The set", 7.5), say(radio.title, 10, bold=True, limit=200), facts(pairs, room, 24)]


def owner_and_set(letterhead: Letterhead, customer: Party, radio: SetFacts) -> list[Flowable]:
    room = room_on(letterhead.paper)
    return [beside(party_block("For", customer), set_block(radio, room * 0.54), room, 0.46), space(4)]


def safety_readings(safety: SafetyFacts, room: float) -> Ruled:
    """Each reading against its limit; where limits come from stands once for readings that share it."""
    rows, before = [], ""
    for line in safety.readings:
        told = f"{line.label}\n{line.source}" if line.source not in ("", before) else line.label
        before = line.source
        where = (line.polarity or "–", line.switch or "–")
        rows.append((told, *where, f"{line.reading} {line.unit}".strip(), line.limit, passed_mark(line.passed)))
    return table(READING_COLUMNS, rows, room)


def readings_to_take(readings: Sequence[ReadingToTake], room: float) -> Ruled:
    """The same table with room to write by hand."""
    rows, before = [], ""
    for line in readings:
        told = "\n".join(words for words in (line.label, line.note, line.source) if words)
        what, before = ("the same" if told == before else told), told
        where = (line.polarity or "–", line.switch or "–", line.limit)
        rows.append((what, *where, f"{BLANK} {line.unit}", "☐ passed\n☐ failed"))
    return table(TO_TAKE_COLUMNS, rows, room)


def safety_circumstances(safety: SafetyFacts, room: float, locale: str) -> Ruled:
    """Readings behind an isolating transformer say nothing of leakage to earth, so the paper says which it was."""
    pairs = (
        ("practice", safety.practice),
        ("instrument", safety.instrument or "not noted"),
        ("isolating transformer", "yes, behind one" if safety.isolating_transformer else "no, straight from the line"),
        ("protective earth", "the set has one" if safety.earthed else "the set has none"),
        ("made", f"{show_moment(safety.made_at, locale)}, {safety.made_by}"),
        ("findings", safety.findings),
    )
    return facts(pairs, room, 38, limit=600)
