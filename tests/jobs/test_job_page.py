"""The page of one job: what it shows at each stage, its acts, its notes."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, LogEntry, Stage
from jobs.services import stages
from jobs.services.labour import start_clock
from shop.clock import now
from shop.models import Staff
from tests.builders import a_bench, a_job, a_profile, plan_part, position_of
from tests.jobs.at_bench import a_resistor, token
from tests.jobs.sent import sent_form

PAGES = ("job", "change_log", "labour", "second_look", "safety", "soak")


def job_page(job: Job) -> str:
    return reverse("jobs:job", args=[job.pk])


@pytest.mark.parametrize("stage", list(Stage))
def test_every_page_of_a_job_opens_at_every_stage(owner_client: Client, stage: str) -> None:
    job = a_job(stage)
    for name in PAGES:
        answer = owner_client.get(reverse(f"jobs:{name}", args=[job.pk]))
        assert answer.status_code == 200, name
        assert answer.content.count(b"<h1") == 1, name
    assert owner_client.get(reverse("jobs:position", args=[position_of(job).pk])).status_code == 200


def test_everybody_who_works_here_reads_it_and_a_stranger_is_sent_to_sign_in(
    counter_client: Client, colleague_client: Client, stranger_client: Client
) -> None:
    job = a_job(Stage.REPAIRING)
    for name in PAGES:
        address = reverse(f"jobs:{name}", args=[job.pk])
        assert counter_client.get(address).status_code == 200
        assert colleague_client.get(address).status_code == 200
        assert stranger_client.get(address).status_code == 302


def test_it_says_whose_set_what_is_wrong_and_what_was_allowed(counter_client: Client) -> None:
    job = a_job(fault="Crackles <when> warm", may_rewire=True, stands_at="shelf 3", came_with=(("knob", 4),))
    text = counter_client.get(job_page(job)).content.decode()
    for words in (
        "Iwona Brzask",
        "Merrowby Kestrel 5",
        "4711",
        "Crackles &lt;when&gt; warm",
        "shelf 3",
        "4 × knob",
        "The chassis may be live",
    ):
        assert words in text


def test_the_guard_stands_on_it_with_a_way_to_revise(colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING, labour_minor=0)
    text = colleague_client.get(job_page(job)).content.decode()
    assert "Within the agreed sum" in text
    plan_part(job, "R1", part=a_resistor())
    text = colleague_client.get(job_page(job)).content.decode()
    assert "Will pass the agreed sum" in text
    assert "Revise the estimate" in text


def test_an_act_moves_the_job_on_and_can_be_undone(colleague_client: Client, colleague: Staff) -> None:
    job = a_job()
    form = {"once": sent_form(colleague_client.get(job_page(job)), "code")["once"], "code": "start_inspection"}
    answer = colleague_client.post(reverse("jobs:act", args=[job.pk]), form, follow=True)
    assert "Start inspection: job J-" in answer.content.decode()
    job.refresh_from_db()
    assert job.stage == Stage.INSPECTING
    undo = sent_form(answer, "act")
    answer = colleague_client.post(reverse("jobs:undo", args=[job.pk]), undo, follow=True)
    assert "is back at “Taken in”" in answer.content.decode()
    job.refresh_from_db()
    assert job.stage == Stage.TAKEN_IN


def test_an_act_sent_twice_acts_once(colleague_client: Client) -> None:
    job = a_job()
    form = {"once": sent_form(colleague_client.get(job_page(job)), "code")["once"], "code": "start_inspection"}
    for _ in range(2):
        colleague_client.post(reverse("jobs:act", args=[job.pk]), form)
    assert job.acts.filter(act="start_inspection").count() == 1


def test_an_act_that_doesnt_fit_is_refused_in_words(colleague_client: Client) -> None:
    job = a_job()
    answer = colleague_client.post(reverse("jobs:act", args=[job.pk]), {"once": token(), "code": "mark_ready"}, follow=True)
    assert "“Ready to collect” doesn&#x27;t fit now" in answer.content.decode()
    job.refresh_from_db()
    assert job.stage == Stage.TAKEN_IN


@pytest.mark.parametrize("code", ["agree", "hand_over", "fly", ""])
def test_no_button_reaches_an_act_of_another_page(colleague_client: Client, code: str) -> None:
    job = a_job(Stage.AWAITING_CONSENT)
    colleague_client.post(reverse("jobs:act", args=[job.pk]), {"once": token(), "code": code})
    job.refresh_from_db()
    assert job.stage == Stage.AWAITING_CONSENT


def test_the_counter_may_not_act_for_the_bench(counter_client: Client) -> None:
    job = a_job()
    for name in ("act", "undo", "put_on_bench"):
        assert counter_client.post(reverse(f"jobs:{name}", args=[job.pk]), {"once": token()}).status_code == 403


def test_the_act_says_what_is_missing(colleague_client: Client) -> None:
    job = a_job(Stage.PROVING)
    text = colleague_client.get(job_page(job)).content.decode()
    assert "needs first: the second look; a passed electrical safety check." in text


def test_a_set_is_put_at_a_bench_where_another_stands(colleague_client: Client) -> None:
    bench, first, second = a_bench(), a_job(), a_job(model=None, radio=None)
    stages.put_on_bench(first, bench, at=now())
    send = sent_form(colleague_client.get(job_page(second)), "bench") | {"bench": str(bench.pk)}
    answer = colleague_client.post(reverse("jobs:put_on_bench", args=[second.pk]), send, follow=True)
    assert f"Job {second.number} stands at Bench 1 now." in answer.content.decode()
    second.refresh_from_db()
    assert second.bench == bench


def test_what_it_waits_for_is_written_with_its_day(counter_client: Client) -> None:
    job = a_job()
    form = sent_form(counter_client.get(job_page(job)), "waits_for") | {"waits_for": "person", "note": "asks his sister"}
    counter_client.post(reverse("jobs:wait_for", args=[job.pk]), form)
    job.refresh_from_db()
    assert (job.waits_for, job.waits_note) == ("person", "asks his sister")
    assert job.waits_since_at is not None
    assert now() - job.waits_since_at < timedelta(minutes=1)


def test_the_second_of_two_editors_is_told_and_keeps_the_text(counter_client: Client) -> None:
    job = a_job()
    form = sent_form(counter_client.get(job_page(job)), "waits_for") | {"waits_for": "part", "note": "field coil"}
    stages.wait_for(job, "person", "", at=now())
    answer = counter_client.post(reverse("jobs:wait_for", args=[job.pk]), form)
    assert answer.status_code == 422
    assert "was changed by somebody else since you opened it" in answer.content.decode()
    assert 'value="field coil"' in answer.content.decode()
    job.refresh_from_db()
    assert job.waits_for == "person"
    counter_client.post(reverse("jobs:wait_for", args=[job.pk]), sent_form(answer, "waits_for"))
    job.refresh_from_db()
    assert job.waits_for == "part"


def test_anybody_notes_and_only_the_bench_writes_a_wiring_finding(counter_client: Client, colleague_client: Client) -> None:
    job = a_job()
    address = reverse("jobs:job_note", args=[job.pk])
    assert counter_client.post(address, {"once": token(), "kind": "note", "text": "He calls on Friday."}).status_code == 302
    answer = counter_client.post(address, {"once": token(), "kind": "wiring", "text": "Speaker out of phase"})
    assert answer.status_code == 422
    assert "What is wired otherwise is written by the bench. Enter it as a note." in answer.content.decode()
    assert colleague_client.post(address, {"once": token(), "kind": "wiring", "text": "Speaker out of phase"}).status_code == 302
    assert [entry.text for entry in LogEntry.objects.filter(job=job)] == ["He calls on Friday.", "Speaker out of phase"]


def test_an_empty_note_is_refused(counter_client: Client) -> None:
    job = a_job()
    answer = counter_client.post(reverse("jobs:job_note", args=[job.pk]), {"once": token(), "kind": "note", "text": "  "})
    assert answer.status_code == 422
    assert not job.entries.exists()


def test_a_running_clock_is_seen_on_every_job_page(colleague_client: Client, colleague: Staff) -> None:
    a_profile()
    job, other = a_job(), a_job()
    start_clock(job, "repair", person=colleague, at=now())
    assert f"on job {job.number}" in colleague_client.get(job_page(other)).content.decode()


def test_the_number_of_queries_stays_the_same_however_much_was_done(owner_client: Client, django_assert_max_num_queries) -> None:
    for stage in (Stage.TAKEN_IN, Stage.SOAKING):
        job = a_job(stage)
        with django_assert_max_num_queries(45):
            owner_client.get(job_page(job))
