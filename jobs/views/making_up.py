"""A position's value made up from two parts of the drawers, and fitting both at once."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from jobs.forms.making_up import PairForm
from jobs.models import Position
from jobs.queries.making_up import ways_for
from jobs.queries.sheet import sheet_of
from jobs.services import log
from jobs.services.log import FITTING_STAGES, Author
from jobs.views.job_frame import carry_out, frame, load_job
from jobs.views.position import load_position, offered, photos_seen
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.models import Role
from shop.web.pages import answer_once, go


@role_required(*EVERYBODY)
def make_up(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, load_position(pk))


@role_required(Role.BENCH)
def fit_pair(request: HttpRequest, pk: int) -> HttpResponse:
    """Fit both parts of a pair. Refused, the page comes back with the drawers as they are now."""
    place = load_position(pk)
    if request.method != "POST":
        return go(request, "jobs:make_up", pk)
    form = PairForm(request.POST)

    def work() -> str:
        pair = [log.Fit(*offered(offer), note=form.cleaned_data["note"]) for offer in form.offers]
        log.fit_pair(place, form.how, pair, Author(staff_of(request), now(), form.cleaned_data["seen"]))
        return reverse("jobs:position", args=[pk])

    done = carry_out(form, "fit pair", work) if form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said=f"{place.designator}: both parts are fitted.")
    return _show(request, place, form)


def _show(request: HttpRequest, place: Position, sent: PairForm | None = None) -> HttpResponse:
    job = load_job(place.job_id)
    sheet = sheet_of(job)
    state = next((row for row in sheet.rows if row.position.pk == place.pk), None)
    if state is None:
        raise Http404
    form = sent or PairForm(initial={"seen": state.last_seq})
    if sent is not None:
        sent.see(state.last_seq)
    context = frame(request, job, sheet) | {
        "row": state,
        "ways": ways_for(state, job),
        "form": form,
        "may_fit": job.stage in FITTING_STAGES,
        **photos_seen(state, sheet),
    }
    return render(request, "jobs/make_up.html", context, status=sent.status if sent else 200)
