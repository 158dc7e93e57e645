"""What the customer agrees to about photos: asked at intake, changed at any time, kept to where photos are taken."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, Photo
from jobs.queries.papers_in import claim_check_of
from shop.models import Staff
from tests.builders import a_job, position_of
from tests.conftest import StillClock, signed_in
from tests.jobs.pictures import a_picture
from tests.words import words_of

pytestmark = pytest.mark.django_db
NONE_WANTED = "The customer wants no photos but those that prove the work"


@pytest.fixture
def job(still_clock: StillClock) -> Job:
    return a_job("repairing", photo_consent="none")


def send(client: Client, job: Job, **typed: Any) -> Any:
    values = {"once": str(uuid4()), "photos": [a_picture()], "moment": "work", "caption": "from above"}
    return client.post(reverse("jobs:photos", args=[job.pk]), {**values, **typed})


def change(client: Client, job: Job, consent: str, seen: int | None = None, once: str = "") -> Any:
    values = {"once": once or str(uuid4()), "seen": seen or Job.objects.get(pk=job.pk).version, "photo_consent": consent}
    return client.post(reverse("jobs:photo_consent", args=[job.pk]), values)


def test_none_but_proof_refuses_a_photo_that_proves_nothing(colleague_client: Client, job: Job) -> None:
    refused = send(colleague_client, job)
    assert refused.status_code == 422
    assert NONE_WANTED in refused.content.decode()
    assert "from above" in refused.content.decode()
    assert not Photo.objects.exists()
    assert send(colleague_client, job, proves="on").status_code == 302
    assert send(colleague_client, job, position=str(position_of(job, "C2").pk)).status_code == 302
    assert Photo.objects.count() == 2


def test_the_found_state_is_always_proof(colleague_client: Client, still_clock: StillClock) -> None:
    job = a_job("taken_in", photo_consent="none")
    assert send(colleague_client, job, moment="found").status_code == 302


def test_a_photo_sent_alone_is_refused_in_the_same_words(colleague_client: Client, job: Job) -> None:
    answer = colleague_client.post(
        reverse("jobs:photo_send", args=[job.pk]), {"once": str(uuid4()), "photos": [a_picture()], "moment": "work"}
    )
    assert answer.status_code == 422
    assert answer.json()["refused"][0].startswith(NONE_WANTED)


@pytest.mark.parametrize("consent", ["", "record", "show"])
def test_otherwise_nothing_is_asked(colleague_client: Client, still_clock: StillClock, consent: str) -> None:
    job = a_job("repairing", photo_consent=consent)
    assert "The proof of the work needs them" not in colleague_client.get(reverse("jobs:photos", args=[job.pk])).content.decode()
    assert send(colleague_client, job).status_code == 302


def test_it_is_taken_back_at_any_time_also_once_the_set_has_left(colleague_client: Client, still_clock: StillClock) -> None:
    """GDPR article 7(3): as easy to withdraw as to give."""
    job = a_job("handed_over", photo_consent="show")
    token = str(uuid4())
    for _ in range(2):
        assert change(colleague_client, job, "record", once=token).status_code == 302
    job.refresh_from_db()
    assert job.photo_consent == "record"
    stale = change(colleague_client, job, "show", seen=1)
    assert stale.status_code == 422
    assert "was changed by somebody else since you opened it" in stale.content.decode()
    assert change(colleague_client, job, "everything").status_code == 422
    assert Job.objects.get().photo_consent == "record"


def test_a_photo_says_whether_it_may_be_shown(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, proves="on")
    address = reverse("jobs:photo_page", args=[Photo.objects.get().pk])
    assert "not allowed The customer has not agreed to it" in words_of(colleague_client.get(address))
    change(colleague_client, job, "show")
    assert "allowed without a name, as the customer agreed" in words_of(colleague_client.get(address))


def test_the_claim_check_says_what_was_agreed(still_clock: StillClock, counter: Staff, colleague: Staff) -> None:
    job = a_job("taken_in", photo_consent="show")
    assert claim_check_of(job, "").photos == "may be shown to others, without a name"
    assert claim_check_of(a_job("taken_in"), "").photos == ""
    assert "Photos: may be shown to others" in words_of(signed_in(counter).get(reverse("jobs:job", args=[job.pk])))


def test_a_stranger_changes_nothing(stranger_client: Client, job: Job) -> None:
    assert change(stranger_client, job, "show").status_code == 302
    assert Job.objects.get().photo_consent == "none"
