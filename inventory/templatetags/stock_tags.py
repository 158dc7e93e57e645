"""What pages of the drawers say beyond shop_tags.

{{ lot.unit_cost_milli|cost:profile }}       a cost that may be finer than a coin
{{ move|moved_as }}                          what a movement was, in words
{{ total.cost_milli|worth:profile }}         a sum in thousandths of a coin, whole or a fraction, rounded once to the coin
{{ turning.turns|one_decimal }}              a ratio
{% cost_in milli "EUR" profile %}             the same in another currency; None gives a dash
{{ reason|in_farads:profile }}               a sentence of the program, capacitances as the shop likes them
{% room "inventory:parts" "Parts" %}         a link of the drawers' own line of pages
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.components.writing import said_in
from inventory.models import Movement
from inventory.queries.lots import how_it_moved
from inventory.valuation import coins
from shop.models import Profile
from shop.money import show, show_fine
from shop.templatetags.shop_tags import DASH

register = template.Library()


@register.filter
def cost(milli: int, profile: Profile) -> str:
    """Thousandths of a minor unit: `£0.20`, `£0.0125`."""
    return show_fine(milli, profile.currency, profile.locale)


@register.filter
def moved_as(move: Movement) -> str:
    return how_it_moved(move)


@register.filter
def worth(milli: int | Fraction | None, profile: Profile) -> str:
    """A sum of costs, rounded once to the coin; None gives a dash."""
    return DASH if milli is None else show(coins(milli), profile.currency, profile.locale)


@register.filter
def in_farads(sentence: str, profile: Profile | None) -> str:
    return said_in((profile or Profile()).capacitance_style, str(sentence))


@register.filter
def one_decimal(ratio: float | Fraction | None) -> str:
    return DASH if ratio is None else f"{float(ratio):.1f}"


@register.simple_tag
def cost_in(milli: int | None, currency: str, profile: Profile | None) -> str:
    return DASH if milli is None else show_fine(milli, currency, (profile or Profile()).locale)


@register.simple_tag(takes_context=True)
def room(context: Mapping[str, Any], name: str, label: str) -> SafeString:
    address = reverse(name)
    current = SafeString(' aria-current="page"') if getattr(context.get("request"), "path", "") == address else ""
    return format_html('<li><a href="{}"{}>{}</a></li>', address, current, label)
