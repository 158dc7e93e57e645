"""The first page of the day: what is promised, what waits, what is ready, what runs out; each line leads to its act."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.views.day import Section, Subject, sections, subjects_of
from shop.views.day_lines import Desk
from shop.views.day_lists import counts
from shop.views.day_ways import Ways
from shop.web.context import shop_profile
from shop.web.pages import page_of


@role_required(*EVERYBODY)
def today(request: HttpRequest) -> HttpResponse:
    person = staff_of(request)
    desk = Desk(person, now(), shop_profile(request), Ways(person))
    whole = next((one for one in subjects_of(desk) if one.key == request.GET.get("list")), None)
    if whole is not None:
        return _whole(request, whole, desk)
    listed, quiet = sections(desk)
    context = {"today": desk.today, "counts": counts(desk.today), "sections": listed, "quiet": quiet}
    return render(request, "shop/today.html", context)


def _whole(request: HttpRequest, subject: Subject, desk: Desk) -> HttpResponse:
    """One list of the day from its beginning to its end, a page at a time."""
    page = page_of(request, subject.rows(desk))
    section = Section(subject, subject.lines(list(page.object_list), desk), False)
    return render(request, "shop/today_list.html", {"subject": subject, "page": page, "section": section})
