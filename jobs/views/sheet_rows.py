"""The rows of the change log sheet as HTML.

A template asks for every name, address and mark of two hundred rows anew, which takes ten times as long as the cells themselves.
Here each row is written in one go: addresses, days and marks are worked out once a drawing, and every text that somebody typed
goes through `escape` where it is put in.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from html import escape

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString

from inventory.components.writing import said_in
from jobs.models import LogEntry
from jobs.queries.sheet import PositionState
from shop.models import Profile
from shop.templatetags.shop_tags import money
from shop.web.marks import state

_ANY = 9876543210


@dataclass(frozen=True, slots=True)
class Look:
    """Who looks at which sheet. `entry` is the form of the row `opened`, drawn already.

    `next_pk` is the row that is next; `at_bench`: whether rows can be written on.
    """

    job_pk: int
    profile: Profile | None
    at_bench: bool = False
    next_pk: int | None = None
    opened: int | None = None
    entry: str = ""


def rows_html(rows: Iterable[PositionState], look: Look) -> SafeString:
    """Rows of a table, and below the opened one that of its form."""
    pen = _Pen(look)
    return SafeString("".join(map(pen.row, rows)))


def _around(name: str) -> tuple[str, str]:
    """An address of one number: what stands before and behind it."""
    before, after = reverse(name, args=[_ANY]).split(str(_ANY))
    return escape(before), escape(after)


def _who(words: str) -> str:
    """Small words behind what a cell is about; `words` are escaped."""
    return f' <span class="who">{words}</span>'


def _typed(text: str) -> str:
    return f'<span class="notation">{escape(text)}</span>'


class _Pen:
    """Writes the rows of one drawing. What several rows say alike is kept while it lasts, never longer."""

    def __init__(self, look: Look) -> None:
        self.look = look
        self.farads = (look.profile or Profile()).capacitance_style
        self.position, self.entry_row = _around("jobs:position"), _around("jobs:entry_row")
        self.close = escape(reverse("jobs:change_log", args=[look.job_pk]))
        self.zone, self.days = timezone.get_current_timezone(), dict[date, str]()
        self.marks, self.decisions, self.people = dict[str, str](), dict[str, str](), dict[int, str]()
        self.said: dict[str, str] = {"": ""}
        self.wiring = state("warn", "wiring")

    def row(self, row: PositionState) -> str:
        pk, name = row.position.pk, escape(row.position.designator)
        place = f"{self.position[0]}{pk}{self.position[1]}"
        following = ' class="is-next"' if pk == self.look.next_pk else ""
        elsewhere = _who(escape(row.elsewhere)) if row.elsewhere and not row.decision else ""
        return (
            f'<tr id="p-{pk}"{following} data-row="{pk}" data-designator="{name}" data-step="{row.next_step}">\n'
            f'<th scope="row"><a class="position" href="{place}">{name}</a> '
            f'<span class="role">{escape(row.role_label)}</span>{elsewhere}</th>\n'
            f'<td data-label="Called for">{_typed(row.called) if row.called else ""}</td>\n'
            f'<td data-label="Found">{self._found(row)}</td>\n'
            f'<td data-label="Measured">{_measured(row)}</td>\n'
            f'<td data-label="Verdict">{self._verdict(row) if row.entries else ""}</td>\n'
            f'<td data-label="Decision">{self._decision(row) if row.decided else ""}</td>\n'
            f'<td data-label="Fitted">{"".join(map(_fit, row.fitted))}</td>\n'
            f'<td data-label="Cost" class="num">{self._cost(row)}</td>\n'
            f'<td data-label="Who and when">{self._last(row.entries[-1]) if row.entries else ""}</td>\n'
            f"<td>{self._way(pk, name, place) if self.look.at_bench else ''}</td>\n"
            f"</tr>{self.look.entry if pk == self.look.opened else ''}\n"
        )

    def _found(self, row: PositionState) -> str:
        if not row.entries:
            return ""
        found = _typed(row.found.text) if row.found else ""
        wiring = [f" <span>{self.wiring} {escape(one.text)}</span>" for one in row.wiring]
        return "".join([found, *wiring, *[_who(f"Note: {escape(one.text)}") for one in row.notes]])

    def _verdict(self, row: PositionState) -> str:
        verdict = row.verdict
        mark = self.marks.get(verdict)
        if mark is None:
            mark = self.marks[verdict] = state(row.verdict_mark, row.verdict_label)
        text = row.said
        said = self.said.get(text)
        if said is None:
            said = self.said[text] = _who(escape(said_in(self.farads, text)))
        return f"<span>{mark}{said}</span>"

    def _decision(self, row: PositionState) -> str:
        decided = row.decided
        if decided is None or not decided.decision:
            return ""
        label = self.decisions.get(decided.decision)
        if label is None:
            label = self.decisions[decided.decision] = escape(row.decision_label)
        part = f": {escape(decided.part.title)}" if row.to_fit and decided.part else ""
        return f"<span>{label}{part}{_who(escape(decided.note)) if decided.note else ''}</span>"

    def _cost(self, row: PositionState) -> str:
        if row.fitted:
            return f"<span>{self._money(row.price_minor)}</span>"
        planned = row.planned_minor
        return f'<span class="who">{self._money(planned)} planned</span>' if planned else ""

    def _money(self, minor: int) -> str:
        return escape(money(minor, self.look.profile))  # type: ignore[arg-type]

    def _last(self, entry: LogEntry) -> str:
        person = self.people.get(entry.person_id)
        if person is None:
            person = self.people[entry.person_id] = escape(str(entry.person))
        return f'<span class="who">{person}, {self._moment(entry.at)}</span>'

    def _moment(self, at: datetime) -> str:
        """As `shop_tags.moment` writes it."""
        local = at.astimezone(self.zone)
        on = local.date()
        words = self.days.get(on)
        if words is None:
            words = self.days[on] = escape(date_format(on, "j M Y"))
        return f'<time datetime="{local.isoformat()}">{words}, {local:%H:%M}</time>'

    def _way(self, pk: int, name: str, place: str) -> str:
        if pk == self.look.opened:
            return f'<a class="act act-small act-plain" href="{self.close}#p-{pk}">Close</a>'
        return (
            f'<a class="act act-small act-plain" href="{place}" hx-get="{self.entry_row[0]}{pk}{self.entry_row[1]}" '
            f'hx-target="#p-{pk}" hx-swap="outerHTML">Enter<span class="visually-hidden"> on {name}</span></a>'
        )


def _measured(row: PositionState) -> str:
    if not row.entries:
        return ""
    in_circuit = _who("in circuit")
    read = [f"<span>{_typed(one.text)}{in_circuit if one.in_circuit else ''}</span>" for one in row.readings]
    if row.voltages:
        read += [_who(f"{escape(at.point)} {escape(at.words)}") for at in row.under_power]
        heat = row.heat
        if heat and heat.level != "yes":
            read.append(_who(escape(heat.sentence)))
    return "".join(read)


def _fit(fit: LogEntry) -> str:
    many = f"{fit.count} × " if fit.count != 1 else ""
    against = f", against the rule: {escape(fit.override_reason)}" if fit.override_reason else ""
    return f"<span>{many}{escape(fit.text)}{_who(f'{escape(fit.part_class)}{against}')}</span>"
