"""An invoice line opens what it stands on: position, readings, part, lot, movement, photos, work, consent, credit notes."""

from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from billing.models import Invoice, InvoiceLine
from billing.services import PartOf, credit_part
from inventory.models import Lot
from jobs.models import Decision, EntryKind, LogEntry
from jobs.services import log
from jobs.services.photos import add_photo
from shop.clock import now
from shop.models import Staff
from shop.pictures import read_picture
from tests.billing.histories import boss
from tests.builders import (
    a_fit,
    a_job,
    a_lot,
    a_measurement,
    a_part,
    a_staff,
    a_supplier,
    an_invoice,
    author,
    position_of,
    some_work,
)
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def proven(db: None) -> Invoice:
    """R1 was found drifted, decided on, and replaced out of a lot with its supplier and date code; an hour and a half of work."""
    job = a_job("repairing", with_fit=False)
    place = position_of(job, "R1")
    log.record_found(place, "220K, blackened", author())
    a_measurement(job, "R1", "310K")
    lot = a_lot(a_part("220K 1W", kind="resistance"), supplier=a_supplier(), date_code="2431", unit_cost_milli=12_345)
    log.decide(place, Decision.REPLACE, author(), why="it drifted", plan=None)
    a_fit(job, "R1", lot=lot)
    photo = read_picture(BytesIO(a_picture()), "r1.png", 10**7)
    add_photo(job, photo, person=a_staff(), at=now(), caption="the old resistor", position=place)
    some_work(job, 90, text="plate loads")
    job.refresh_from_db()
    return an_invoice(job)


def line_of(invoice: Invoice, kind: str = "part") -> InvoiceLine:
    return invoice.lines.get(kind=kind)  # type: ignore[attr-defined, no-any-return]


def test_a_part_opens_to_all_it_stands_on(proven: Invoice, counter_client: Client) -> None:
    line = line_of(proven)
    assert f"/money/bill-lines/{line.pk}/" in counter_client.get(f"/money/papers/{proven.pk}/").content.decode()
    page = counter_client.get(f"/money/bill-lines/{line.pk}/").content.decode()
    entry = LogEntry.objects.get(kind=EntryKind.MEASURED)
    told = (
        *(proven.number, "R1", "220K 1/2W", "220K, blackened", "310K", "verdict: drifted", "it drifted"),
        *("Ferrule &amp; Daughters", "2431", "A / 1", "the old resistor", "Iwona Brzask", "version 1"),
        str(entry.person),
    )
    for text in told:
        assert text in page, text


def test_the_cost_is_for_the_owner(
    proven: Invoice, owner_client: Client, counter_client: Client, colleague_client: Client
) -> None:
    address = f"/money/bill-lines/{line_of(proven).pk}/"
    assert "Cost of them" in owner_client.get(address).content.decode()
    assert "£0.12345" in owner_client.get(address).content.decode()
    for client in (counter_client, colleague_client):
        page = client.get(address)
        assert page.status_code == 200
        assert "0.12345" not in page.content.decode()


def test_work_opens_to_who_did_it_and_when(proven: Invoice, colleague_client: Client) -> None:
    page = colleague_client.get(f"/money/bill-lines/{line_of(proven, 'labour').pk}/").content.decode()
    for text in ("1 h 30 min worked", "£40.00 an hour", "plate loads", "Repair", "Work as foreseen: £200.00"):
        assert text in page, text
    assert "The position" not in page


def test_what_was_credited_of_it_is_said(proven: Invoice, owner_client: Client) -> None:
    labour = line_of(proven, "labour")
    note = credit_part(proven, [PartOf(labour, sum_minor=1_500)], "took too long", person=boss(), at=now())
    page = owner_client.get(f"/money/bill-lines/{labour.pk}/").content.decode()
    for text in (note.number, "took too long", "£15.00", "Still stands for", "£45.00"):
        assert text in page, text
    credited = note.lines.get()  # type: ignore[attr-defined]
    answer = owner_client.get(f"/money/bill-lines/{credited.pk}/")
    assert answer.headers["Location"] == f"/money/bill-lines/{labour.pk}/"


def test_a_line_that_is_not_charged_says_why(counter_client: Client) -> None:
    job = a_job("repairing", with_fit=False)
    a_fit(job, "C2", not_charged="broken by us")
    line = line_of(an_invoice(job))
    page = counter_client.get(f"/money/bill-lines/{line.pk}/").content.decode()
    assert "broken by us" in page
    assert "Nothing was measured here." in page
    assert "No photo of this position." in page


def test_a_lot_tells_where_it_was_billed(proven: Invoice, colleague_client: Client) -> None:
    lot, line = Lot.objects.get(date_code="2431"), line_of(proven)
    assert f"/money/lots/{lot.pk}/" in colleague_client.get(f"/drawers/lots/{lot.pk}/").content.decode()
    page = colleague_client.get(f"/money/lots/{lot.pk}/").content.decode()
    for text in (f"/money/bill-lines/{line.pk}/", proven.number, proven.job.number):
        assert text in page
    other = a_lot()
    assert "None of it was billed yet" in colleague_client.get(f"/money/lots/{other.pk}/").content.decode()


def test_strangers_sign_in(proven: Invoice, stranger_client: Client) -> None:
    for address in (f"/money/bill-lines/{line_of(proven).pk}/", f"/money/lots/{Lot.objects.get(date_code='2431').pk}/"):
        assert stranger_client.get(address).status_code == 302


def test_there_is_no_such_line(counter_client: Client) -> None:
    a_job()
    assert counter_client.get("/money/bill-lines/99999/").status_code == 404


def test_the_same_queries_however_much_was_written(
    proven: Invoice, counter_client: Client, counter: Staff, django_assert_num_queries: Any
) -> None:
    job = a_job("repairing", with_fit=False)
    for text in ("310K", "311K", "312K", "313K"):
        a_measurement(job, "R1", text)
    a_fit(job, "R1", lot=Lot.objects.get(date_code="2431"))
    again = line_of(an_invoice(job))
    addresses = [f"/money/bill-lines/{one.pk}/" for one in (line_of(proven), again)]
    counter_client.get(addresses[0])
    with CaptureQueriesContext(connection) as one:
        counter_client.get(addresses[0])
    with django_assert_num_queries(len(one)):
        counter_client.get(addresses[1])
