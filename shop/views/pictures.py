"""The shop in pictures, for the owner: on a page, each table as a file, and all of it on paper."""

from datetime import date
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from billing.queries.accounts import end_of, start_of
from billing.queries.months import money_by_month, months_until
from billing.queries.profit import profits
from inventory.queries.fullness import fill_of_cabinets
from jobs.queries.ages import ages_by_stage
from jobs.queries.quoted import quoted_hours
from shop.access import role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.models import Profile, Role
from shop.paper.charts.paper import PicturedSection, PicturesPaper, draw
from shop.paper.wording import show_short_day
from shop.views.drawn import Drawn, ages_drawn, drawers_drawn, hours_drawn, money_drawn, profit_drawn
from shop.web.context import shop_profile
from shop.web.pdf import pdf
from shop.web.saving import file_of, wants_file

USUAL_MONTHS = 12
MONTHS = ((12, "the last 12 months"), (24, "the last 24 months"))


class MonthsForm(forms.Form):
    """How far back; read from the address, so it never stops the page for good."""

    months = forms.TypedChoiceField(label="Show", choices=MONTHS, coerce=int)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.initial["months"] = USUAL_MONTHS

    @property
    def asked(self) -> int:
        return self.cleaned_data["months"] if self.is_bound and self.is_valid() else USUAL_MONTHS


def _form(request: HttpRequest) -> MonthsForm:
    return MonthsForm(request.GET if "months" in request.GET else None)


def _drawn(months: int, on: date, profile: Profile) -> list[Drawn]:
    period = months_until(on, months)
    return [
        money_drawn(money_by_month(period, profile.currency), profile.locale),
        profit_drawn(profits(profile, first=period.first, last=period.last), profile.locale),
        hours_drawn(quoted_hours(start_of(period.first), end_of(period.last))),
        ages_drawn(ages_by_stage(on), on),
        drawers_drawn(fill_of_cabinets(), profile.currency, profile.locale),
    ]


@role_required(Role.OWNER)
def pictures(request: HttpRequest) -> HttpResponse:
    """`?table=money&as=csv` gives the table of one picture as a file."""
    form = _form(request)
    drawn = _drawn(form.asked, today(), shop_profile(request) or Profile())
    if wants_file(request):
        found = next((one for one in drawn if one.key == request.GET.get("table")), None)
        if found is None:
            raise Http404("There is no such table.")
        return file_of(request, found.sheet)
    status = 422 if form.errors else 200
    return render(request, "shop/pictures.html", {"form": form, "drawn": drawn, "months": form.asked}, status=status)


@role_required(Role.OWNER)
def pictures_pdf(request: HttpRequest) -> HttpResponse:
    on, profile, months = today(), shop_profile(request) or Profile(), _form(request).asked
    sections = tuple(PicturedSection(one.heading, one.words, one.charts) for one in _drawn(months, on, profile))
    day = show_short_day(on, profile.locale)
    data = PicturesPaper(letterhead(profile), "The shop in pictures", day, f"The last {months} months, as of {day}.", sections)
    return pdf(draw(data), f"pictures-{on.isoformat()}.pdf", back=reverse("shop:pictures"))
