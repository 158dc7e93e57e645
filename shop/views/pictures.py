"""The shop in pictures, for the owner: on a page, each table as a file, and all of it on paper."""

from dataclasses import replace
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.timezone import localtime

from inventory.queries.fullness import fill_of_cabinets
from shop.access import role_required
from shop.letterhead_of import letterhead
from shop.models import Profile, Role
from shop.paper.charts.paper import PicturedSection, PicturesPaper, draw
from shop.paper.wording import show_moment, show_short_day
from shop.views.drawn import drawn_of
from shop.views.pictured import PICTURES, USUAL_MONTHS, asked, pictured_as_counted
from shop.web.context import shop_profile
from shop.web.pages import go
from shop.web.pdf import pdf
from shop.web.saving import file_of, wants_file
from shop.web.tallied import Tallied, count_now, tallied

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
    """`?table=money&as=csv` gives the table of one picture as a file."""
    form, profile = _form(request), shop_profile(request) or Profile()
    question = asked(form.asked)
    if request.method == "POST":
        return count_now(request, PICTURES, question)
    found = tallied(request, PICTURES, question)
    if wants_file(request):
        return _file(request, found, form.asked, profile)
    drawn = drawn_of(pictured_as_counted(found.figures), profile.locale) if found.is_counted else []
    context = {"form": form, "tallied": found, "drawn": drawn, "months": form.asked}
    return render(request, "shop/pictures.html", context, status=422 if form.errors else 200)


def _file(request: HttpRequest, found: Tallied, months: int, profile: Profile) -> HttpResponse:
    """The figures that the page shows. What lies in each drawer isn't kept, and is read anew."""
    if not found.is_counted:
        return _not_counted(request, months)
    shown = replace(pictured_as_counted(found.figures), cabinets=fill_of_cabinets())
    table = next((one for one in drawn_of(shown, profile.locale) if one.key == request.GET.get("table")), None)
    if table is None:
        raise Http404("There is no such table.")
    return file_of(request, table.sheet)


def _not_counted(request: HttpRequest, months: int) -> HttpResponse:
    messages.error(request, "These months haven’t been counted yet. Count them here; then the paper and the files can be had.")
    return go(request, reverse("shop:pictures", query={"months": months}))


@role_required(Role.OWNER)
def pictures_pdf(request: HttpRequest) -> HttpResponse:
    profile, months = shop_profile(request) or Profile(), _form(request).asked
    found = tallied(request, PICTURES, asked(months))
    if not found.is_counted:
        return _not_counted(request, months)
    shown = pictured_as_counted(found.figures)
    drawn = drawn_of(shown, profile.locale)
    sections = tuple(PicturedSection(one.heading, one.words, one.charts) for one in drawn)
    day = show_short_day(shown.on, profile.locale)
    counted = f"; counted {show_moment(localtime(found.at), profile.locale)}" if found.at else ""
    until = f"The last {months} months, as of {day}{counted}."
    data = PicturesPaper(letterhead(profile), "The shop in pictures", day, until, sections)
    return pdf(draw(data), f"pictures-{shown.on.isoformat()}.pdf", back=reverse("shop:pictures"))
