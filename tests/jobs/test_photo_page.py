"""One photo by itself: what is written with it, the ones before and after, putting right, setting aside."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, Photo
from jobs.services.photos import add_photo
from shop.clock import now
from shop.pictures import read_picture
from tests.builders import a_job, a_staff, position_of
from tests.jobs.pictures import a_picture
from tests.jobs.sent import sent_form

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(db: None) -> Job:
    return a_job()


def a_photo(job: Job, caption: str, designator: str = "", **facts: Any) -> Photo:
    place = position_of(job, designator) if designator else None
    picture = read_picture(a_picture(), "front.png", 10**7)
    return add_photo(job, picture, person=a_staff(), at=now(), caption=caption, position=place, **facts)


def page_of(client: Client, photo: Photo, query: str = "") -> Any:
    return client.get(reverse("jobs:photo_page", args=[photo.pk]) + query)


def test_the_page_says_what_is_known_of_the_photo(colleague_client: Client, job: Job) -> None:
    photo = a_photo(job, "can with a bulge", "C3")
    page = page_of(colleague_client, photo).content.decode()
    assert all(words in page for words in ("can with a bulge", "as it was found", "40 × 30 pixels", photo.digest, "C3"))
    assert reverse("jobs:photo", args=[photo.pk]) in page
    assert 'alt="can with a bulge, C3"' in page


def test_before_and_after_follow_the_grid(colleague_client: Client, job: Job) -> None:
    middle, last, first = a_photo(job, "b", "C1"), a_photo(job, "c", "C1", moment="work"), a_photo(job, "a")

    def way(photo: Photo, query: str = "") -> tuple[str, str, int, int]:
        beside = page_of(colleague_client, photo, query).context["beside"]
        return str(beside.before), str(beside.after), beside.number, beside.count

    assert way(first) == ("None", "b", 1, 3)
    assert way(middle) == ("a", "c", 2, 3)
    assert way(last) == ("b", "None", 3, 3)
    assert way(middle, f"?position={position_of(job, 'C1').pk}") == ("None", "c", 1, 2)
    assert way(middle, "?position=odd") == ("a", "c", 2, 3)


def test_what_is_written_is_put_right_once(colleague_client: Client, job: Job) -> None:
    photo = a_photo(job, "undersied")
    values = sent_form(page_of(colleague_client, photo), "caption")
    values |= {"caption": "underside", "position": str(position_of(job, "C2").pk)}
    for _ in range(2):
        answer = colleague_client.post(reverse("jobs:photo_change", args=[photo.pk]), values)
        assert answer.headers["Location"] == reverse("jobs:photo_page", args=[photo.pk])
    photo.refresh_from_db()
    assert (photo.caption, str(photo.position)) == ("underside", "C2")


def test_a_stale_page_is_told_and_keeps_what_was_typed(colleague_client: Client, job: Job) -> None:
    photo = a_photo(job, "front")
    values = sent_form(page_of(colleague_client, photo), "caption")
    Photo.objects.filter(pk=photo.pk).update(caption="the front")
    answer = colleague_client.post(reverse("jobs:photo_change", args=[photo.pk]), {**values, "caption": "front, with dial"})
    assert answer.status_code == 422
    assert "Somebody else changed this photo since you opened it." in answer.content.decode()
    assert 'value="front, with dial"' in answer.content.decode()


def test_bad_values_are_refused_in_words(colleague_client: Client, job: Job) -> None:
    photo = a_photo(job, "front")
    values = sent_form(page_of(colleague_client, photo), "caption")
    other = position_of(a_job(), "C2")
    answer = colleague_client.post(
        reverse("jobs:photo_change", args=[photo.pk]), {**values, "position": str(other.pk), "moment": "odd"}
    )
    assert answer.context["change"].errors["position"] == ["That position is none of this set's. Choose one from the list."]
    assert "moment" in answer.context["change"].errors


def test_one_sent_in_error_is_set_aside_shown_with_its_reason_and_brought_back(colleague_client: Client, job: Job) -> None:
    photo = a_photo(job, "a kitchen table")
    values = sent_form(page_of(colleague_client, photo), "why")
    address = reverse("jobs:photo_set_aside", args=[photo.pk])
    empty = colleague_client.post(address, values)
    assert empty.context["aside"].errors["why"] == ["Say why the photo is set aside: another set, a blurred one."]
    answer = colleague_client.post(address, {**values, "why": "shows another set"}, follow=True)
    grid = answer.content.decode()
    assert "1 set aside, with the reason" in grid
    assert "shows another set" in grid
    assert answer.context["album"].count == 0
    back = reverse("jobs:photo_bring_back", args=[photo.pk])
    assert back in grid, "the message offers to bring it back"
    for _ in range(2):
        colleague_client.post(back, {"once": str(uuid.uuid4())})
    photo.refresh_from_db()
    assert photo.set_aside_at is None


def test_a_closed_job_shows_its_photos_and_changes_nothing(colleague_client: Client) -> None:
    closed = a_job("ready")
    photo = a_photo(closed, "done")
    Job.objects.filter(pk=closed.pk).update(stage="handed_over")
    values = {"once": str(uuid.uuid4()), "seen": "1", "caption": "other", "position": "", "moment": "done"}
    answer = colleague_client.post(reverse("jobs:photo_change", args=[photo.pk]), values)
    assert answer.status_code == 422
    assert f"Job {closed.number} is closed" in answer.content.decode()
    assert "so nothing about its photos changes" in answer.content.decode()


def test_a_missing_file_leaves_the_page_whole(colleague_client: Client, job: Job) -> None:
    photo = a_photo(job, "serial plate")
    photo.image.storage.delete(str(photo.image.name))
    page = page_of(colleague_client, photo)
    assert page.status_code == 200
    assert "Its file is gone from the shop's folder of photos." in page.content.decode()


def test_a_stranger_sees_and_changes_nothing(stranger_client: Client, job: Job) -> None:
    photo = a_photo(job, "front")
    for name in ("photo_page", "photo_change", "photo_set_aside", "photo_bring_back", "photo_small", "photo_middle"):
        answer = stranger_client.post(reverse(f"jobs:{name}", args=[photo.pk]))
        assert answer.headers["Location"].startswith(reverse("login")), name
