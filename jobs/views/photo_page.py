"""One photo by itself, with what was written: corrected, set aside, brought back; and the found state locked as a whole."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.photos import AsideForm, PhotoChangeForm
from jobs.models import Job, Photo
from jobs.queries.album import neighbours_of
from jobs.queries.photos import fixed_because, fold, found_photos, lock_of, moments_open
from jobs.services.photos import PhotoFacts, bring_back, change_photo, lock_found_state, set_aside
from jobs.views.job_frame import carry_out, load_job, press
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.pictures import is_kept
from shop.web.forms import SeenForm
from shop.web.pages import Confirmation, Undo, answer_once, confirm, go, refuse, tell


def _load(pk: int) -> Photo:
    heads = Photo.objects.select_related("job__radio__model", "job__customer", "position", "person", "set_aside_by")
    return get_object_or_404(heads, pk=pk)


@role_required(*EVERYBODY)
def photo_page(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, _load(pk))


def _show(request: HttpRequest, photo: Photo, sent: SeenForm | None = None) -> HttpResponse:
    """The photo's page; a refused form stands in its place with everything typed."""
    job, wanted = photo.job, request.GET.get("position", "")
    beside = neighbours_of(photo, wanted)
    if not beside.number and wanted:
        beside, wanted = neighbours_of(photo), ""
    because = fixed_because(photo)
    change = sent if isinstance(sent, PhotoChangeForm) else PhotoChangeForm(photo=photo, opened=moments_open(job))
    context = {
        "job": job,
        "photo": photo,
        "is_here": is_kept(photo.image),
        "beside": beside,
        "query": f"?position={wanted}" if wanted else "",
        "because": because,
        "may_change": job.is_open and not because,
        "change": change,
        "aside": sent if isinstance(sent, AsideForm) else AsideForm(photo=photo),
        "sent": sent,
    }
    return render(request, "jobs/photo_page.html", context, status=sent.status if sent else 200)


@require_POST
@role_required(*EVERYBODY)
def photo_change(request: HttpRequest, pk: int) -> HttpResponse:
    photo = _load(pk)
    form = PhotoChangeForm(request.POST, photo=photo, opened=moments_open(photo.job))
    address = reverse("jobs:photo_page", args=[pk])

    def work() -> str:
        typed = form.cleaned_data
        change_photo(photo, PhotoFacts(typed["caption"], typed["position"], typed["moment"]), seen=typed["seen"])
        return address

    if form.is_valid() and (done := carry_out(form, "change photo", work)):
        return answer_once(request, *done, said="What is written with the photo is corrected.")
    return _show(request, photo, form)


@require_POST
@role_required(*EVERYBODY)
def photo_set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    photo = _load(pk)
    form = AsideForm(request.POST, photo=photo)

    def work() -> str:
        set_aside(photo, form.cleaned_data["why"], person=staff_of(request), at=now(), seen=form.cleaned_data["seen"])
        return reverse("jobs:photos", args=[photo.job_id])

    if form.is_valid() and (done := carry_out(form, "set photo aside", work)):
        undo = Undo(reverse("jobs:photo_bring_back", args=[pk]), "Bring it back")
        return answer_once(request, *done, said="The photo is set aside, with its reason.", undo=undo)
    return _show(request, photo, form)


@require_POST
@role_required(*EVERYBODY)
def photo_bring_back(request: HttpRequest, pk: int) -> HttpResponse:
    photo = _load(pk)
    if press(request, "bring photo back", lambda: bring_back(photo) and ""):
        tell(request, "The photo is back in its place.")
    return go(request, "jobs:photos", photo.job_id)


@role_required(*EVERYBODY)
def found_lock(request: HttpRequest, pk: int) -> HttpResponse:
    """Asked before it is done, since nobody can open it again."""
    job = load_job(pk)
    if request.method == "POST":
        return _lock(request, job)
    shown = list(found_photos(job).select_related("position"))
    if lock_of(job) is not None or not shown or not job.is_open or "found" not in moments_open(job):
        because = "Either it is locked, or no photo shows it, or parts went in already."
        return refuse(request, f"The found state of {job.number} can't be locked now. {because}", back=_photos(job))
    return confirm(request, _asked(job, shown))


def _asked(job: Job, shown: list[Photo]) -> Confirmation:
    places = sorted({photo.position.designator for photo in shown if photo.position})
    return Confirmation(
        title=f"Lock the found state of {job.number}?",
        warning="From then on no photo of it is added, corrected or set aside.",
        act="Lock these photos",
        url=reverse("jobs:found_lock", args=[job.pk]),
        back=_photos(job),
        facts=(
            ("Set", str(job.radio)),
            ("Photos", str(len(shown))),
            ("Without a caption", str(sum(not photo.caption for photo in shown))),
            ("Positions shown", ", ".join(places) or "none, only the set as a whole"),
        ),
        hidden={"seen": fold(photo.digest for photo in shown)},
    )


def _lock(request: HttpRequest, job: Job) -> HttpResponse:
    seen = request.POST.get("seen", "")
    if press(request, "lock found state", lambda: lock_found_state(job, person=staff_of(request), at=now(), seen=seen).digest):
        tell(request, "The found state is locked. Its fingerprint stands above the photos.")
    return go(request, _photos(job))


def _photos(job: Job) -> str:
    return reverse("jobs:photos", args=[job.pk])
