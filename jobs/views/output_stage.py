"""The output stage of a job: what its logged voltages mean, and what another B+ would do. It changes nothing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.forms.output_stage import StageForm
from jobs.queries.output_stage import output_stages
from jobs.queries.sheet import sheet_of
from jobs.views.job_frame import frame, load_job
from shop.access import EVERYBODY, role_required


@role_required(*EVERYBODY)
def output_stage(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    sheet = sheet_of(job)
    form = StageForm(request.GET or None, rows=sheet.rows)
    form.is_valid()
    found = output_stages(sheet.rows, form.asked)
    form.narrow(found)
    context = frame(request, job, sheet) | {
        "form": form,
        "found": found,
        "is_old": any(stage.is_older_than(sheet.last_change_seq) for stage in found.stages),
    }
    return render(request, "jobs/output_stage.html", context, status=form.status)
