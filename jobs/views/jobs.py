"""The list of jobs, and the page of one."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.filters import OPEN, JobFilter
from jobs.forms.benches import BenchForm, WaitForm
from jobs.forms.entries import JobNoteForm
from jobs.models import Job, Stage
from jobs.queries.cancelling import cancelling_caution
from jobs.queries.jobs import acts_done, cautions_of, permissions, with_lateness
from jobs.queries.own_parts import unused_own_parts
from jobs.queries.sheet import sheet_of
from jobs.services.stages import next_acts, undoable
from jobs.tables import JobTable
from jobs.views.job_frame import frame, links, load_job
from shop.access import EVERYBODY, role_required
from shop.clock import now, today
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.saving import file_of, table_sheet, wants_file

PAGES = (
    ("Labour", "jobs:labour"),
    ("Service sheet", "jobs:job_service_sheet"),
    ("Power supply", "jobs:supply"),
    ("Output stage", "jobs:output_stage"),
    ("Second look", "jobs:second_look"),
    ("Electrical safety", "jobs:safety"),
    ("Soak", "jobs:soak"),
    ("Photos", "jobs:photos"),
    ("Brought by the customer", "jobs:own_parts"),
    ("What sets like it came to", "jobs:outlook"),
    ("Estimate", "jobs:estimate"),
    ("Money", "billing:job_money"),
    ("Warranty", "jobs:warranty"),
    ("Back under warranty", "jobs:claim"),
)
PAPERS = (
    ("Claim check", "jobs:claim_check"),
    ("Tag", "jobs:tag"),
    ("Safety sheet", "jobs:job_safety_sheet"),
    ("Job summary", "billing:summary_pdf"),
)
# Where the next act of a stage is made on a page of its own.
ACT_PAGES: dict[str, tuple[tuple[str, str], ...]] = {
    Stage.TAKEN_IN: (("Make the estimate", "jobs:estimate"),),
    Stage.INSPECTING: (("Make the estimate", "jobs:estimate"),),
    Stage.AWAITING_CONSENT: (("Record the customer's answer", "jobs:estimate"),),
    Stage.PROVING: (("Second look", "jobs:second_look"), ("Electrical safety check", "jobs:safety")),
    Stage.SOAKING: (("End the soak", "jobs:soak"),),
    Stage.READY: (
        ("Invoice and payment", "billing:job_money"),
        ("Hand the set over", "billing:hand_over"),
        ("Nobody collects it", "billing:collecting"),
    ),
    Stage.SOLD: (("The sale, and what it left", "billing:collecting"),),
    Stage.DECLINED: (("Fees, and putting it back", "jobs:declined"), ("Give the set back", "billing:hand_over")),
}


@role_required(*EVERYBODY)
@as_left("jobs:list", {"q": "", "show": OPEN, "stage": "", "waits_for": "", "bench": ""}, JobFilter)
def job_list(request: HttpRequest) -> HttpResponse:
    jobs = with_lateness(Job.objects.with_heads(), today())
    found = JobFilter(request.GET, queryset=jobs)
    table = JobTable(found.qs)
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("jobs", table))
    any_job = bool(table.page.object_list) or Job.objects.exists()
    return render(request, "jobs/job_list.html", {"found": found, "table": table, "any_job": any_job})


@role_required(*EVERYBODY)
def job(request: HttpRequest, pk: int) -> HttpResponse:
    return show_job(request, load_job(pk))


def show_job(
    request: HttpRequest, one: Job, *, wait_form: WaitForm | None = None, note_form: JobNoteForm | None = None, status: int = 200
) -> HttpResponse:
    """The job's page; a refused form is shown in its place with everything typed."""
    sheet = sheet_of(one)
    waiting = {"waits_for": one.waits_for, "note": one.waits_note, "seen": one.version}
    context = frame(request, one, sheet) | {
        "next_acts": next_acts(one),
        "act_pages": links(request, ACT_PAGES.get(one.stage, ()), one.pk),
        "undo": undoable(one),
        "history": acts_done(one),
        "permissions": permissions(one),
        "came_with": one.came_with.all(),
        "cautions": cautions_of(one, sheet),
        "own_parts_left": unused_own_parts(one),
        "cancelling": cancelling_caution(one, now()),
        "pages": links(request, PAGES, one.pk),
        "papers": links(request, PAPERS, one.pk),
        "bench_form": BenchForm(initial={"bench": one.bench_id, "seen": one.bench_id or 0}, auto_id="bench_%s"),
        "wait_form": wait_form or WaitForm(initial=waiting, auto_id="wait_%s"),
        "note_form": note_form or JobNoteForm(auto_id="note_%s"),
    }
    return render(request, "jobs/job.html", context, status=status)
