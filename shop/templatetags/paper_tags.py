"""What papers say as web pages, written as on paper. `{% load paper_tags %}`, then:

{{ money|sum_in:locale }}          a sum; nothing for None
{{ on|day_in:locale }}             a day in words, as <time>; `short_day_in` for narrow columns
{{ at|moment_in }}                 day and minute in the time zone that the moment carries
{{ minutes|lasting }}              `1 h 30 min`
{{ percent|share }}                `17.5 %`
{{ text|typed }}                   what somebody typed: capped and cleaned as for the PDF, line breaks kept
"""

from datetime import date, datetime
from decimal import Decimal

from django import template
from django.utils.html import format_html, linebreaks
from django.utils.safestring import SafeString, mark_safe
from moneyed import Money

from shop.paper import wording
from shop.paper.text import clean

register = template.Library()


@register.filter
def sum_in(money: Money | None, locale: str) -> str:
    return wording.show_sum(money, locale) if isinstance(money, Money) else ""


@register.filter
def day_in(on: date | None, locale: str) -> SafeString | str:
    return format_html('<time datetime="{}">{}</time>', on.isoformat(), wording.show_day(on, locale)) if on else ""


@register.filter
def short_day_in(on: date | None, locale: str) -> SafeString | str:
    return format_html('<time datetime="{}">{}</time>', on.isoformat(), wording.show_short_day(on, locale)) if on else ""


@register.filter
def moment_in(at: datetime | None, locale: str) -> SafeString | str:
    return format_html('<time datetime="{}">{}</time>', at.isoformat(), wording.show_moment(at, locale)) if at else ""


@register.filter
def lasting(minutes: int) -> str:
    return wording.show_lasting(minutes)


@register.filter
def share(percent: Decimal) -> str:
    return wording.show_percent(percent)


@register.filter
def typed(text: str) -> SafeString:
    return mark_safe(linebreaks(clean(text), autoescape=True))
