"""The owner reads who did what: filtered, page by page, as a file; nobody else does."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from jobs.models import Job
from shop.audit import acting
from shop.models import AuditEntry, Bench, Profile, Staff
from shop.views.changes import PAGES
from tests.builders import a_customer, a_job, a_profile, a_supplier
from tests.conftest import StillClock, signed_in

pytestmark = pytest.mark.django_db
PAGE = "/house/owner/changes/"


def text_of(client: Client, query: str = "") -> str:
    answer = client.get(PAGE + query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_change_reads_from_what_to_what_in_the_shops_money(owner: Staff) -> None:
    a_profile()
    with acting(owner, "shop:profile", "192.0.2.7"):
        Profile.objects.update(hour_rate_minor=6150, prices_include_tax=True)
    page = text_of(signed_in(owner), "?table=shop_profile&person=" + str(owner.pk))
    assert "labour rate per hour: £" in page
    assert "→ £61.50" in page
    assert "prices include tax: no → yes" in page
    assert "Orla Quillfeather" in page


def test_times_are_the_shops_and_counters_are_left_to_the_file(owner: Staff, still_clock: StillClock) -> None:
    a_profile()
    job = a_job()
    Job.objects.filter(pk=job.pk).update(version=7, waits_since_at=datetime(2026, 7, 1, 12, 5, tzinfo=UTC))
    Job.objects.filter(pk=job.pk).update(version=8)
    client = signed_in(owner)
    page = text_of(client, f"?table=jobs_job&row={job.pk}")
    moment = date_format(timezone.localtime(datetime(2026, 7, 1, 12, 5, tzinfo=UTC)), "j M Y, H:i")
    assert f"waits since at: — → {moment}" in page
    assert "counted on, with what else was done" in page
    assert "version" not in page
    assert "version: 7 → 8" in text_of(client, f"?table=jobs_job&row={job.pk}&as=csv")


def test_who_is_unknown_is_said(owner: Staff) -> None:
    with acting(None, "command demo"):
        Bench.objects.create(name="Window", order=1)
    with acting(None, ""):
        Bench.objects.filter(name="Window").update(order=2)
    page = text_of(signed_in(owner), "?table=shop_bench")
    assert "the program itself" in page
    assert "command demo" in page
    assert "outside the program" in page


def test_what_is_gone_shows_what_it_was_and_leads_nowhere(owner: Staff) -> None:
    bench = Bench.objects.create(name="Window", order=3)
    bench.delete()
    page = text_of(signed_in(owner), "?table=shop_bench")
    assert "removed" in page
    assert "name Window; order 3" in page


def test_the_list_is_narrowed_by_day_and_by_number(owner: Staff) -> None:
    customer, other = a_customer("Iwona Brzask"), a_customer("Tadeusz Ostrów")
    client = signed_in(owner)
    page = text_of(client, f"?table=shop_customer&row={customer.pk}")
    assert f"Customer {customer.pk}</a>" in page
    assert f"Customer {other.pk}</a>" not in page
    tomorrow = timezone.localdate() + timedelta(days=1)
    assert "No change answers to this." in text_of(client, f"?since={tomorrow.isoformat()}")
    assert f"Customer {customer.pk}</a>" in text_of(client, f"?until={tomorrow.isoformat()}")


@pytest.mark.parametrize("query", ["?since=yesterday", "?person=nobody", "?table=sqlite_master", "?row=%00", "?until=9999-12-31"])
def test_what_cannot_be_read_is_said_and_nothing_breaks(owner: Staff, query: str) -> None:
    assert signed_in(owner).get(PAGE + query).status_code == 200


def test_it_is_saved_as_a_file_with_act_and_address(owner: Staff) -> None:
    with acting(owner, "shop:bench_change", "192.0.2.7"):
        Bench.objects.create(name="Window", order=3)
    answer = signed_in(owner).get(PAGE + "?table=shop_bench&as=csv")
    lines = b"".join(answer).decode("utf-8-sig").splitlines()  # type: ignore[arg-type]
    entry = AuditEntry.objects.get(table="shop_bench")
    assert lines[0].endswith("Address,Act")
    assert f"192.0.2.7,{entry.act}" in lines[1]


def test_an_empty_list_teaches(owner_client: Client) -> None:
    assert "No change answers to this." in text_of(owner_client, "?table=jobs_flattask")


def test_only_the_owner_reads_it(colleague_client: Client) -> None:
    assert colleague_client.get(PAGE).status_code == 403


def test_every_thing_that_has_a_page_leads_there(owner: Staff) -> None:
    with acting(owner, "inventory:supplier_change"):
        supplier = a_supplier("Ohm & Sons")
    assert f'href="{reverse("inventory:supplier_change", args=[supplier.pk])}"' in text_of(
        signed_in(owner), "?table=inventory_supplier"
    )
    assert all(reverse(name, args=[1]) for name in PAGES.values())
