"""A job that is put back (`tests.kept_jobs`) is the job that the services make, row by row."""

from typing import Any

import pytest
from django.db import connection, transaction

from jobs.models import Stage
from tests import kept_jobs
from tests.builders import a_fit, a_job, a_profile, an_invoice
from tests.conftest import StillClock

pytestmark = pytest.mark.django_db


def rows_of(stage: str) -> kept_jobs.Rows:
    """All rows of the shop after a job was asked for; they are gone again."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            kept_jobs.begin_keys_anew()
        a_job(stage)
        found = kept_jobs._rows()
        transaction.set_rollback(True)
    assert found is not None
    return found


def without_secrets(staff: dict[Any, kept_jobs.Row]) -> dict[Any, kept_jobs.Row]:
    """A password has another salt each time, and the day of joining is the real clock's."""
    columns = kept_jobs._tables()["shop_staff"].columns
    kept = [at for at, one in enumerate(columns) if one not in {*kept_jobs.UNREAD["shop_staff"], "date_joined"}]
    return {key: tuple(row[at] for at in kept) for key, row in staff.items()}


@pytest.mark.parametrize("stage", [Stage.AWAITING_CONSENT, Stage.READY, Stage.SOLD])
def test_its_rows_are_those_that_the_services_make_at_that_time(
    stage: str, still_clock: StillClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_profile()
    monkeypatch.setattr(kept_jobs, "_kept", {})
    rows_of(stage)
    still_clock.forward(minutes=50)
    put_back, known = rows_of(stage), len(kept_jobs._kept)
    with kept_jobs.anew():
        built = rows_of(stage)
    for shop in (put_back, built):
        shop["shop_staff"] = without_secrets(shop["shop_staff"])
    assert known == 1
    assert put_back == built


def test_another_shop_or_another_wish_is_another_sort(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_jobs, "_kept", {})
    a_profile()
    for wish in ({}, {"labour_minor": 100}, {"with_fit": False}):
        with transaction.atomic():
            a_job(Stage.AGREED, **wish)
            transaction.set_rollback(True)
    a_profile(hour_rate_minor=9_900)
    a_job(Stage.AGREED)
    assert len(kept_jobs._kept) == 4
    a_job(Stage.AGREED)
    assert len(kept_jobs._kept) == 5


def test_work_goes_on_from_there() -> None:
    """Keys of new rows follow those that were put back."""
    a_profile()
    for _ in range(2):
        with transaction.atomic():
            job = a_job(Stage.REPAIRING)
            assert a_fit(job).text == "0.01 µF 630 V film"
            an_invoice(a_job(Stage.READY))
            transaction.set_rollback(True)
