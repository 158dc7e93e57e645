"""The owner's first page, and the terms of the shop."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.models import Invoice
from inventory.models import Lot, Part
from jobs.bench.safety import PRACTICES
from jobs.documents.warranty import VOID_RULES
from jobs.models import Job
from jobs.queries.warranty_terms import law_in_words
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.backup.standing import standing
from shop.clock import now
from shop.database import how_it_is_kept
from shop.forms.compare import standing_now
from shop.forms.profile import ProfileForm, values_of
from shop.models import Profile, Role
from shop.money import is_currency
from shop.profile import change_profile
from shop.web.pages import answer_once

KEPT = "Changed from now on. Estimates sent, entries of the change log, labour logged and invoices issued stay as they were."


@role_required(Role.OWNER)
def owner(request: HttpRequest) -> HttpResponse:
    kept = {"database": how_it_is_kept(settings.DATABASES["default"]), "photos": settings.MEDIA_ROOT}
    return render(request, "shop/owner.html", {"kept": kept, "standing": standing(now())})


@role_required(Role.OWNER)
def profile(request: HttpRequest) -> HttpResponse:
    terms = get_object_or_404(Profile, pk=1)
    form = _form(request, terms)
    context: dict[str, Any] = {"form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change profile", lambda: _change(terms, form))
        except Stale as stale:
            form.take_refusal(stale)
            terms.refresh_from_db()
            context["now"] = standing_now(form, values_of(terms))
            form.see(terms.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=KEPT)
    return render(request, "shop/profile.html", context, status=form.status)


def _form(request: HttpRequest, terms: Profile) -> ProfileForm:
    """Sums are read in the currency that the same form names: yen have no hundredths."""
    typed = request.POST.get("currency", "").strip().upper()
    return ProfileForm(
        request.POST or None,
        initial={**values_of(terms), "seen": terms.version},
        currency=typed if is_currency(typed) else terms.currency,
        practices=[(one.code, one.label) for one in PRACTICES.values()],
        law=law_in_words(terms),
        usual_void=VOID_RULES,
    )


def _change(terms: Profile, form: ProfileForm) -> str:
    if form.cleaned_data["currency"] != terms.currency and _sums_are_booked():
        raise Refused(
            f"Costs, prices or bills are written down in {terms.currency} already, and would be taken for "
            f"{form.cleaned_data['currency']} without being converted. Keep {terms.currency}, or start a shop of its own.",
            field="currency",
        )
    change_profile(form.profile_values(), seen=form.cleaned_data["seen"])
    return reverse("shop:profile")


def _sums_are_booked() -> bool:
    listed = Part.objects.filter(list_price_minor__isnull=False)
    return Job.objects.exists() or Lot.objects.exists() or Invoice.objects.exists() or listed.exists()
