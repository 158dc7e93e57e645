"""Price lists of invented suppliers as files, and sending them as a browser does."""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import Workbook

from inventory.models import Offer, PriceList, Supplier
from shop.clock import now
from shop.models import Staff
from shop.search_text import fold
from tests.inventory.builders import once

HEADINGS = ("Order code", "Description", "Price", "Price 10+", "Pack of", "Days")
ROWS: tuple[tuple[Any, ...], ...] = (
    ("FC-047", "Film capacitor 0.047 µF 630 V", "0.42", "0.38", "1", "3"),
    ("RM-220", "Metal film resistor 220k 1/2 W", "0.031", "", "10", ""),
    ("EL84", "Output valve EL84", "14.50", "13.90", "1", "14"),
)
MEANT = {"means_0": "code", "means_1": "text", "means_2": "price", "from_2": "1", "means_3": "price", "from_3": "10"}
MEANT |= {"means_4": "pack", "means_5": "lead"}


def csv_file(rows: Iterable[Sequence[object]] = ROWS, headings: Sequence[str] = HEADINGS, **how: str) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=how.get("delimiter", ","))
    writer.writerows([headings, *rows] if headings else rows)
    return out.getvalue().encode(how.get("encoding", "utf-8"))


def xlsx_file(rows: Iterable[Sequence[object]] = ROWS, headings: Sequence[str] = HEADINGS) -> bytes:
    book = Workbook()
    for row in [headings, *rows] if headings else rows:
        book.active.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def send(client: Client, supplier: Supplier, content: bytes | None = None, name: str = "spring.csv", **typed: str) -> Any:
    upload = SimpleUploadedFile(name, csv_file() if content is None else content)
    return client.post(reverse("inventory:price_list_new", args=[supplier.pk]), {"once": once(), "file": upload, **typed})


def columns_page(client: Client, supplier: Supplier) -> Any:
    return client.get(reverse("inventory:price_list_columns", args=[supplier.pk]))


def confirm(client: Client, supplier: Supplier, **typed: str) -> Any:
    """Sends the columns page as it stands, with what is typed into it; an empty text takes a field out."""
    form = columns_page(client, supplier).context["form"]
    shown = {bound.html_name: bound.value() for bound in form}
    kept = {name: value for name, value in {**shown, **typed}.items() if value not in (None, "", False)}
    return client.post(reverse("inventory:price_list_columns", args=[supplier.pk]), {**kept, "once": once()})


def trial_page(client: Client, supplier: Supplier) -> Any:
    return client.get(reverse("inventory:price_list_trial", args=[supplier.pk]))


def take(client: Client, supplier: Supplier, **typed: str) -> Any:
    seen = trial_page(client, supplier).context["form"].initial["seen"]
    return client.post(reverse("inventory:price_list_trial", args=[supplier.pk]), {"once": once(), "seen": seen, **typed})


def take_in(
    client: Client, supplier: Supplier, content: bytes | None = None, name: str = "spring.csv", **typed: str
) -> PriceList:
    """All the way from the file to the offers."""
    assert send(client, supplier, content, name).status_code == 302
    answer = confirm(client, supplier, **typed)
    assert answer.status_code == 302, answer.context["form"].errors
    answer = take(client, supplier)
    assert answer.status_code == 302, answer.context["form"].errors
    return PriceList.objects.get(pk=int(answer["Location"].strip("/").rpartition("/")[2]))


def a_price_list(supplier: Supplier, person: Staff, name: str = "spring.csv", rejects: Sequence[object] = ()) -> PriceList:
    """A list that was taken in, with the lines of ROWS as its offers, but not by way of a file."""
    facts = {"currency": "GBP", "digest": "0" * 64, "added": len(ROWS), "rejected": len(rejects), "rejects": list(rejects)}
    made = PriceList.objects.create(supplier=supplier, file_name=name, at=now(), person=person, **facts)
    for code, text, price, *_ in ROWS:
        milli = int(float(price) * 100_000)
        offer = {"text": text, "currency": "GBP", "breaks": [[1, milli]], "unit_milli": milli, "price_list": made}
        Offer.objects.create(supplier=supplier, code=code, search=fold(f"{code} {text}"), **offer)
    return made


def counts(one: PriceList) -> tuple[int, int, int, int, int]:
    """Added, changed, same, withdrawn, rejected."""
    return one.added, one.changed, one.same, one.withdrawn, one.rejected


def offered(supplier: Supplier) -> dict[str, Any]:
    """Price steps by code, of what is offered now."""
    return dict(Offer.objects.filter(supplier=supplier, is_offered=True).values_list("code", "breaks"))
