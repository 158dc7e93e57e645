"""Long work: asked for, run, stopped, lost, started anew, cleared away."""

import logging
import threading
from datetime import timedelta
from typing import Any

import pytest
from django.db import connections

from shop import long_work
from shop.acts import Refused
from shop.clock import now
from shop.long_work import Asked, running
from shop.long_work.clearing import mark_lost, sweep
from shop.long_work.finding import LOST
from shop.models import LongWork, Staff, WorkState
from tests.conftest import StillClock
from tests.shop import some_works


@pytest.fixture(autouse=True)
def _kinds(settings: Any, still_clock: StillClock) -> None:
    settings.LONG_WORK = "tests.shop.some_works.KINDS"
    some_works.counted.clear()


def asked_by(person: Staff, kind: str = "count", **what: Any) -> LongWork:
    return long_work.begin(Asked(kind, "Counting", what or {"to": 4}), person=person, at=now(), back="/jobs/")


def ran(person: Staff, kind: str = "count", **what: Any) -> LongWork:
    work = asked_by(person, kind, **what)
    long_work.run_waiting()
    work.refresh_from_db()
    return work


@pytest.mark.django_db
class TestOneWork:
    def test_waits_until_it_is_taken_up_and_then_keeps_its_file(self, counter: Staff) -> None:
        work = asked_by(counter)
        assert (work.state, work.result.name) == (WorkState.WAITING, "")
        assert long_work.run_waiting() == 1
        work.refresh_from_db()
        assert (work.state, work.message, work.done, work.total) == (WorkState.DONE, "Counted to the end.", 4, 4)
        assert (work.result_name, work.result.read()) == ("numbers.txt", b"0\n1\n2\n3\n")
        assert work.ended_at == now()

    def test_a_stop_is_honoured_at_the_next_step_and_leaves_no_file(self, counter: Staff) -> None:
        work = ran(counter, to=10, stop_at=3)
        assert (work.state, work.message) == (WorkState.STOPPED, "Stopped after 3 of 10 numbers counted. No file was made.")
        assert not work.result
        assert some_works.counted == []

    def test_what_waits_is_stopped_at_once_and_never_begins(self, counter: Staff) -> None:
        work = asked_by(counter)
        long_work.ask_stop(work, person=counter, at=now())
        assert long_work.run_waiting() == 0
        work.refresh_from_db()
        assert (work.state, work.message) == (WorkState.STOPPED, "Stopped before it began.")

    def test_what_is_over_cannot_be_stopped(self, counter: Staff) -> None:
        work = ran(counter)
        with pytest.raises(Refused, match="^This work has come to its end already.$"):
            long_work.ask_stop(work, person=counter, at=now())

    def test_a_refusal_is_told_in_its_own_words(self, counter: Staff) -> None:
        work = ran(counter, "refuse")
        assert (work.state, work.message) == (WorkState.FAILED, "There is nothing to count.")

    def test_a_fault_is_told_in_a_sentence_and_its_traceback_goes_to_the_log(
        self, counter: Staff, caplog: pytest.LogCaptureFixture
    ) -> None:
        with caplog.at_level(logging.ERROR, "shop.long_work"):
            work = ran(counter, "break")
        assert work.state == WorkState.FAILED
        assert work.message == (
            "A fault in the program ended this early. Start it again; if that fails too, the program's log says more."
        )
        assert not work.result
        assert "a fault with a secret in it" in caplog.text

    def test_only_the_roles_of_a_kind_may_start_it(self, counter: Staff, owner: Staff) -> None:
        with pytest.raises(Refused, match="^There is no such work for you to start. Load the page again.$"):
            asked_by(counter, "owners")
        assert ran(owner, "owners", to=1).state == WorkState.DONE

    def test_a_kind_that_nobody_knows_is_refused(self, owner: Staff) -> None:
        with pytest.raises(Refused, match="There is no such work"):
            asked_by(owner, "unheard_of")

    def test_whoever_was_shut_out_meanwhile_gets_nothing(self, counter: Staff) -> None:
        work = asked_by(counter)
        Staff.objects.filter(pk=counter.pk).update(is_active=False)
        long_work.run_waiting()
        work.refresh_from_db()
        assert (work.state, work.result.name) == (WorkState.FAILED, "")

    def test_twenty_of_one_person_may_wait_and_no_more(self, counter: Staff) -> None:
        for _ in range(20):
            asked_by(counter)
        with pytest.raises(Refused, match="20 of your works wait already"):
            asked_by(counter)

    def test_a_command_runs_its_own_at_once(self, owner: Staff) -> None:
        waiting = asked_by(owner)
        mine = long_work.run_here(Asked("count", "Counting", {"to": 2}), person=owner, at=now())
        waiting.refresh_from_db()
        assert (mine.state, waiting.state) == (WorkState.DONE, WorkState.WAITING)


@pytest.mark.django_db
class TestLostWork:
    def lost(self, person: Staff) -> LongWork:
        work = asked_by(person)
        LongWork.objects.filter(pk=work.pk).update(state=WorkState.RUNNING, heard_at=now() - timedelta(minutes=3))
        work.refresh_from_db()
        return work

    def test_is_known_by_its_last_sign_of_life_and_told_as_failed(self, counter: Staff) -> None:
        work, fresh = self.lost(counter), asked_by(counter)
        LongWork.objects.filter(pk=fresh.pk).update(state=WorkState.RUNNING, heard_at=now())
        assert long_work.is_lost(work, now())
        assert mark_lost(now()) == 1
        work.refresh_from_db()
        fresh.refresh_from_db()
        assert (work.state, work.message) == (WorkState.FAILED, LOST)
        assert fresh.state == WorkState.RUNNING

    def test_can_be_started_anew_though_nobody_marked_it(self, counter: Staff) -> None:
        work = self.lost(counter)
        again = long_work.start_anew(work, person=counter, at=now())
        long_work.run_waiting()
        again.refresh_from_db()
        work.refresh_from_db()
        assert (again.state, again.asked, again.back) == (WorkState.DONE, work.asked, "/jobs/")
        assert work.state == WorkState.FAILED

    def test_a_process_that_wakes_up_later_writes_nothing_over_it(self, counter: Staff) -> None:
        """A machine that slept: its work was counted as lost meanwhile."""
        work = asked_by(counter)
        with pytest.MonkeyPatch.context() as patch:
            patch.setitem(some_works.KINDS, "count", long_work.Kind(self.sleeping, "numbers counted"))
            long_work.run_waiting()
        work.refresh_from_db()
        assert (work.state, work.message, work.result.name) == (WorkState.FAILED, LOST, "")

    @staticmethod
    def sleeping(work: LongWork, progress: Any) -> long_work.Made:
        progress.file.write(b"late")
        mark_lost(now() + timedelta(minutes=3))
        return long_work.Made("Late.", "late.txt")

    def test_what_is_done_is_not_started_anew(self, counter: Staff) -> None:
        with pytest.raises(Refused, match="^This work is under way or done. Look at the list as it stands now.$"):
            long_work.start_anew(ran(counter), person=counter, at=now())


@pytest.mark.django_db
def test_results_go_after_a_week_and_works_after_two_months(counter: Staff, still_clock: StillClock) -> None:
    work = ran(counter)
    path = work.result.path
    still_clock.forward(days=6)
    sweep(now())
    work.refresh_from_db()
    assert work.result
    still_clock.forward(days=2)
    sweep(now())
    work.refresh_from_db()
    assert (bool(work.result), work.result.storage.exists(path)) == (False, False)
    still_clock.forward(days=60)
    sweep(now())
    assert not LongWork.objects.exists()


@pytest.mark.django_db
def test_no_more_than_two_are_taken_up_at_once(counter: Staff) -> None:
    waiting = [asked_by(counter) for _ in range(3)]
    LongWork.objects.filter(pk__in=[one.pk for one in waiting[:2]]).update(state=WorkState.RUNNING, heard_at=now())
    assert long_work.run_waiting() == 0
    LongWork.objects.filter(pk=waiting[0].pk).update(state=WorkState.DONE)
    assert long_work.run_waiting() == 1


@pytest.mark.django_db(transaction=True)
class TestInThreads:
    @pytest.fixture(autouse=True)
    def _own_floor(self, monkeypatch: pytest.MonkeyPatch) -> Any:
        some_works.begun.clear()
        some_works.go_on.clear()
        monkeypatch.setattr("shop.long_work.progress.SECONDS_BETWEEN_WRITES", 0)
        yield
        some_works.go_on.set()
        long_work.close_down()
        running._floor.closing.clear()

    def over(self, work: LongWork) -> LongWork:
        """Joins the threads that work it through."""
        for thread in list(running._floor.threads):
            thread.join(20)
        work.refresh_from_db()
        return work

    def test_one_is_run_in_the_background_and_stopped_from_a_page(self, counter: Staff) -> None:
        long_work.open_up()
        work = asked_by(counter, "wait")
        assert some_works.begun.wait(20)
        long_work.ask_stop(work, person=counter, at=now())
        work = self.over(work)
        assert work.state == WorkState.STOPPED
        assert work.message.endswith("steps gone. No file was made.")

    def test_closing_the_program_tells_what_was_under_way_as_failed(self, counter: Staff) -> None:
        long_work.open_up()
        work = asked_by(counter, "wait")
        assert some_works.begun.wait(20)
        long_work.close_down()
        work.refresh_from_db()
        assert (work.state, work.message) == (WorkState.FAILED, LOST)

    def test_of_two_that_look_for_work_only_one_gets_each(self, counter: Staff) -> None:
        works = [asked_by(counter, to=2) for _ in range(6)]
        start = threading.Barrier(2)

        def look() -> None:
            start.wait(20)
            try:
                long_work.run_waiting()
            finally:
                connections.close_all()

        both = [threading.Thread(target=look) for _ in range(2)]
        for one in both:
            one.start()
        for one in both:
            one.join(30)
        long_work.run_waiting()
        assert sorted(some_works.counted) == [work.pk for work in works]
