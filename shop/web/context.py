"""What every template may lean on: `profile`, `currency`, `staff_role`, `head_works`."""

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from shop.models import Profile
from shop.web.work_line import remembered


def shop_profile(request: HttpRequest) -> Profile | None:
    """The profile, read once a request; None before the shop was set up."""
    if not hasattr(request, "_shop_profile"):
        request._shop_profile = Profile.current()  # type: ignore[attr-defined]
    return request._shop_profile  # type: ignore[attr-defined]


def shop_currency() -> str:
    """ISO 4217 code of the shop's currency, also where there is no request; the profile's default before set-up."""
    profile = Profile.current()
    return profile.currency if profile else Profile._meta.get_field("currency").default


def shop_context(request: HttpRequest) -> dict[str, object]:
    """Context processor. `staff_role` is `counter`, `bench`, `owner`, or empty for a stranger.

    `head_works`: long work that this session started; read where the page shows it.
    """
    profile = shop_profile(request)
    user = getattr(request, "user", None)
    return {
        "profile": profile,
        "currency": profile.currency if profile else Profile._meta.get_field("currency").default,
        "staff_role": getattr(user, "role", "") if user and user.is_authenticated else "",
        "head_works": SimpleLazyObject(lambda: remembered(request)),
    }
