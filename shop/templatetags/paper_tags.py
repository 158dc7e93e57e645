"""What papers say as web pages, written as on paper. `{% load paper_tags %}`, then:

{{ money|sum_in:locale }}          a sum; nothing for None
{{ on|day_in:locale }}             a day in words, as <time>; `short_day_in` for narrow columns
{{ at|moment_in }}                 day and minute in the time zone that the moment carries
{{ minutes|lasting }}              `1 h 30 min`
{{ percent|share }}                `17.5 %`
{% range_in low high locale %}     one sum where both ends are the same
{{ photo|as_source }}              a photo on paper as the source of an <img>, small; empty where its file is gone
{{ text|typed }}                   what somebody typed: capped and cleaned as for the PDF, line breaks kept
"""

from base64 import b64encode
from datetime import date, datetime
from decimal import Decimal

from django import template
from django.utils.html import format_html, linebreaks
from django.utils.safestring import SafeString, mark_safe
from moneyed import Money

from shop.paper import wording
from shop.paper.pictures import PhotoOnPaper, small
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


@register.simple_tag
def range_in(low: Money, high: Money, locale: str) -> str:
    return wording.show_range(low, high, locale)


@register.filter
def as_source(photo: PhotoOnPaper) -> str:
    made = small(photo.content)
    return f"data:image/jpeg;base64,{b64encode(made[0].getvalue()).decode()}" if made else ""


@register.filter
def typed(text: str) -> SafeString:
    return mark_safe(linebreaks(clean(text), autoescape=True))
