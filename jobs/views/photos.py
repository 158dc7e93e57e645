"""Photos of a job: the grid, adding, and each picture's bytes. They are evidence, so none is removed."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.forms.photos import PhotosForm
from jobs.models import Job, Photo
from jobs.services.intake import add_photo
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.pictures import read_picture
from shop.web.pages import answer_once


@role_required(*EVERYBODY)
def photos(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.with_heads(), pk=pk)
    form = PhotosForm(request.POST or None, request.FILES or None, job=job, initial={"position": request.GET.get("position")})
    if request.method == "POST" and form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "add photos", lambda: _add(request, job, form))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The photos are kept with the job.")
    shown = job.photos.select_related("position", "person")  # type: ignore[attr-defined]
    return render(request, "jobs/job_photos.html", {"job": job, "form": form, "photos": shown}, status=form.status)


def _add(request: HttpRequest, job: Job, form: PhotosForm) -> str:
    """All pictures are read before the first is kept, so that one bad file keeps none."""
    data, person, at = form.cleaned_data, staff_of(request), now()
    pictures = [read_picture(photo, str(photo.name), settings.PHOTO_MAX_BYTES) for photo in data["photos"]]
    for picture in pictures:
        add_photo(job, picture, person=person, at=at, caption=data["caption"], position=data["position"])
    return reverse("jobs:photos", args=[job.pk])


@role_required(*EVERYBODY)
def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """The picture itself, for staff only; the folder of pictures has no address of its own."""
    kept = get_object_or_404(Photo, pk=pk)
    try:
        with kept.image.open("rb") as file:
            content = file.read()
    except FileNotFoundError as error:
        raise Http404("The picture's file is missing from the shop's folder.") from error
    return HttpResponse(content, content_type="image/jpeg", headers={"Cache-Control": "private, max-age=86400, immutable"})
