"""Papers by the dozen, each as long work: of a period, of all open jobs, of a whole cabinet, of everybody who owes."""

from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from billing.queries.periods import Period, read_period
from inventory.documents.labels import SHEETS
from inventory.models import Drawer
from shop import long_work
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now, today
from shop.long_work import Asked
from shop.models import Role
from shop.web.fields import DayField
from shop.web.pages import next_address
from shop.web.press import press
from shop.web.work_line import remember

STARTED = "It is begun. This page says how far it got; you may go on working meanwhile."
NO_PERIOD = "Choose a period, or two days, on the page of the books; then ask for its papers again."
NO_CABINET = "There is no such cabinet any more. Choose one from the list, then ask for its labels again."
NO_SHEET = "Choose the sheet of labels from the list, then ask for the labels again."
MOST_USED_UP = 200


def _start(request: HttpRequest, asked: Asked) -> HttpResponse:
    def work() -> None:
        back = next_address(request)
        remember(request, long_work.begin(asked, person=staff_of(request), at=now(), back=back))

    return press(request, f"begin {asked.kind}", work, reverse("shop:works"), STARTED)


def _refused(request: HttpRequest, why: str, back: str) -> HttpResponse:
    def work() -> None:
        raise Refused(why)

    return press(request, "begin long work", work, reverse(back), "")


def _root(request: HttpRequest) -> str:
    return request.build_absolute_uri("/").rstrip("/")


@role_required(Role.OWNER)
@require_POST
def work_papers(request: HttpRequest) -> HttpResponse:
    """Every invoice and credit note issued in a period, `period=2026-Q1` or `first` and `last`."""
    period = _period(request)
    if period is None:
        return _refused(request, NO_PERIOD, "billing:books")
    what = {"first": period.first.isoformat(), "last": period.last.isoformat(), "name": period.file_part}
    return _start(request, Asked("papers_of_period", f"Papers of {period.words}", what))


def _period(request: HttpRequest) -> Period | None:
    if code := request.POST.get("period", ""):
        return read_period(code)
    try:
        first, last = (DayField().clean(request.POST.get(name, "")) for name in ("first", "last"))
    except ValidationError:
        return None
    return Period(first, last) if first <= last else None


@role_required(Role.COUNTER)
@require_POST
def work_statements(request: HttpRequest) -> HttpResponse:
    """A statement for everybody who owes on `day`, today where none is named."""
    try:
        day: Any = DayField(required=False).clean(request.POST.get("day", "")) or today()
    except ValidationError:
        day = today()
    return _start(request, Asked("statements", f"Statements as of {day:%d %B %Y}", {"day": day.isoformat()}))


@role_required(*EVERYBODY)
@require_POST
def work_labels(request: HttpRequest) -> HttpResponse:
    cabinet, sheet, used = (request.POST.get(name, "") for name in ("cabinet", "sheet", "used_up"))
    if sheet not in SHEETS:
        return _refused(request, NO_SHEET, "inventory:labels")
    used_up = min(int(used), MOST_USED_UP) if used.isascii() and used.isdecimal() and len(used) < 6 else 0
    if cabinet and not any(cabinet == one for one in Drawer.objects.values_list("cabinet", flat=True).distinct()):
        return _refused(request, NO_CABINET, "inventory:labels")
    what = {"cabinet": cabinet, "sheet": sheet, "used_up": used_up, "root": _root(request)}
    title = f"Labels of cabinet {cabinet}" if cabinet else "Labels of all drawers"
    return _start(request, Asked("drawer_labels", title, what))


@role_required(*EVERYBODY)
@require_POST
def work_tags(request: HttpRequest) -> HttpResponse:
    return _start(request, Asked("tags", "Tags of all open jobs", {"root": _root(request)}))


@role_required(*EVERYBODY)
@require_POST
def work_claim_checks(request: HttpRequest) -> HttpResponse:
    return _start(request, Asked("claim_checks", "Claim checks of all open jobs", {"root": _root(request)}))
