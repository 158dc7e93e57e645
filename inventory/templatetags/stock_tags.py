"""What pages of the drawers say beyond shop_tags.

{{ lot.unit_cost_milli|cost:profile }}       a cost that may be finer than a coin
{% room "inventory:parts" "Parts" %}         a link of the drawers' own line of pages
"""

from collections.abc import Mapping
from typing import Any

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.models import Profile
from shop.money import show_fine

register = template.Library()


@register.filter
def cost(milli: int, profile: Profile) -> str:
    """Thousandths of a minor unit: `£0.20`, `£0.0125`."""
    return show_fine(milli, profile.currency, profile.locale)


@register.simple_tag(takes_context=True)
def room(context: Mapping[str, Any], name: str, label: str) -> SafeString:
    address = reverse(name)
    current = SafeString(' aria-current="page"') if getattr(context.get("request"), "path", "") == address else ""
    return format_html('<li><a href="{}"{}>{}</a></li>', address, current, label)
