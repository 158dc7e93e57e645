"""A job seen on its model's service sheet: each position marked as the log leaves it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from jobs.documents.service_sheet import draw
from jobs.queries.service_sheet_paper import state_on_sheet
from jobs.queries.service_sheets import job_sheet
from jobs.queries.sheet import sheet_of
from jobs.views.job_frame import frame, load_job
from jobs.views.sheet_pictures import kept_bytes
from jobs.views.sheet_places import WIDTHS, width_asked
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.web.pages import refuse
from shop.web.pdf import pdf

NO_SHEET = "No page of a service sheet is kept with this model yet, so there is nothing to print. Send one in first."


def _number(request: HttpRequest) -> int | None:
    asked = request.GET.get("page", "")
    return int(asked) if asked.isdecimal() and len(asked) < 4 else None


@role_required(*EVERYBODY)
def job_service_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    sheet = sheet_of(job)
    wide = width_asked(request)
    context = frame(request, job, sheet) | {"on_sheet": job_sheet(sheet, _number(request)), "widths": WIDTHS, "wide": wide}
    return render(request, "jobs/job_service_sheet.html", context)


@role_required(*EVERYBODY)
def job_service_sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The same on paper."""
    job = load_job(pk)
    shown = job_sheet(sheet_of(job), _number(request))
    if shown.page is None:
        return refuse(request, NO_SHEET, back=reverse("jobs:job_service_sheet", args=[pk]))
    paper = state_on_sheet(job, shown, kept_bytes(shown.page), today())
    name = f"{job.number} service sheet {shown.number}.pdf"
    return pdf(draw(paper), name, back=reverse("jobs:job_service_sheet", args=[pk]))
