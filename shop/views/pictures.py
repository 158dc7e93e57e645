"""The shop in pictures, for the owner: on a page, each table as a file, and all of it on paper."""

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop.access import role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.models import Profile, Role
from shop.paper.charts.paper import PicturedSection, PicturesPaper, draw
from shop.paper.wording import show_short_day
from shop.views.drawn import drawn_of
from shop.views.pictured import PICTURES, USUAL_MONTHS, asked, pictured, pictured_as_counted
from shop.web.context import shop_profile
from shop.web.pdf import pdf
from shop.web.saving import file_of, wants_file
from shop.web.tallied import count_now, tallied

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


@role_required(Role.OWNER)
def pictures(request: HttpRequest) -> HttpResponse:
    """`?table=money&as=csv` gives the table of one picture as a file, read anew."""
    form, profile = _form(request), shop_profile(request) or Profile()
    if wants_file(request):
        return _file(request, form.asked, profile)
    question = asked(form.asked)
    if request.method == "POST":
        return count_now(request, PICTURES, question)
    found = tallied(request, PICTURES, question)
    drawn = drawn_of(pictured_as_counted(found.figures), profile.locale) if found.is_counted else []
    context = {"form": form, "tallied": found, "drawn": drawn, "months": form.asked}
    return render(request, "shop/pictures.html", context, status=422 if form.errors else 200)


def _file(request: HttpRequest, months: int, profile: Profile) -> HttpResponse:
    drawn = drawn_of(pictured(months, today(), profile), profile.locale)
    found = next((one for one in drawn if one.key == request.GET.get("table")), None)
    if found is None:
        raise Http404("There is no such table.")
    return file_of(request, found.sheet)


@role_required(Role.OWNER)
def pictures_pdf(request: HttpRequest) -> HttpResponse:
    on, profile, months = today(), shop_profile(request) or Profile(), _form(request).asked
    sections = tuple(
        PicturedSection(one.heading, one.words, one.charts) for one in drawn_of(pictured(months, on, profile), profile.locale)
    )
    day = show_short_day(on, profile.locale)
    data = PicturesPaper(letterhead(profile), "The shop in pictures", day, f"The last {months} months, as of {day}.", sections)
    return pdf(draw(data), f"pictures-{on.isoformat()}.pdf", back=reverse("shop:pictures"))
