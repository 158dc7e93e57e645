"""The counter writes down an answer: who, when, how, which number, to what exactly."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.models import Consent, Job
from jobs.models.estimate import EstimateState
from jobs.queries.exposure import exposure_of
from jobs.services import estimates
from jobs.services.consents import Answer, record_answer
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Profile
from tests.builders import a_job, a_profile, a_staff, an_estimate

pytestmark = pytest.mark.django_db


def sent_of(job: Job) -> Any:
    return job.estimates.get(state="sent")  # type: ignore[attr-defined]


def form_of(client: Client, address: str, **values: str) -> dict[str, str]:
    page = client.get(address).content.decode()
    hidden = {name: page.split(f'name="{name}" value="', 1)[1].split('"', 1)[0] for name in ("once", "digest")}
    return {
        **hidden,
        "answer": "agreed",
        "how": "spoken",
        "who": "Iwona Brzask",
        "number_called": "01632 960 111",
        "cancellation_told": "on",
        **values,
    }


def test_an_answer_keeps_who_when_how_and_to_what(counter_client: Client, counter: Any) -> None:
    a_profile(labour_tax_bp=2000, allowance_bp=1000)
    job = a_job("awaiting_consent", with_fit=False)
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    form = form_of(counter_client, address)
    for _ in range(2):
        assert counter_client.post(address, form).status_code == 302
    (consent,) = Consent.objects.filter(estimate__isnull=False)
    assert (consent.who, consent.number_called, consent.how, consent.person) == (
        "Iwona Brzask",
        "01632 960 111",
        "spoken",
        counter,
    )
    assert consent.to_what == f"estimate {job.number} version 1, £240.00 with tax"
    assert (consent.ceiling_minor, consent.allowance_bp, len(consent.digest)) == (24_000, 1_000, 64)
    job.refresh_from_db()
    assert job.stage == "agreed"
    assert exposure_of(job, Profile.objects.get()).ceiling_minor == 26_400


def test_a_decline_moves_the_job_to_declined(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    counter_client.post(address, form_of(counter_client, address, answer="declined", how="in_person", number_called=""))
    job.refresh_from_db()
    assert (job.stage, Consent.objects.latest("pk").ceiling_minor) == ("declined", 0)


def test_a_telephone_answer_needs_the_number(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    answer = counter_client.post(address, form_of(counter_client, address, number_called="", note="Yes, do it."))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Write the telephone number that was called: a spoken consent is worth what can be shown of it." in page
    assert "Yes, do it." in page


def test_an_answer_may_be_written_down_later_but_not_before_the_version_was_out() -> None:
    job = a_job("awaiting_consent", at=now() - timedelta(days=3))
    sent, yes = (
        sent_of(job),
        {"agreed": True, "how": "written", "who": "Iwona Brzask", "person": a_staff(), "cancellation_told": True},
    )
    for moment, words in (
        (sent.sent_at - timedelta(hours=1), "Version 1 wasn't with the customer yet at that moment."),
        (now() + timedelta(hours=1), "The moment of the answer lies in the future."),
    ):
        with pytest.raises(Refused) as refused:
            record_answer(sent, Answer(**yes, answered_at=moment), at=now())
        assert refused.value.message == words
    yesterday = now() - timedelta(days=1)
    assert record_answer(sent, Answer(**yes, answered_at=yesterday), at=now()).at == yesterday


def test_a_version_that_ran_out_is_not_agreed_to() -> None:
    job = a_job("awaiting_consent", at=now() - timedelta(days=40))
    with pytest.raises(Refused, match=r"Version 1 stood until .*\. Send a new version\."):
        record_answer(sent_of(job), Answer(True, "in_person", "Iwona Brzask", person=a_staff()), at=now())


def test_only_one_answer_to_a_version() -> None:
    job = a_job("awaiting_consent")
    sent, answer = sent_of(job), Answer(True, "in_person", "Iwona Brzask", person=a_staff())
    record_answer(sent, answer, at=now())
    with pytest.raises(Stale, match="Version 1 was answered already."):
        record_answer(sent, answer, at=now())


def test_an_answer_to_a_replaced_version_is_refused() -> None:
    job = a_job("awaiting_consent")
    first = sent_of(job)
    an_estimate(job)
    with pytest.raises(Stale, match="This version was replaced by a newer one."):
        record_answer(first, Answer(True, "in_person", "Iwona Brzask", person=a_staff()), at=now())


def test_a_revision_declined_on_the_bench_leaves_the_older_consent_standing() -> None:
    job = a_job("repairing")
    an_estimate(job, labour_minor=90_000)
    record_answer(sent_of(job), Answer(False, "in_person", "Iwona Brzask", person=a_staff()), at=now())
    job.refresh_from_db()
    assert (job.stage, job.waits_for) == ("repairing", "")
    assert exposure_of(job, Profile.objects.get()).consented_minor == 20_060


def test_the_answer_is_refused_where_the_page_showed_other_figures(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    answer = counter_client.post(address, form_of(counter_client, address, digest="0" * 64))
    assert answer.status_code == 422
    assert "The estimate on your page isn&#x27;t the one that stands." in answer.content.decode()


def test_taken_back_before_the_answer(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    sent = sent_of(job)
    address = f"/jobs/estimates/{sent.pk}/answer/"
    form = form_of(counter_client, address)
    estimates.recall(sent, person=a_staff(), at=now())
    assert counter_client.post(address, form).status_code == 422
    sent.refresh_from_db()
    assert sent.state == EstimateState.SUPERSEDED
    assert counter_client.get(address).status_code == 302


def test_strangers_and_the_bench_write_no_answers(stranger_client: Client, colleague_client: Client) -> None:
    address = f"/jobs/estimates/{sent_of(a_job('awaiting_consent')).pk}/answer/"
    assert stranger_client.get(address).status_code == 302
    assert colleague_client.get(address).status_code == 403


def test_who_agrees_at_a_distance_is_told_of_the_right_to_cancel(counter_client: Client) -> None:
    job = a_job("awaiting_consent", with_fit=False)
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    untold = {name: value for name, value in form_of(counter_client, address).items() if name != "cancellation_told"}
    page = counter_client.post(address, untold)
    assert page.status_code == 422
    assert "may cancel within 14 days, and must be told" in page.content.decode()
    assert counter_client.post(address, {**untold, "cancellation_told": "on", "begin_at_once": "on"}).status_code == 302
    consent = job.consents.get()  # type: ignore[attr-defined]
    assert (consent.cancellation_told, consent.begin_at_once) == (True, True)


def test_a_place_without_such_a_right_asks_for_no_tick(counter_client: Client) -> None:
    a_profile(jurisdiction="us_california")
    job = a_job("awaiting_consent", with_fit=False)
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    assert "cancellation_told" not in counter_client.get(address).content.decode()
    assert counter_client.post(address, form_of(counter_client, address)).status_code == 302
    assert job.consents.get().cancellation_told is False  # type: ignore[attr-defined]


def test_a_shop_that_wants_the_customers_own_words_asks_for_them(counter_client: Client) -> None:
    a_profile(tightened={"consent": ["own_words"]})
    job = a_job("awaiting_consent", with_fit=False)
    address = f"/jobs/estimates/{sent_of(job).pk}/answer/"
    page = counter_client.post(address, form_of(counter_client, address))
    assert page.status_code == 422
    assert "want the customer" in page.content.decode()
    assert counter_client.post(address, form_of(counter_client, address, note="Go on, please.")).status_code == 302


def test_until_the_time_to_cancel_is_over_the_job_says_so(counter_client: Client, still_clock: Any) -> None:
    job = a_job("awaiting_consent", with_fit=False)
    answer = {"agreed": True, "how": "written", "who": "Iwona Brzask", "person": a_staff(), "cancellation_told": True}
    record_answer(sent_of(job), Answer(**answer), at=now())
    page = counter_client.get(f"/jobs/{job.pk}/").content.decode()
    assert "Iwona Brzask may cancel until 16 March 2026 and didn" in page
    still_clock.forward(days=15)
    assert "may cancel until" not in counter_client.get(f"/jobs/{job.pk}/").content.decode()
