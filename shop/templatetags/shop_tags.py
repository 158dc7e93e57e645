"""What templates say beyond plain text. `{% load shop_tags %}`, then:

Forms
    {% once %}                                   hidden token for a hand-written POST form (a TradeForm brings its own)
    {% hidden form %}                            the hidden fields of a form, the token among them
    {% field form.volts unit="V" %}              label, control, help and errors of one field; `wide=True` spans the columns
    {% act_button url "Take it out again" look="plain" entry=7 %}   a POST form with one button; extra names are hidden fields
Figures
    {{ minor|money:currency }}                   money; `|money:profile` takes the shop's locale too; None gives a dash
    {{ minutes|hours }}   {{ bp|percent }}       `1 h 30 min`, `17.5 %`
    {{ tax|tax_words:scheme }}                   `VAT 20 %`, or the word of a category that bears none
    {{ at|moment }}   {{ on|day }}               a datetime in the shop's time zone, a date; both as <time>
Marks
    {% state "warn" "Drifted" %}                 mark + word; marks: yes, warn, no, wait, note, open, done
    {% tag_number job.number url %}              the numbered tag, a link where an address is given
    {% stage_line stages %}                      stages: list of (word, "done" | "now" | "ahead")
    {% exposure spent to_come consented ceiling currency %}   the exposure bar, all four in minor units
Frame
    {% nav_link "jobs:benches" "Benches" %}      a tab; hidden where there is no such page or the person's role may not see it
    {% lean_table table as lean %}               used by `_table.html`
    {% query_with "page" 3 %}                    the address's query with one name changed
    {% query_as "csv" %}                         the same list as a file, all pages of it
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django import forms, template
from django.contrib.messages.storage.base import Message
from django.forms.boundfield import BoundField
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop import tax_terms
from shop.models import Profile, Role
from shop.money import DEFAULT_LOCALE, show
from shop.totals import TaxedSum
from shop.web import marks, pieces
from shop.web.fields import MoneyField, PercentField, PicturesInput

register = template.Library()
DASH = "–"


@register.simple_tag
def once() -> SafeString:
    return pieces.once_input()


@register.simple_tag
def hidden(form: forms.Form) -> SafeString:
    return SafeString("".join(str(bound) for bound in form.hidden_fields()))


@register.inclusion_tag("_field.html")
def field(bound: BoundField, unit: str = "", wide: bool = False) -> dict[str, object]:
    if isinstance(bound.field, MoneyField):
        unit = unit or bound.field.currency
    elif isinstance(bound.field, PercentField):
        unit = unit or "%"
    lost = isinstance(bound.field.widget, PicturesInput) and getattr(bound.form, "lost_files", False)
    return {"field": bound, "shape": _shape(bound), "unit": unit, "wide": wide, "lost_files": lost}


def _shape(bound: BoundField) -> str:
    """How `_field.html` lays the field out."""
    if bound.is_hidden:
        return "hidden"
    if isinstance(bound.field.widget, forms.CheckboxInput):
        return "check"
    return "group" if bound.use_fieldset else "line"


@register.inclusion_tag("_act_button.html", takes_context=True)
def act_button(context: Mapping[str, Any], url: str, label: str, look: str = "", **hidden: object) -> dict[str, object]:
    return {"url": url, "label": label, "look": look, "hidden": hidden, "csrf_token": context.get("csrf_token")}


@register.filter
def money(minor: int | str | None, currency: "str | Profile") -> str:
    if minor is None or isinstance(minor, str):
        return DASH
    if isinstance(currency, Profile):
        return show(minor, currency.currency, currency.locale)
    return show(minor, str(currency), DEFAULT_LOCALE)


@register.filter
def hours(minutes: int | str | None) -> str:
    if minutes is None or isinstance(minutes, str):
        return DASH
    whole, rest = divmod(minutes, 60)
    return " ".join(part for part in (f"{whole} h" if whole else "", f"{rest} min" if rest or not whole else "") if part)


@register.filter
def percent(bp: int | str | None) -> str:
    return DASH if bp is None or isinstance(bp, str) else f"{bp / 100:g} %"


@register.filter
def tax_words(tax: TaxedSum, scheme: str = "") -> str:
    return tax_terms.tax_words(tax, scheme)


@register.filter
def moment(at: datetime | None) -> SafeString | str:
    if not at:
        return DASH
    local = timezone.localtime(at)
    return format_html('<time datetime="{}">{}</time>', local.isoformat(), date_format(local, "j M Y, H:i"))


@register.filter
def day(on: date | datetime | None) -> SafeString | str:
    if not on:
        return DASH
    if isinstance(on, datetime):
        on = timezone.localdate(on)
    return format_html('<time datetime="{}">{}</time>', on.isoformat(), date_format(on, "j M Y"))


@register.simple_tag
def state(mark: str, word: str) -> SafeString:
    return marks.state(mark, word)


@register.simple_tag
def tag_number(number: str, url: str = "") -> SafeString:
    return marks.tag_number(number, url)


@register.inclusion_tag("_stage_line.html")
def stage_line(stages: Iterable[tuple[str, str]]) -> dict[str, object]:
    return {"stages": list(stages)}


@register.inclusion_tag("_exposure.html")
def exposure(spent: int, to_come: int, consented: int, ceiling: int, currency: "str | Profile") -> dict[str, object]:
    return {"bar": marks.Exposure(spent, to_come, consented, ceiling), "currency": currency}


@register.simple_tag(takes_context=True)
def nav_link(context: Mapping[str, Any], name: str, label: str, roles: str = "") -> SafeString | str:
    """`roles` (`"counter bench"`) overrides what the page's own view says."""
    address = pieces.address_of(name)
    if not address:
        return ""
    allowed = roles.replace(",", " ").split() or pieces.roles_of(name)
    role = context.get("staff_role")
    if not role or (allowed is not None and role != Role.OWNER and role not in allowed):
        return ""
    here = getattr(context.get("request"), "path", "")
    current = SafeString(' aria-current="page"') if address == pieces.tab_of(here) else ""
    return format_html('<li><a class="tab" href="{}"{}>{}</a></li>', address, current, label)


@register.simple_tag
def lean_table(table: Any) -> pieces.LeanTable:
    return pieces.lean_table(table)


@register.simple_tag(takes_context=True)
def query_with(context: Mapping[str, Any], name: str, value: object) -> str:
    return pieces.query_with(context.get("request"), name, value)


@register.simple_tag(takes_context=True)
def query_as(context: Mapping[str, Any], ending: str) -> str:
    return pieces.query_as(context.get("request"), ending)


@register.filter
def undo_of(message: Message) -> dict[str, object] | None:
    return pieces.undo_of(message)
