"""Sets that nobody collects. The clock runs by the place's own figures; their citations stand in `shop/jurisdictions/places`."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs.models import CollectionNotice, Job, Stage
from jobs.queries.collection import clock_of, uncollected
from jobs.services.collection import Notice, record_notice
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import Profile
from shop.place import rules_of
from tests.builders import a_job, a_profile, a_staff, an_invoice
from tests.inventory.builders import errors_of, once, texts
from tests.paper.papers import text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still_clock")]
LIST = "/money/uncollected/"


@pytest.fixture
def job() -> Job:
    a_profile()
    return a_job(Stage.READY, at=now() - timedelta(days=120))


def a_notice(kind: str = "collect", days_ago: int = 0, names_in: int | None = None, **more: Any) -> Notice:
    sent_on = today() - timedelta(days=days_ago)
    names = None if names_in is None else sent_on + timedelta(days=names_in)
    return Notice(kind, sent_on, "recorded post", "Iwona Brzask\n1 Pettiwick Row", names, undisputed=True, **more)


def record(job: Job, notice: Notice) -> CollectionNotice:
    return record_notice(job, notice, person=a_staff(), at=now())


def standing(job: Job) -> tuple[str, str]:
    return clock_of(uncollected().get(pk=job.pk), rules_of(Profile.current()).uncollected, today()).standing


def sent(**values: Any) -> dict[str, Any]:
    usual = {"kind": "collect", "sent_on": f"{today():%Y-%m-%d}", "how": "recorded post", "to_whom": "Iwona Brzask", "seen": 0}
    return {"once": once(), **usual, **values}


def test_the_clock_runs_from_collect_to_sale(job: Job) -> None:
    assert standing(job) == ("open", "No notice yet")
    record(job, a_notice(days_ago=10))
    assert standing(job) == ("warn", "Notice of sale possible")
    record(job, a_notice("sale", names_in=92))
    assert standing(job) == ("wait", "92 days left")


def test_the_day_named_comes(job: Job, still_clock: Any) -> None:
    record(job, a_notice())
    record(job, a_notice("sale", names_in=92))
    still_clock.forward(days=92)
    assert standing(job) == ("warn", "The day named is here")


@pytest.mark.parametrize(
    ("notice", "field", "words"),
    [
        ({"kind": "sale", "names_in": 92}, "kind", "A notice to collect comes first"),
        ({"kind": "sale"}, "names_day_on", "A notice of sale names the day"),
        ({"days_ago": -1}, "sent_on", "lies ahead"),
        ({"days_ago": 500}, "sent_on", "The set wasn't ready before"),
        ({"kind": "gift"}, "kind", "Choose what kind"),
    ],
)
def test_a_notice_that_the_rules_do_not_allow_is_refused(job: Job, notice: Any, field: str, words: str) -> None:
    with pytest.raises(Refused) as refused:
        record(job, a_notice(**notice))
    assert refused.value.field == field
    assert words in refused.value.message


def test_three_months_lie_between_a_notice_of_sale_and_its_day(job: Job) -> None:
    record(job, a_notice())
    with pytest.raises(Refused) as refused:
        record(job, a_notice("sale", names_in=30))
    assert "Torts (Interference with Goods) Act 1977" in refused.value.message


def test_nothing_disputed_is_sold(job: Job) -> None:
    record(job, a_notice())
    disputed = Notice("sale", today(), "recorded post", "Iwona Brzask", today() + timedelta(days=92))
    with pytest.raises(Refused) as refused:
        record(job, disputed)
    assert refused.value.field == "undisputed"


def test_a_remembered_rule_cautions_and_gives_way_to_who_read_the_text(job: Job) -> None:
    a_profile(jurisdiction="us_minnesota")
    with pytest.raises(Refused) as refused:
        record(job, a_notice("sale", names_in=5))
    assert "from memory; check the current text" in refused.value.message
    assert record(job, a_notice("sale", names_in=5, checked=True)).pk


def test_a_longer_clock_of_the_shops_own_holds(job: Job) -> None:
    a_profile(tightened={"wait_days": 400})
    record(job, a_notice())
    assert standing(job) == ("wait", "Waiting")
    with pytest.raises(Refused):
        record(job, a_notice("sale", names_in=92))


def test_the_page_lists_who_has_not_come_and_what_is_owed(counter_client: Client, job: Job) -> None:
    an_invoice(job)
    page = texts(counter_client.get(LIST))
    for text in (job.number, "120 days", "Send a notice that the set is ready", "check the current text", "£"):
        assert text in page


def test_the_page_is_kind_when_nothing_waits(counter_client: Client) -> None:
    a_profile()
    assert "Every set that is ready was collected" in texts(counter_client.get(LIST))


def test_strangers_and_the_bench_are_refused(stranger_client: Client, colleague_client: Client, job: Job) -> None:
    for address in (LIST, reverse("billing:notice_new", args=[job.pk])):
        assert stranger_client.get(address).status_code == 302
        assert colleague_client.get(address).status_code == 403


def test_a_notice_is_written_down_once(counter_client: Client, job: Job) -> None:
    form = sent()
    for _ in range(2):
        assert counter_client.post(reverse("billing:notice_new", args=[job.pk]), form).status_code == 302
    assert CollectionNotice.objects.count() == 1


def test_bad_input_is_told_at_its_field_and_stays(counter_client: Client, job: Job) -> None:
    answer = counter_client.post(reverse("billing:notice_new", args=[job.pk]), sent(sent_on="yesterday-ish", how=""))
    assert answer.status_code == 422
    assert {"sent_on", "how"} <= set(errors_of(answer))
    assert "yesterday-ish" in answer.content.decode()


def test_of_two_at_one_set_the_second_is_told(counter_client: Client, job: Job) -> None:
    form = sent()
    record(job, a_notice())
    answer = counter_client.post(reverse("billing:notice_new", args=[job.pk]), form)
    assert answer.status_code == 422
    assert "Somebody else wrote a notice down" in texts(answer)
    with pytest.raises(Stale):
        record_notice(job, a_notice(), person=a_staff(), at=now(), seen=0)


def test_the_letter_names_the_day_and_where_the_rule_stands(counter_client: Client, job: Job) -> None:
    record(job, a_notice())
    notice = record(job, a_notice("sale", names_in=92))
    letter = text_of(counter_client.get(reverse("billing:notice_pdf", args=[notice.pk])).content)
    for text in ("Notice of the intention to sell", "2 June 2026", "sections 12 and 13", "1 Pettiwick Row"):
        assert text in letter


def test_the_list_takes_the_same_queries_for_one_set_and_many(
    counter_client: Client, django_assert_num_queries: Any, job: Job
) -> None:
    an_invoice(job)
    record(job, a_notice())
    with CaptureQueriesContext(connection) as one:
        counter_client.get(LIST)
    for _ in range(4):
        more = a_job(Stage.READY)
        record_notice(more, Notice("collect", timezone.localdate(), "post", "Iwona Brzask"), person=a_staff(), at=now())
    with django_assert_num_queries(len(one)):
        counter_client.get(LIST)
