"""What the acts on drawers share: done once, refused at their form."""

from collections.abc import Callable

from django.http import HttpRequest

from shop import acts
from shop.acts import Refused
from shop.models import Profile
from shop.web.context import shop_profile
from shop.web.forms import TradeForm


def carry_out(form: TradeForm, act: str, work: Callable[[], str]) -> tuple[str, bool] | None:
    """The address that the act left and whether it was done just now; None where the form or the act was refused."""
    if not form.is_valid():
        return None
    try:
        return acts.once(form.cleaned_data["once"], act, work)
    except Refused as refused:
        form.take_refusal(refused)
        return None


def terms(request: HttpRequest) -> Profile:
    """The shop's profile; before set-up one with nothing but its defaults."""
    return shop_profile(request) or Profile()
