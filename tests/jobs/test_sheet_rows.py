"""The rows of the sheet, written in one go: the same, sign by sign, as a plain template writes them (`sheet_row.html`)."""

from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.template import engines
from django.utils import timezone
from django.utils.safestring import SafeString

from inventory.models import Condition, Part
from jobs.models import Decision, EntryKind, LogEntry, Point, Position, Verdict
from jobs.queries.sheet import PositionState
from jobs.views.sheet_rows import Look, rows_html
from shop.models import Profile, Staff

AT = datetime(2026, 9, 4, 23, 30, tzinfo=UTC)
SHARP = """<b title='x'>&"Ω</b>"""
PART = Part(pk=5, kind="capacitor", marking=f"0.047 µF {SHARP}", value_si=220_000.0, watts=0.5)
REASONS = "It reads 0.058 µF, 23 % above the 0.047 µF called for; “0.1 µF” & 'x' stays.\nLift <one> end.\nMore to read."
# What may stand on a row; each in a row of its own and all of them in one.
ENTRIES: dict[str, dict[str, object]] = {
    "found": {"kind": EntryKind.FOUND, "text": SHARP},
    "wrong part": {"kind": EntryKind.FOUND, "text": "0.1 µF", "verdict": Verdict.WRONG_PART, "reasons": REASONS},
    "wiring": {"kind": EntryKind.WIRING, "text": SHARP},
    "note": {"kind": EntryKind.NOTE, "text": SHARP},
    "amended": {"kind": EntryKind.CALLED_FOR, "text": f"330K {SHARP}"},
    "measured": {"kind": EntryKind.MEASURED, "text": "310K", "verdict": Verdict.DRIFTED, "reasons": REASONS},
    "in circuit": {"kind": EntryKind.MEASURED, "text": SHARP, "in_circuit": True},
    "leaks": {"kind": EntryKind.MEASURED, "text": "5 uA", "verdict": Verdict.LEAKY, "reasons": "It leaks."},
    "volts": {"kind": EntryKind.VOLTAGE, "text": "400", "value_si": 400.0, "point": Point.ACROSS},
    "few volts": {"kind": EntryKind.VOLTAGE, "text": "4 V", "value_si": 4.0, "point": Point.ACROSS},
    "leave in": {"kind": EntryKind.DECIDED, "decision": Decision.KEEP},
    "repair": {"kind": EntryKind.DECIDED, "decision": Decision.REPAIR, "note": SHARP},
    "replace": {"kind": EntryKind.DECIDED, "decision": Decision.REPLACE, "part": PART, "unit_price_minor": 123_456, "count": 2},
    "polarity": {"kind": EntryKind.POLARITY, "text": "plus to the line"},
    "fitted": {"kind": EntryKind.FITTED, "text": SHARP, "part": PART, "part_class": Condition.NEW, "unit_price_minor": 60},
    "three fitted": {"kind": EntryKind.FITTED, "text": "10 nF", "count": 3, "override_reason": SHARP, "override_by": Staff(pk=2)},
    "not charged": {"kind": EntryKind.FITTED, "text": "a knob", "charged": False, "unit_price_minor": 60},
}


def row_of(pk: int, *names: str, role: str = "plate_load", elsewhere: str = "") -> PositionState:
    people = Staff(pk=1, shown_name=SHARP), Staff(pk=2, username="benno")
    entries = [
        LogEntry(pk=100 * pk + seq, seq=seq, at=AT.replace(day=seq), person=people[seq % 2], **ENTRIES[name])
        for seq, name in enumerate(names, 1)
    ]
    place = Position(pk=pk, job_id=7, designator=f"R{pk}{SHARP}"[:16], role=role, called="220K 0.5 W" if pk % 2 else "")
    return PositionState(place, entries, elsewhere)


def rows() -> list[PositionState]:
    alone = [row_of(pk, name) for pk, name in enumerate(ENTRIES, 10)]
    odd = [row_of(pk, name) for pk, name in enumerate(ENTRIES, 51 if len(ENTRIES) % 2 else 50)]
    known = [row_of(2, elsewhere=f"replaced in 2 of 3 {SHARP}"), row_of(3, "leave in", elsewhere="left alone")]
    pairs = [row_of(4, "replace", "fitted"), row_of(5, "measured", "leaks", "volts", role="reservoir")]
    return [row_of(1), *known, *pairs, *alone, *odd, row_of(6, *ENTRIES), row_of(1201, *reversed(ENTRIES))]


@cache
def template() -> Any:
    return engines["django"].from_string(Path(__file__).with_name("sheet_row.html").read_text())


def plainly(row: PositionState, look: Look) -> str:
    opened = SimpleNamespace(pk=look.opened) if look.opened else None
    seen = {name: getattr(look, name) for name in ("profile", "at_bench", "next_pk")}
    job = SimpleNamespace(pk=look.job_pk)
    return template().render({"row": row, "opened": opened, "job": job, "entry": SafeString(look.entry), **seen})


GBP, EUR = Profile(currency="GBP", locale="en_GB"), Profile(currency="EUR", locale="de_DE", capacitance_style="modern")


@pytest.mark.parametrize("zone", ["UTC", "Europe/London"])
@pytest.mark.parametrize(
    "look",
    [
        Look(7, GBP),
        Look(7, EUR, at_bench=True),
        Look(1207, GBP, at_bench=True, next_pk=6, opened=4, entry="<tr><td>a form</td></tr>"),
        Look(7, EUR, at_bench=True, next_pk=4, opened=1201, entry="<tr><td>a form</td></tr>"),
    ],
)
def test_the_rows_are_those_of_a_plain_template(look: Look, zone: str) -> None:
    with timezone.override(ZoneInfo(zone)):
        for row in rows():
            assert rows_html([row], look) == plainly(row, look)


def test_rows_written_together_are_those_written_apart() -> None:
    look = Look(7, GBP, at_bench=True)
    assert rows_html(rows(), look) == "".join(rows_html([row], look) for row in rows())


def test_nothing_that_was_typed_is_taken_for_markup() -> None:
    html = rows_html(rows(), Look(7, GBP, at_bench=True))
    assert "<b" not in html
    for words in ("Note: &lt;b", "in circuit", "it burns: fit", "against the rule: &lt;b", "planned", "3 × ", "wrong part"):
        assert words in html
