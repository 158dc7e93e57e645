"""A year's end as it stood then: as a page with what to do first, as a file, and on paper. For the owner."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from billing import exports, papers
from billing.documents import year_end as document
from billing.forms.year_end import YearEndForm
from billing.queries.year_end import OWED, THERE, TOLD, YearEnd, checklist, sections_of, side_total, year_end
from shop.access import role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.models import Profile, Role
from shop.web.context import shop_profile
from shop.web.pdf import pdf
from shop.web.saving import file_of, wants_file

SIDES = ((THERE, "What was there"), (OWED, "What was owed"), (TOLD, "Told beside it"))


def _asked(request: HttpRequest) -> tuple[YearEndForm, YearEnd]:
    terms = shop_profile(request) or Profile()
    asked = {name: request.GET[name] for name in ("day", "hour_cost") if request.GET.get(name)}
    form = YearEndForm(asked or None, today=today(), currency=terms.currency)
    return form, year_end(form.asked_day, terms, form.asked_hour_cost)


def _query(form: YearEndForm, end: YearEnd) -> str:
    asked = {"day": end.day.isoformat()}
    if form.asked_hour_cost is not None:
        asked["hour_cost"] = form["hour_cost"].value()
    return urlencode(asked)


@role_required(Role.OWNER)
def year_end_page(request: HttpRequest) -> HttpResponse:
    """Nothing asked is the last year's end. `?as=csv` or `xlsx` gives the same as a table."""
    form, end = _asked(request)
    if wants_file(request):
        return file_of(request, exports.year_end_sheet(end))
    sections = sections_of(end)
    context = {
        "form": form,
        "end": end,
        "sides": [(title, [one for one in sections if one.side == side], side) for side, title in SIDES],
        "there": side_total(sections, THERE),
        "owed": side_total(sections, OWED),
        "todo": checklist(end),
        "is_empty": not any(one.rows for one in sections),
        "query": _query(form, end),
        "today": today(),
        "last_year_end": form.asked_day.replace(year=today().year - 1, month=12, day=31),
    }
    return render(request, "billing/year_end.html", context, status=422 if form.errors else 200)


@role_required(Role.OWNER)
def year_end_pdf(request: HttpRequest) -> HttpResponse:
    form, end = _asked(request)
    paper, back = papers.year_end_paper(end, letterhead()), f"{reverse('billing:year_end')}?{_query(form, end)}"
    return pdf(document.draw(paper), f"years-end-{end.day.isoformat()}.pdf", back=back)
