"""Photos of a job: the grid, adding many or one at a time, each picture's bytes. They are evidence, so none is removed."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from jobs.forms.photos import PhotoConsentForm, PhotosForm
from jobs.models import Job, Photo
from jobs.queries.album import album_of
from jobs.queries.photos import lock_of, moments_open, photographing_cautions
from jobs.services.photos import add_photo, change_photo_consent
from jobs.views.job_frame import load_job
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.pictures import Picture, read_picture
from shop.web.pages import answer_once
from shop.web.picture import picture_answer


@role_required(*EVERYBODY)
def photos(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    wanted = request.GET.get("position", "")
    form = _form(request, job, wanted)
    if request.method == "POST":
        done = _keep(request, job, form)
        if done is not None:
            return answer_once(request, *done, said="The photos are kept with the job.")
    locked = lock_of(job)
    context = {
        "job": job,
        "form": form,
        "album": album_of(job, wanted),
        "locked": locked,
        "may_lock": job.is_open and locked is None and "found" in form.opened,
        "cautions": photographing_cautions(job),
    }
    return render(request, "jobs/job_photos.html", context, status=form.status)


@require_POST
@role_required(*EVERYBODY)
def photo_send(request: HttpRequest, pk: int) -> JsonResponse:
    """One photo from the script that sends them one by one: kept, or refused in words that name it."""
    job = load_job(pk)
    form = _form(request, job)
    if _keep(request, job, form) is None:
        return JsonResponse({"refused": form.refusals}, status=422)
    return JsonResponse({"kept": True}, status=201)


def _form(request: HttpRequest, job: Job, wanted: str = "") -> PhotosForm:
    posted = request.POST if request.method == "POST" else None
    files = request.FILES if request.method == "POST" else None
    opened = moments_open(job)
    return PhotosForm(posted, files, job=job, opened=opened, initial={"position": wanted, "moment": opened[0]})


def _keep(request: HttpRequest, job: Job, form: PhotosForm) -> tuple[str, bool] | None:
    """All pictures are read before the first is kept, so that one bad file keeps none, and before anything is locked."""
    if not form.is_valid():
        return None
    try:
        pictures = [read_picture(photo, str(photo.name), settings.PHOTO_MAX_BYTES) for photo in form.cleaned_data["photos"]]
        return acts.once(form.cleaned_data["once"], "add photos", lambda: _add(request, job, form, pictures))
    except Refused as refused:
        form.take_refusal(refused)
        return None


def _add(request: HttpRequest, job: Job, form: PhotosForm, pictures: list[Picture]) -> str:
    typed, person, at = form.cleaned_data, staff_of(request), now()
    names = ("caption", "position", "moment")
    facts = {**{name: typed[name] for name in names}, "proves": typed.get("proves", False)}
    for picture in pictures:
        add_photo(job, picture, person=person, at=at, **facts)
    place = f"?position={typed['position'].pk}" if typed["position"] else ""
    return reverse("jobs:photos", args=[job.pk]) + place


@role_required(*EVERYBODY)
def photo_consent(request: HttpRequest, pk: int) -> HttpResponse:
    """What the customer agrees to about photos; of closed jobs too, as it is taken back as easily as given."""
    job = load_job(pk)
    form = PhotoConsentForm(request.POST if request.method == "POST" else None, job=job)
    context: dict[str, object] = {"job": job, "form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "photo consent", lambda: _consent(job, form))
        except Refused as refused:
            form.take_refusal(refused)
            job.refresh_from_db()
            form.see(job.version)
            context["stands"] = job.get_photo_consent_display()
        else:
            return answer_once(request, *done, said="Written down. It holds from now on.")
    return render(request, "jobs/photo_consent.html", context, status=form.status)


def _consent(job: Job, form: PhotoConsentForm) -> str:
    change_photo_consent(job, form.cleaned_data["photo_consent"], seen=form.cleaned_data["seen"])
    return reverse("jobs:photos", args=[job.pk])


@require_safe
@role_required(*EVERYBODY)
def photo(request: HttpRequest, pk: int, size: str = "") -> HttpResponse:
    """The picture itself, or a smaller one, for staff only."""
    return picture_answer(request, get_object_or_404(Photo, pk=pk).image, size)
