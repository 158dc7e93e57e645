"""The computer's clock was a year ahead and is set right: nobody is kept out, no copy is waited for, nothing stands still."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import LogEntry
from jobs.services import log
from shop import acts
from shop.acts import Refused
from shop.backup import standing
from shop.clock import now
from shop.long_work.finding import is_lost, living_works, lost_works
from shop.models import AccessEvent, LongWork, Staff, WorkState
from shop.sign_in import codes, factor, trying
from tests.builders import a_job, author, position_of
from tests.conftest import PASSWORD, StillClock
from tests.inventory.builders import texts
from tests.shop.some_copies import a_copy

pytestmark = pytest.mark.django_db
AHEAD = timedelta(days=365)


def set_right(clock: StillClock) -> None:
    clock.now -= AHEAD


@pytest.fixture(autouse=True)
def ahead(still_clock: StillClock) -> StillClock:
    still_clock.now += AHEAD
    return still_clock


def test_a_second_factor_that_was_used_ahead_is_good_again_and_each_code_once(owner: Staff, ahead: StillClock) -> None:
    secret = factor.secret_of(factor.begin_factor(owner, at=now()))
    factor.confirm_factor(owner, codes.code_of(secret, codes.step_at(now())), at=now(), address="")
    set_right(ahead)
    code = codes.code_of(secret, codes.step_at(now()))
    assert factor.check_code(owner, code, at=now(), address="") is False
    with pytest.raises(Refused, match="That code isn't good"):
        factor.check_code(owner, code, at=now(), address="")


def test_wrong_tries_from_ahead_shut_nobody_out(owner: Staff, ahead: StillClock) -> None:
    for _ in range(trying.MOST):
        trying.note_wrong(owner, trying.WRONG_CODE, at=now(), address="")
    assert trying.is_shut(owner, at=now())
    set_right(ahead)
    assert not trying.is_shut(owner, at=now())
    for _ in range(trying.MOST):
        trying.note_wrong(owner, trying.WRONG_CODE, at=now(), address="")
    assert trying.is_shut(owner, at=now())


def test_whoever_was_shut_out_at_the_door_comes_in(owner: Staff, ahead: StillClock, client: Client, settings: Any) -> None:
    settings.AXES_ENABLED = True

    def try_it(password: str) -> Any:
        return client.post(reverse("login"), {"username": owner.username, "password": password})

    for _ in range(settings.AXES_FAILURE_LIMIT):
        try_it("not the one")
    assert try_it(PASSWORD).status_code == 429
    ahead.now = datetime.now(UTC) - AHEAD  # the library that counts has a clock of its own
    assert try_it(PASSWORD).status_code == 302


def test_copies_from_ahead_put_off_no_copy_and_hide_no_warning(tmp_path: Path, ahead: StillClock, settings: Any) -> None:
    settings.BACKUP_FOLDER = tmp_path
    a_copy(tmp_path, now() - AHEAD - timedelta(days=3))
    a_copy(tmp_path, now())
    assert not standing.is_due(now())
    set_right(ahead)
    found = standing.standing(now())
    assert found.sentence == "The last good backup is 3 days old."
    assert found.is_late
    assert standing.is_due(now())
    a_copy(tmp_path, now())
    assert not standing.is_due(now())


def test_work_that_was_cut_off_ahead_holds_up_no_other(owner: Staff, ahead: StillClock) -> None:
    work = LongWork.objects.create(kind="x", title="x", person=owner, state=WorkState.RUNNING, made_at=now(), heard_at=now())
    assert living_works(now()).count() == 1
    set_right(ahead)
    assert living_works(now()).count() == 0
    assert lost_works(now()).get() == work
    assert is_lost(work, now())


def test_the_log_keeps_its_order_and_a_form_from_before_acts_once(owner: Staff, ahead: StillClock) -> None:
    spot, token = position_of(a_job("repairing"), "R1"), "4f6c1c06-8f2f-4f5e-9a0e-0d3b7f3c2a11"

    def measured(text: str) -> str:
        return acts.once(token, "a reading", lambda: str(log.record_measured(spot, text, author(owner)).pk))[0]

    first = measured("260K")
    set_right(ahead)
    assert measured("270K") == first
    later = log.record_measured(spot, "280K", author(owner))
    entries = list(LogEntry.objects.filter(position=spot, kind="measured").order_by("seq").values_list("text", flat=True))
    assert entries[-2:] == ["260K", "280K"]
    assert later.seq > LogEntry.objects.get(pk=first).seq


def test_odd_names_at_the_door_are_written_down_again(ahead: StillClock, client: Client) -> None:
    from shop.models import AccessKind
    from shop.sign_in.events import FROM_OUTSIDE_AN_HOUR, note_from_outside

    AccessEvent.objects.bulk_create([AccessEvent(kind=AccessKind.FAILED, at=now()) for _ in range(FROM_OUTSIDE_AN_HOUR)])
    assert note_from_outside(AccessKind.FAILED, at=now()) is None
    set_right(ahead)
    assert note_from_outside(AccessKind.FAILED, at=now()) is not None
    assert "Sign in" in texts(client.get(reverse("login")))
