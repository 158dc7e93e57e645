"""What the acts on drawers share: done once, refused at their form."""

from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest

from shop import acts
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.models import Profile
from shop.web.context import shop_profile
from shop.web.forms import SeenForm, TradeForm


def carry_out(form: TradeForm, act: str, work: Callable[[], str]) -> tuple[str, bool] | None:
    """The address that the act left and whether it was done just now; None where the form or the act was refused."""
    if not form.is_valid():
        return None
    try:
        return acts.once(form.cleaned_data["once"], act, work)
    except Refused as refused:
        form.take_refusal(refused)
        return None


Now = list[tuple[str, str]] | None


def edit(
    form: SeenForm, act: str, work: Callable[[], str], reread: Callable[[], tuple[int, Mapping[str, Any]]]
) -> tuple[tuple[str, bool] | None, Now]:
    """As `carry_out`, for what two people may edit. Where somebody was faster: what stands now, and the form is in sight of it.

    `reread` gives the version and the form's initial values, read anew.
    """
    if not form.is_valid():
        return None, None
    try:
        return acts.once(form.cleaned_data["once"], act, work), None
    except Stale as stale:
        form.take_refusal(stale)
        version, values = reread()
        now = standing_now(form, values)
        form.see(version)
        return None, now
    except Refused as refused:
        form.take_refusal(refused)
        return None, None


def terms(request: HttpRequest) -> Profile:
    """The shop's profile; before set-up one with nothing but its defaults."""
    return shop_profile(request) or Profile()
