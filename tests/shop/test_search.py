"""One search over everything: tags, names, sets, invoices, parts by words and by value."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Kind
from jobs.models import Stage
from shop.views.finds import LONGEST, find
from tests.builders import a_customer, a_job, a_lot, a_model, a_part, a_profile, a_set, an_invoice
from tests.inventory.builders import texts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def test_a_job_is_found_by_tag_serial_model_and_customer() -> None:
    job = a_job(radio=a_set(a_customer("Łukasz Brzask"), serial="QX-77"))
    for text in (job.number, "qx-77", "kestrel", "lukasz", "merrowby lukasz"):
        assert find(text).jobs == [job], text


def test_a_customer_is_found_by_name_and_telephone() -> None:
    person = a_customer("Łukasz Brzask", phone="+44 171 496 0007")
    assert find("brzask").customers == [person]
    assert find("0171 4960007").customers == [person]


def test_an_invoice_is_found_by_its_number_and_its_job() -> None:
    invoice = an_invoice(a_job(Stage.READY))
    assert find(invoice.number).invoices == [invoice]
    assert find(invoice.job.number).invoices == [invoice]


@pytest.mark.parametrize(("typed", "wanted"), [(".047", "film"), ("4K7", "resistor"), ("12sk7", "valve"), ("film", "film")])
def test_parts_are_found_by_value_and_by_words(typed: str, wanted: str) -> None:
    shelf = {
        "film": a_part("0.047 µF 630 V"),
        "resistor": a_part("4.7 kΩ 1/2 W", Kind.RESISTOR),
        "valve": a_part("12SK7", Kind.VALVE),
    }
    assert find(typed).parts == [shelf[wanted]]


def test_the_page_says_how_a_value_was_read(owner_client: Client) -> None:
    a_lot(a_part("0.047 µF 630 V"), count=7)
    page = texts(owner_client.get(reverse("search"), {"q": ".047"}))
    assert "for parts also read as 0.047 µF" in page
    assert "7 in the drawers" in page


def test_a_model_is_found() -> None:
    model = a_model()
    assert find("kestrel 5").models == [model]


@pytest.mark.parametrize("text", ["", "   ", "%", "_", "'; DROP TABLE", "9" * 300, "\x00", "µ" * 90, "((((", "٣"])
def test_strange_text_is_answered_with_a_page(text: str, owner_client: Client) -> None:
    assert owner_client.get(reverse("search"), {"q": text}).status_code == 200


@pytest.mark.parametrize("name", ["shop:customers", "inventory:parts", "inventory:receive", "inventory:movements", "jobs:list"])
def test_strange_text_in_a_list_is_answered_too(name: str, owner_client: Client) -> None:
    assert owner_client.get(reverse(name), {"q": "a\x00b"}).status_code == 200


def test_nothing_asked_and_nothing_found_are_told_apart(owner_client: Client) -> None:
    assert "Search the whole workshop" in texts(owner_client.get(reverse("search")))
    assert "Nothing found" in texts(owner_client.get(reverse("search"), {"q": "zzzz"}))


def test_the_bench_is_led_to_no_page_it_may_not_open(colleague_client: Client) -> None:
    invoice = an_invoice(a_job(Stage.READY))
    page = colleague_client.get(reverse("search"), {"q": invoice.job.number}).content.decode()
    assert reverse("billing:invoice", args=[invoice.pk]) not in page
    customers = colleague_client.get(reverse("search"), {"q": "brzask"}).content.decode()
    assert reverse("shop:customer", args=[invoice.customer_id]) not in customers


def test_a_stranger_signs_in_first(stranger_client: Client) -> None:
    assert stranger_client.get(reverse("search"), {"q": "x"})["Location"].startswith(reverse("login"))


def queries(client: Client, counted: Any) -> int:
    with counted as seen:
        assert client.get(reverse("search"), {"q": "brzask"}).status_code == 200
    return len(seen.captured_queries)


def test_the_page_asks_as_often_for_many_finds_as_for_one(owner_client: Client, django_assert_max_num_queries: Any) -> None:
    def fill(count: int) -> None:
        for n in range(count):
            a_job(customer=None, radio=a_set(a_customer(f"Brzask {n}-{count}"), serial=f"{count}-{n}"))
            a_lot(a_part(f"{n + 10}K 1/{count + 1} W", Kind.RESISTOR, description="brzask"))

    fill(1)
    one = queries(owner_client, django_assert_max_num_queries(25))
    fill(LONGEST)
    assert queries(owner_client, django_assert_max_num_queries(25)) == one
