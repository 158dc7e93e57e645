"""The owner's page of copies: how the shop stands with them, the plan, making, proving and taking along."""

import io
import tarfile
import uuid
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.backup.running import keep_trouble, plan_now
from shop.models import AccessEvent, BackupPlan, LongWork
from tests.builders import a_profile
from tests.conftest import MONDAY, PASSWORD, StillClock
from tests.shop.some_copies import a_copy
from tests.words import words_of

pytestmark = pytest.mark.django_db
PAGE = "/house/owner/backups/"
PLAN = {
    "hour": "21",
    "second_place": "",
    "late_hours": "30",
    "keep_days": "7",
    "keep_weeks": "4",
    "keep_months": "12",
    "keep_years": "5",
}


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> StillClock:
    a_profile()
    return still_clock


@pytest.fixture
def place(settings: Any, tmp_path: Path) -> Path:
    settings.SHOP_FOLDER = tmp_path
    return Path(settings.BACKUP_FOLDER)


def sent(**more: str) -> dict[str, str]:
    return PLAN | {"once": str(uuid.uuid4()), "seen": str(plan_now().version)} | more


def words(client: Client, address: str = PAGE) -> str:
    return words_of(client.get(address))


def test_without_a_copy_the_page_teaches_and_is_red(owner_client: Client, place: Path) -> None:
    told = words(owner_client)
    assert "Too old There is no good backup yet." in told
    assert "No copy was made yet" in told


def test_the_age_of_the_last_good_one_stands_in_words(owner_client: Client, place: Path) -> None:
    a_copy(place, MONDAY - timedelta(hours=5))
    a_copy(place, MONDAY - timedelta(hours=1), problems=("secret.key is missing or can't be read",))
    told = words(owner_client)
    assert "Well The last good backup is 5 hours old." in told
    assert "Found bad" in told
    assert "secret.key is missing or can't be read" in told


def test_a_late_one_is_told_on_today_and_on_the_owners_page(owner_client: Client, counter_client: Client, place: Path) -> None:
    a_copy(place, MONDAY - timedelta(hours=40))
    assert "The last good backup is 40 hours old." in words(owner_client, "/")
    assert "Too old The last good backup is 40 hours old." in words(owner_client, "/house/owner/")
    assert "backup" not in words(counter_client, "/")


def test_what_went_wrong_is_told_until_a_good_one_is_made(owner_client: Client, place: Path) -> None:
    a_copy(place, MONDAY)
    keep_trouble("The copy couldn't be made: the disk is full.", MONDAY)
    assert "Trouble The copy couldn't be made: the disk is full." in words(owner_client)


def test_trouble_is_kept_in_the_shops_folder_where_the_copies_folder_takes_nothing(
    owner_client: Client, place: Path, settings: Any
) -> None:
    place.write_text("no folder")
    keep_trouble("The copy couldn't be made: the folder can't be written to.", MONDAY)
    assert "the folder can't be written to." in words(owner_client)


def test_the_plan_is_changed(owner_client: Client, place: Path, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    answer = owner_client.post(PAGE, sent(second_place=str(stick)))
    assert answer.status_code == 302
    plan = BackupPlan.objects.get()
    assert (plan.hour, plan.keep_days, plan.second_place, plan.version) == (21, 7, str(stick), 2)
    assert (stick / "second-place-of-the-workshop.txt").is_file()


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"hour": "24"}, "less than or equal to 23"),
        ({"keep_days": "1"}, "greater than or equal to 2"),
        ({"second_place": "stick"}, "Give the whole path, beginning at the root"),
        ({"second_place": "/nowhere/at/all"}, "There is no folder /nowhere/at/all."),
    ],
)
def test_a_plan_that_can_not_be_is_refused_and_kept_in_the_form(
    owner_client: Client, place: Path, typed: dict[str, str], told: str
) -> None:
    answer = owner_client.post(PAGE, sent(**typed))
    assert answer.status_code == 422
    assert told in words_of(answer)
    assert not BackupPlan.objects.exists()


def test_the_second_of_two_who_change_the_plan_is_told(owner_client: Client, place: Path) -> None:
    stale = sent(hour="5")
    owner_client.post(PAGE, sent(hour="6"))
    answer = owner_client.post(PAGE, stale)
    assert answer.status_code == 422
    assert "The plan was changed by somebody else" in words_of(answer)
    assert BackupPlan.objects.get().hour == 6


def test_the_same_plan_sent_twice_acts_once(owner_client: Client, place: Path) -> None:
    form = sent()
    for _ in range(2):
        owner_client.post(PAGE, form)
    assert BackupPlan.objects.get().version == 2


@pytest.mark.parametrize("act", ["make", "prove"])
def test_making_and_proving_are_begun_once(owner_client: Client, place: Path, act: str) -> None:
    copy = a_copy(place, MONDAY)
    address = reverse("shop:backup_make") if act == "make" else reverse("shop:backup_prove", args=[copy.name])
    form = {"once": str(uuid.uuid4())}
    for _ in range(2):
        owner_client.post(address, form)
    assert [work.kind for work in LongWork.objects.all()] == [{"make": "backup", "prove": "backup_proof"}[act]]


@pytest.mark.parametrize("name", ["2026-01-01_00-00-00", "proof-abc", "turn"])
def test_a_copy_that_is_not_there_is_told(owner_client: Client, place: Path, name: str) -> None:
    answer = owner_client.get(reverse("shop:backup_take", args=[name]))
    assert answer.status_code == 409
    assert "There is no copy of that name any more." in words_of(answer)


def test_a_copy_is_taken_along_with_ones_password_and_it_is_written_down(owner_client: Client, place: Path) -> None:
    copy = a_copy(place, MONDAY)
    address = reverse("shop:backup_take", args=[copy.name])
    refused = owner_client.post(address, {"once": str(uuid.uuid4()), "password": "wrong"})
    assert refused.status_code == 422
    assert "That isn't your password." in words_of(refused)
    answer: Any = owner_client.post(address, {"once": str(uuid.uuid4()), "password": PASSWORD})
    content = b"".join(answer.streaming_content)
    assert answer["Content-Length"] == str(len(content))
    assert answer["Content-Disposition"] == f'attachment; filename="workshop-{copy.name}.tar"'
    with tarfile.open(fileobj=io.BytesIO(content)) as archive:
        assert f"{copy.name}/photos/jobs/2026/03/a.jpg" in archive.getnames()
    taken = AccessEvent.objects.get(kind="taken_out")
    assert taken.note == f"the copy {copy.name}"
    assert taken.person is not None


@pytest.mark.parametrize("address", [PAGE, "/house/owner/backups/make/", "/house/owner/backups/2026-03-02_09-30-00/take/"])
def test_nobody_but_the_owner_comes_near(
    counter_client: Client, colleague_client: Client, stranger_client: Client, place: Path, address: str
) -> None:
    assert [client.post(address).status_code for client in (counter_client, colleague_client)] == [403, 403]
    assert stranger_client.get(address).status_code == 302


def test_the_page_asks_the_database_as_often_for_many_copies_as_for_one(
    owner_client: Client, place: Path, django_assert_num_queries: Any
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counted = []
    for days in (range(1), range(1, 12)):
        for ago in days:
            a_copy(place, MONDAY - timedelta(days=ago))
        with CaptureQueriesContext(connection) as queries:
            owner_client.get(PAGE)
        counted.append(len(queries))
    assert counted[0] == counted[1]
