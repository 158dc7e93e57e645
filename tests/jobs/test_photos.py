"""Photos of a job: evidence that only staff sees, and that nobody removes."""

import io
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from jobs.models import Job, Moment, Photo, Stage
from jobs.services.intake import SetFacts, model_named
from jobs.services.photos import add_photo
from shop.clock import now
from shop.pictures import read_picture
from tests.builders import a_fit, a_job, a_staff, position_of
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


def test_a_photo_shows_the_found_state_until_the_first_part_goes_in(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture()])
    assert Photo.objects.get().moment == Moment.FOUND
    changed = a_job(Stage.REPAIRING)
    a_fit(changed)
    send(colleague_client, changed, photos=[a_picture()])
    assert changed.photos.get().moment == Moment.WORK  # type: ignore[attr-defined]
    ready = a_job(Stage.READY)
    send(colleague_client, ready, photos=[a_picture()])
    assert ready.photos.get().moment == Moment.DONE  # type: ignore[attr-defined]


def test_the_grid_goes_by_moment_then_by_position(colleague_client: Client, job: Job) -> None:
    for caption, designator, moment in (("work", "C1", "work"), ("r1", "R1", ""), ("c1", "C1", "found"), ("front", "", "found")):
        place = str(position_of(job, designator).pk) if designator else ""
        send(colleague_client, job, photos=[a_picture()], caption=caption, position=place, moment=moment)
    album = colleague_client.get(reverse("jobs:photos", args=[job.pk])).context["album"]
    assert [(group.heading, [one.photo.caption for one in group.photos]) for group in album.groups] == [
        ("As it was found", ["front", "c1", "r1"]),
        ("During the work", ["work"]),
    ]
    assert [(place.label, place.count) for place in album.places] == [("the set as a whole", 1), ("C1", 2), ("R1", 1)]


def test_the_grid_is_narrowed_to_a_position_and_the_form_starts_there(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "C1")
    send(colleague_client, job, photos=[a_picture()], position=str(place.pk))
    send(colleague_client, job, photos=[a_picture()], caption="the whole front")
    page = colleague_client.get(reverse("jobs:photos", args=[job.pk]), {"position": place.pk})
    assert "Photos of C1" in page.content.decode()
    assert "the whole front" not in page.content.decode()
    assert sent_form(page, "position")["position"] == str(place.pk)
    for odd in ("x", "9" * 40, "-1", "set\x00"):
        assert colleague_client.get(reverse("jobs:photos", args=[job.pk]), {"position": odd}).status_code == 200


def test_every_grid_shows_small_pictures_with_words(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "C1")
    send(colleague_client, job, photos=[a_picture(size=(1600, 1200))], caption="can with a bulge", position=str(place.pk))
    photo = Photo.objects.get()
    small, middle, whole = (reverse(f"jobs:photo{size}", args=[photo.pk]) for size in ("_small", "_middle", ""))
    page = colleague_client.get(reverse("jobs:photos", args=[job.pk])).content.decode()
    assert f'<img src="{small}" width="1600" height="1200" loading="lazy"' in page
    assert 'alt="can with a bulge, C1"' in page
    assert f'src="{whole}"' not in page
    sizes = [Image.open(io.BytesIO(colleague_client.get(address).content)).size for address in (small, middle, whole)]
    assert sizes == [(480, 360), (1280, 960), (1600, 1200)]


def test_a_picture_is_sent_as_what_it_is_and_stays_with_this_browser(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture()])
    address = reverse("jobs:photo_small", args=[Photo.objects.get().pk])
    for answer in (colleague_client.get(address), colleague_client.head(address)):
        assert answer.status_code == 200
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["Cache-Control"] == "private, max-age=31536000, immutable"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert colleague_client.head(address).content == b""
    assert colleague_client.post(address).status_code == 405


def test_an_older_photo_gets_its_small_picture_when_it_is_asked_for(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture(size=(1600, 1200))])
    photo = Photo.objects.get()
    kept = Path(photo.image.path)
    small = kept.with_name(f"{kept.stem}-480.jpg")
    small.unlink()
    assert colleague_client.get(reverse("jobs:photo_small", args=[photo.pk])).status_code == 200
    assert Image.open(small).size == (480, 360)
    assert not list(kept.parent.glob("*.part"))


def test_a_spoilt_or_missing_file_is_told_in_words(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, photos=[a_picture()], caption="serial plate")
    photo = Photo.objects.get()
    Path(photo.image.path).write_bytes(b"no picture")
    for side in (480, 1280):
        kept = Path(photo.image.path)
        kept.with_name(f"{kept.stem}-{side}.jpg").unlink()
    answer = colleague_client.get(reverse("jobs:photo_small", args=[photo.pk]))
    assert answer.status_code == 404
    assert "The picture is missing" in answer.content.decode()
    photo.image.storage.delete(str(photo.image.name))
    grid = colleague_client.get(reverse("jobs:photos", args=[job.pk])).content.decode()
    assert "file missing" in grid
    assert "serial plate, the set as a whole" in grid


def test_as_many_queries_for_forty_photos_as_for_one(colleague_client: Client, job: Job, django_assert_num_queries: Any) -> None:
    address = reverse("jobs:photos", args=[job.pk])
    picture = read_picture(a_picture(), "front.png", 10**7)
    add_photo(job, picture, person=a_staff(), at=now(), position=position_of(job, "C1"))
    colleague_client.get(address)
    with CaptureQueriesContext(connection) as few:
        colleague_client.get(address)
    for number in range(40):
        place = position_of(job, ("C1", "C2", "R1")[number % 3])
        add_photo(job, picture, person=a_staff(), at=now(), position=place)
    with django_assert_num_queries(len(few)):
        colleague_client.get(address)


class TestOneByOne:
    """What the script sends: one photo with its own token."""

    def one(self, client: Client, job: Job, **changes: Any) -> Any:
        return client.post(reverse("jobs:photo_send", args=[job.pk]), {"once": str(uuid.uuid4()), "caption": "front", **changes})

    def test_a_photo_is_kept_and_the_answer_says_so(self, colleague_client: Client, job: Job) -> None:
        answer = self.one(colleague_client, job, photos=[a_picture()], moment="work")
        assert (answer.status_code, answer.json()) == (201, {"kept": True})
        assert [(one.caption, one.moment) for one in Photo.objects.all()] == [("front", "work")]

    def test_one_that_arrived_unheard_is_kept_once(self, colleague_client: Client, job: Job) -> None:
        token = str(uuid.uuid4())
        for _ in range(3):
            assert self.one(colleague_client, job, once=token, photos=[a_picture()]).json() == {"kept": True}
        assert Photo.objects.count() == 1

    def test_a_refused_one_is_named_and_the_others_stay(self, colleague_client: Client, job: Job) -> None:
        self.one(colleague_client, job, photos=[a_picture()])
        answer = self.one(colleague_client, job, photos=[no_picture("sheet.jpg")])
        assert answer.status_code == 422
        assert answer.json() == {"refused": ["“sheet.jpg” is no picture we can read. JPEG, PNG and WebP are taken."]}
        assert Photo.objects.count() == 1

    def test_one_without_its_token_is_refused(self, colleague_client: Client, job: Job) -> None:
        answer = self.one(colleague_client, job, once="", photos=[a_picture()])
        assert answer.json() == {"refused": ["This form was incomplete when it arrived. Check it and send it again."]}
        assert not Photo.objects.exists()

    def test_a_stranger_keeps_nothing(self, stranger_client: Client, job: Job) -> None:
        answer = self.one(stranger_client, job, photos=[a_picture()])
        assert answer.headers["Location"].startswith(reverse("login"))
        assert not Photo.objects.exists()


def test_a_closed_job_takes_no_more_photos(colleague_client: Client) -> None:
    closed = a_job(Stage.HANDED_OVER)
    answer = send(colleague_client, closed, photos=[a_picture()])
    assert answer.context["form"].non_field_errors() == [
        f"Job {closed.number} is closed (handed over), so nothing is added to it any more."
    ]
    assert not closed.photos.exists()  # type: ignore[attr-defined]
    page = colleague_client.get(reverse("jobs:photos", args=[closed.pk])).content.decode()
    assert "No photo was taken of this set." in page
    assert "Keep these photos" not in page


def test_whoever_takes_the_chassis_out_is_cautioned(colleague_client: Client) -> None:
    live = a_job(model=model_named(SetFacts("Marlowe", "Six", "transformerless")))
    page = colleague_client.get(reverse("jobs:photos", args=[live.pk])).content.decode()
    assert "Caution: The chassis may be live" in page
    assert "Capacitors stay charged" in page
    assert "Local codes and licensed practice come first." in page
