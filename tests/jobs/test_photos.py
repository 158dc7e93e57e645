"""Photos of a job: evidence that only staff sees, and that nobody removes."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from jobs.models import Job, Photo
from tests.builders import a_job, position_of
from tests.jobs.pictures import a_picture, no_picture
from tests.jobs.sent import sent_form

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(db: None) -> Job:
    return a_job()


def send(client: Client, job: Job, **changes: Any) -> Any:
    return client.post(
        reverse("jobs:photos", args=[job.pk]), {"once": str(uuid.uuid4()), "caption": "underside as found", **changes}
    )


def test_an_empty_grid_says_what_to_photograph(colleague_client: Client, job: Job) -> None:
    assert "No photos yet" in colleague_client.get(reverse("jobs:photos", args=[job.pk])).content.decode()


def test_several_photos_are_kept_at_once(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "C2")
    answer = send(colleague_client, job, photos=[a_picture("1.png"), a_picture("2.png")], position=str(place.pk))
    assert answer.headers["Location"] == reverse("jobs:photos", args=[job.pk]) + f"?position={place.pk}"
    kept = list(job.photos.all())  # type: ignore[attr-defined]
    assert [(one.caption, one.position, one.width, one.height) for one in kept] == [("underside as found", place, 40, 30)] * 2
    page = colleague_client.get(reverse("jobs:photos", args=[job.pk])).content.decode()
    assert reverse("jobs:photo", args=[kept[0].pk]) in page
    assert "underside as found" in page


def test_a_picture_is_served_to_staff_and_to_nobody_else(colleague_client: Client, stranger_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture()])
    photo = Photo.objects.get()
    address = reverse("jobs:photo", args=[photo.pk])
    answer = colleague_client.get(address)
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["Cache-Control"].startswith("private")
    assert answer.content.startswith(b"\xff\xd8\xff")
    assert stranger_client.get(address).headers["Location"].startswith(reverse("login"))
    assert colleague_client.get(f"/{photo.image.name}").status_code == 404


def test_a_picture_whose_file_is_gone_is_not_found(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture()])
    photo = Photo.objects.get()
    photo.image.storage.delete(str(photo.image.name))
    assert colleague_client.get(reverse("jobs:photo", args=[photo.pk])).status_code == 404


def test_one_file_that_is_no_picture_keeps_none(colleague_client: Client, job: Job) -> None:
    answer = send(colleague_client, job, photos=[a_picture(), no_picture("sheet.jpg")])
    assert answer.status_code == 422
    assert answer.context["form"].errors["photos"] == ["“sheet.jpg” is no picture we can read. JPEG, PNG and WebP are taken."]
    assert sent_form(answer, "caption")["caption"] == "underside as found"
    assert "Choose the photos again before sending." in answer.content.decode()
    assert not Photo.objects.exists()


def test_a_picture_larger_than_the_shop_takes_is_refused(colleague_client: Client, job: Job, settings: Any) -> None:
    settings.PHOTO_MAX_BYTES = 1_000_000
    answer = send(colleague_client, job, photos=[a_picture("big.png", padding=1_000_000)])
    assert answer.context["form"].errors["photos"] == ["“big.png” is larger than 1 MB. Take it at a smaller size."]


def test_no_file_at_all_is_asked_for(colleague_client: Client, job: Job) -> None:
    assert send(colleague_client, job).context["form"].errors["photos"] == ["Choose at least one photo."]


def test_a_position_of_another_job_is_no_choice(colleague_client: Client, job: Job) -> None:
    other = position_of(a_job())
    answer = send(colleague_client, job, photos=[a_picture()], position=str(other.pk))
    assert answer.status_code == 422
    assert not Photo.objects.exists()


def test_the_same_photos_sent_twice_are_kept_once(colleague_client: Client, job: Job) -> None:
    token = str(uuid.uuid4())
    for _ in range(2):
        assert send(colleague_client, job, once=token, photos=[a_picture()]).status_code == 302
    assert Photo.objects.count() == 1


def test_what_a_camera_noted_is_not_kept(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture()])
    with Image.open(Photo.objects.get().image) as image:
        assert dict(image.getexif()) == {}
        assert image.format == "JPEG"
