"""What sets like this one came to: read from finished jobs, told with its grounds, typed into a draft, kept when it goes out."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Decision, Estimate, Forecast, Job, Step
from jobs.queries.learned import expected_of, lesson, outlook_of
from jobs.queries.learned.kinds import age_band
from jobs.queries.learned.learnt import plain_range
from jobs.queries.learned.past import finished_jobs, tax_factor
from jobs.queries.sheet import sheet_of
from jobs.services import estimates, log
from shop.clock import now
from shop.models import Profile
from shop.tabular import read_csv
from tests.builders import a_fit, a_job, a_measurement, a_model, a_profile, an_estimate, author, position_of, some_work
from tests.conftest import StillClock

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _a_shop(still_clock: StillClock) -> None:
    a_profile()


def profile() -> Profile:
    found = Profile.current()
    assert found is not None
    return found


def a_finished_job(minutes: int = 120, kept: str = "C1 C3 R1 V1", fit: bool = False, **more: object) -> Job:
    """R1 was read, C2 is replaced, what is `kept` stayed in; of the rest the log says nothing."""
    job = a_job("repairing", labour_minor=90_000, **more)  # type: ignore[arg-type]
    if fit:
        a_fit(job)
    a_measurement(job, "R1", "225K")
    for name in kept.split():
        log.decide(position_of(job, name), Decision.KEEP, author())
    some_work(job, minutes=minutes)
    Job.objects.filter(pk=job.pk).update(stage="ready")
    job.refresh_from_db()
    return job


class TestWhatIsReadOfPastJobs:
    def test_a_finished_job_tells_its_positions_prices_minutes_and_sum(self) -> None:
        """C2 0.60, charged; two hours at 40.00: worked out by hand."""
        a_finished_job(fit=True)
        (one,) = finished_jobs(profile(), now())
        assert [(seen.cell.role, seen.replaced, seen.price_minor) for seen in one.past.positions] == [
            ("line_to_chassis", False, None),
            ("coupling", True, 60),
            ("reservoir", False, None),
            ("plate_load", False, None),
            ("valve", False, None),
        ]
        assert one.past.minutes == ((Step.REPAIR, 120.0),)
        assert one.came_to_minor == 8_060
        assert one.past.like.valves == 1

    def test_what_was_hardly_inspected_is_unfinished_or_came_back_teaches_nothing(self) -> None:
        a_finished_job(kept="")
        a_job("repairing")
        again = a_finished_job()
        Job.objects.filter(pk=again.pk).update(warranty_of=Job.objects.earliest("pk"))
        shown = a_finished_job()
        Job.objects.filter(pk=shown.pk).update(goal="museum")
        assert finished_jobs(profile(), now()) == []

    def test_a_set_teaches_by_its_first_stay(self) -> None:
        first = a_finished_job()
        Job.objects.filter(pk=first.pk).update(stage="handed_over")
        a_finished_job(radio=first.radio)
        assert [one.pk for one in finished_jobs(profile(), now())] == [first.pk]

    def test_only_the_newest_jobs_are_learned_from_and_the_page_says_so(self, monkeypatch: pytest.MonkeyPatch) -> None:
        first, _, third = (a_finished_job() for _ in range(3))
        Job.objects.filter(pk=first.pk).update(stage="handed_over")
        a_finished_job(radio=first.radio)
        monkeypatch.setattr("jobs.queries.learned.past.MOST_JOBS", 2)
        monkeypatch.setattr("jobs.queries.learned.learnt.MOST_JOBS", 2)
        told = lesson(profile(), now())
        assert [one.pk for one in told.jobs] == [third.pk], "a later stay is none of the first, however old that was"
        assert told.words == "Learned from 1 first stay of sets, out of the newest 2 that were finished."

    def test_many_jobs_ask_no_more_questions_than_one(self) -> None:
        a_finished_job()
        terms = profile()
        with CaptureQueriesContext(connection) as one:
            assert len(finished_jobs(terms, now())) == 1
        for _ in range(3):
            a_finished_job()
        with CaptureQueriesContext(connection) as many:
            assert len(finished_jobs(terms, now())) == 4
        assert len(one) == len(many) == 6

    def test_it_is_learned_anew_when_a_log_moves_on_and_only_then(self) -> None:
        job, terms = a_finished_job(), profile()
        assert len(lesson(terms, now()).jobs) == 1
        with CaptureQueriesContext(connection) as kept:
            lesson(terms, now())
        assert len(kept) == 2
        a_job("inspecting")
        with CaptureQueriesContext(connection) as kept:
            assert lesson(terms, now()).words == "Learned from 1 first stay of sets."
        assert len(kept) == 2, "work on another set forgets nothing"
        log.decide(position_of(job, "C3"), Decision.REPLACE, author())
        assert sum(one.replaced for one in lesson(profile(), now()).jobs[0].past.positions) == 2

    def test_tax_is_what_the_shop_charges(self) -> None:
        """20 % on both; prices that include it bear none on top."""
        a_profile(parts_tax_bp=2000, labour_tax_bp=2000)
        assert tax_factor(profile()) == pytest.approx(1.2)
        a_profile(parts_tax_bp=2000, labour_tax_bp=2000, prices_include_tax=True)
        assert tax_factor(profile()) == 1

    @pytest.mark.parametrize(
        ("year", "words"),
        [(None, ""), (1934, "before 1935"), (1935, "1935 to 1945"), (1946, "1946 to 1955"), (1956, "1956 and later")],
    )
    def test_ages_go_by_the_first_year(self, year: int | None, words: str) -> None:
        assert age_band(year) == words


class TestOneSet:
    def test_without_a_job_of_its_own_the_shop_is_told_so(self) -> None:
        job = a_job("inspecting", with_fit=False)
        found = outlook_of(job, sheet_of(job), profile(), now())
        assert found.outlook.words == "Rests on what is usual in the trade, not yet on your own sets."
        assert found.rests_on_the_trade
        assert 0 < found.outlook.low_minor < found.outlook.median_minor < found.outlook.high_minor
        assert {one.row.position.designator for one in found.open} == {"C1", "C2", "C3", "R1", "V1"}

    def test_decisions_and_clear_readings_settle_a_place(self) -> None:
        job = a_job("inspecting", with_fit=False)
        log.decide(position_of(job, "C1"), Decision.REPLACE, author())
        log.decide(position_of(job, "V1"), Decision.KEEP, author())
        a_measurement(job, "R1", "221K")
        a_measurement(job, "C2", "leaks 0.3 mA at 250 V")
        a_measurement(job, "C3", "90 µF")
        found = outlook_of(job, sheet_of(job), profile(), now())
        assert [one.row.position.designator for one in found.open] == ["C3"]
        assert found.settled == 4

    def test_a_settled_set_is_less_doubtful_than_an_open_one(self) -> None:
        job = a_job("inspecting", with_fit=False)
        before = outlook_of(job, sheet_of(job), profile(), now()).outlook
        for name in ("C1", "C2", "C3", "R1", "V1"):
            log.decide(position_of(job, name), Decision.KEEP, author())
        after = outlook_of(job, sheet_of(job), profile(), now()).outlook
        assert after.high_minor < before.high_minor

    def test_an_answer_asks_as_often_for_many_jobs_as_for_few(self) -> None:
        job, terms = Job.objects.with_heads().get(pk=a_job("inspecting", with_fit=False).pk), profile()
        sheet, counts = sheet_of(job), []
        for _ in range(2):
            a_finished_job()
            with CaptureQueriesContext(connection) as asked:
                outlook_of(job, sheet, terms, now())
            counts.append(len(asked))
        assert counts == [11, 11]


class TestItsPage:
    def test_says_the_range_the_grounds_and_what_to_measure_first(self, counter_client: Client) -> None:
        a_finished_job()
        job = a_job("inspecting", with_fit=False)
        shown = " ".join(counter_client.get(reverse("jobs:outlook", args=[job.pk])).content.decode().split())
        assert "In 8 of 10 sets like this it comes to between" in shown
        assert "Rests on 1 of your own jobs and, as these are few, mostly on what is usual in the trade." in shown
        assert "Here 0 of 1 were replaced: reservoir capacitor" in shown
        assert reverse("jobs:position", args=[position_of(job, "V1").pk]) in shown
        rows = list(read_csv(b"".join(counter_client.get(reverse("jobs:outlook", args=[job.pk]), {"as": "csv"}))))
        assert [row[0] for row in rows] == ["Position", "C1", "C2", "C3", "R1", "V1"]

    def test_the_bench_sees_it_without_the_form_and_a_stranger_signs_in(
        self, colleague_client: Client, stranger_client: Client
    ) -> None:
        job = a_job("inspecting", with_fit=False)
        where = reverse("jobs:outlook", args=[job.pk])
        assert "Put them into the draft" not in colleague_client.get(where).content.decode()
        assert colleague_client.post(reverse("jobs:outlook_hours", args=[job.pk])).status_code == 403
        assert "/sign-in/" in stranger_client.get(where)["Location"]
        assert colleague_client.get(reverse("jobs:outlook", args=[10**6])).status_code == 404

    def test_the_sheet_asks_for_what_is_worth_measuring_as_a_piece(self, colleague_client: Client) -> None:
        job = a_job("inspecting", with_fit=False)
        where = reverse("jobs:measure_first", args=[job.pk])
        assert where in colleague_client.get(reverse("jobs:change_log", args=[job.pk])).content.decode()
        piece = colleague_client.get(where, headers={"HX-Request": "true"}).content.decode()
        assert "Worth measuring first:" in piece
        assert colleague_client.get(where)["Location"] == reverse("jobs:outlook", args=[job.pk])

    def test_a_sheet_without_positions_is_told_what_it_lacks(self, counter_client: Client) -> None:
        job = a_job("inspecting", with_fit=False, model=a_model("Bare", rows=()))
        shown = counter_client.get(reverse("jobs:outlook", args=[job.pk])).content.decode()
        assert "The sheet has no positions yet" in shown
        assert "Every position is settled" not in shown

    def test_a_set_for_show_is_told_apart(self, counter_client: Client) -> None:
        job = a_job("inspecting", with_fit=False, goal="museum")
        assert (
            "The range is of sets that are to work."
            in counter_client.get(reverse("jobs:outlook", args=[job.pk])).content.decode()
        )


class TestItsHours:
    def send(self, client: Client, job: Job, token: str = "9b1f1c1e-0000-4000-8000-000000000001", **more: object):
        data = {"once": token, "steps": ["inspection", "repair"], **more}
        return client.post(reverse("jobs:outlook_hours", args=[job.pk]), data, follow=True)

    def test_become_typed_lines_of_a_draft_once_and_are_taken_off_again(self, counter_client: Client) -> None:
        job = a_job("inspecting", with_fit=False)
        for _ in range(2):
            self.send(counter_client, job)
        lines = list(Estimate.objects.get(job=job).lines.all())  # type: ignore[attr-defined]
        assert [line.text for line in lines] == ["Inspection", "Repair"]
        assert all(0 < line.low_minor < line.high_minor for line in lines)
        off = {"once": "9b1f1c1e-0000-4000-8000-000000000002", "lines": " ".join(str(line.pk) for line in lines)}
        counter_client.post(reverse("jobs:outlook_hours_off", args=[job.pk]), off)
        assert not Estimate.objects.get(job=job).lines.exists()  # type: ignore[attr-defined]
        again = counter_client.post(reverse("jobs:outlook_hours_off", args=[job.pk]), {**off, "once": off["once"][:-1] + "3"})
        assert "These hours were taken off the draft already." in again.content.decode()

    def test_are_refused_where_work_is_typed_already_and_where_no_step_is_ticked(self, counter_client: Client) -> None:
        job = a_job("inspecting", with_fit=False)
        draft = estimates.draft(job, person=job.taken_in_by, at=now())
        estimates.add_line(draft, estimates.TypedLine("labour", "Repair", 60, 90))
        shown = self.send(counter_client, job)
        assert "Version 1 has work typed already, and these hours would count it twice." in shown.content.decode()
        none = self.send(counter_client, job, steps=[])
        assert none.status_code == 422
        assert "Tick at least one step of the work." in none.content.decode()
        assert "Choose steps from the list." in self.send(counter_client, job, steps=["tea"]).content.decode()
        assert draft.lines.count() == 1  # type: ignore[attr-defined]

    def test_lines_of_another_job_stay(self, counter_client: Client) -> None:
        mine, other = a_job("inspecting", with_fit=False), a_job("inspecting", with_fit=False)
        for job in (mine, other):
            draft = estimates.draft(job, person=job.taken_in_by, at=now())
            estimates.add_line(draft, estimates.TypedLine("labour", "Repair", 60, 90))
        theirs = Estimate.objects.get(job=other).lines.get()  # type: ignore[attr-defined]
        once = {"once": "9b1f1c1e-0000-4000-8000-000000000004", "lines": f"{theirs.pk} x -1 ²"}
        counter_client.post(reverse("jobs:outlook_hours_off", args=[mine.pk]), once)
        assert Estimate.objects.get(job=other).lines.count() == 1  # type: ignore[attr-defined]


class TestWhatIsKept:
    def test_sending_keeps_what_was_expected(self, counter_client: Client) -> None:
        job = a_job("inspecting", with_fit=False)
        draft = estimates.draft(job, person=job.taken_in_by, at=now())
        estimates.add_line(draft, estimates.TypedLine("labour", "Repair", 60, 90))
        once = {"once": "9b1f1c1e-0000-4000-8000-000000000005", "seen": draft.version}
        counter_client.post(reverse("jobs:estimate_send", args=[draft.pk]), once)
        kept = Forecast.objects.get(job=job)
        assert kept.estimate == draft
        assert (kept.from_jobs, kept.at) == (0, now())
        assert kept.low_minor < kept.median_minor < kept.high_minor
        assert (kept.facts["open"], kept.facts["settled"], kept.facts["widening"]) == (5, 0, 1.0)

    def test_work_under_warranty_and_sets_for_show_have_nothing_to_expect(self) -> None:
        draft = an_estimate(a_job("inspecting", with_fit=False, goal="display"))
        assert expected_of(draft, profile(), now()) is None

    def test_past_forecasts_are_compared_as_they_were_before_they_were_widened(self) -> None:
        """Twice as wide on the logarithm: 100..400 around 200 comes from 141.42..282.84 (roots of two)."""
        wide = Forecast(low_minor=100, median_minor=200, high_minor=400, facts={"widening": 2.0})
        assert plain_range(wide) == pytest.approx((200 / 2**0.5, 200, 200 * 2**0.5))

    def test_from_twenty_on_the_shops_own_forecasts_correct_the_range(self) -> None:
        first = a_finished_job()
        past = now() - timedelta(days=30)
        Forecast.objects.create(job=first, from_jobs=0, low_minor=1, median_minor=2, high_minor=3, at=past)
        assert "1 forecast can be held against" in lesson(profile(), now()).calibration.words
