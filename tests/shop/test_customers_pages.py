"""The pages that keep customers' cards."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.documents.invoice import draw
from billing.papers import invoice_paper
from jobs.models import Stage
from shop.clock import now
from shop.customers import CustomerFacts, add_customer
from shop.letterhead_of import letterhead
from shop.models import Customer
from tests.builders import a_customer, a_job, a_profile, a_set, a_staff, an_invoice
from tests.jobs.sent import sent_form
from tests.paper.papers import text_of

pytestmark = pytest.mark.django_db


def card(**changes: str) -> dict[str, str]:
    return {"name": "Wilmot Asketh", "phone": "020 7946 0958", "email": "wilmot@example.org", "address": "3 Kiln Row", **changes}


def write(client: Client, **changes: str) -> Any:
    return client.post(reverse("shop:customer_new"), {"once": str(uuid.uuid4()), **card(**changes)})


def test_a_card_is_written_and_shown(counter_client: Client) -> None:
    a_profile(country="GB")
    answer = write(counter_client)
    customer = Customer.objects.get()
    assert (customer.name, customer.phone) == ("Wilmot Asketh", "+44 20 7946 0958")
    assert answer.headers["Location"] == reverse("shop:customer", args=[customer.pk])
    assert "3 Kiln Row" in counter_client.get(answer.headers["Location"]).content.decode()


def test_a_stranger_is_sent_to_sign_in_and_the_bench_is_refused(stranger_client: Client, colleague_client: Client) -> None:
    pk = a_customer().pk
    for name, args in (
        ("customers", []),
        ("customer", [pk]),
        ("customer_new", []),
        ("customer_change", [pk]),
        ("customer_lookup", []),
    ):
        address = reverse(f"shop:{name}", args=args)
        assert stranger_client.get(address).headers["Location"].startswith(reverse("login")), name
        assert colleague_client.get(address).status_code == 403, name


def test_a_card_without_a_name_is_refused_and_keeps_what_was_typed(counter_client: Client) -> None:
    answer = write(counter_client, name=" ")
    assert answer.status_code == 422
    assert answer.context["form"].errors["name"] == ["Write the customer's name."]
    assert "wilmot@example.org" in answer.content.decode()
    assert not Customer.objects.exists()


def test_the_same_card_sent_twice_is_written_once(counter_client: Client) -> None:
    token = str(uuid.uuid4())
    first, second = (counter_client.post(reverse("shop:customer_new"), {"once": token, **card()}) for _ in range(2))
    assert first.headers["Location"] == second.headers["Location"]
    assert Customer.objects.count() == 1


@pytest.mark.parametrize(
    "known",
    [{"name": "Wilmot Asketh"}, {"name": "W. A.", "email": "WILMOT@example.org"}, {"name": "W. A.", "phone": "+44 20 79460958"}],
)
def test_somebody_alike_is_offered_before_a_second_card_is_made(counter_client: Client, known: dict[str, str]) -> None:
    a_profile(country="GB")
    first = add_customer(CustomerFacts(**known), at=now())
    answer = write(counter_client)
    assert answer.status_code == 422
    assert answer.context["alike"] == [first]
    assert answer.context["form"].non_field_errors() == [
        "Somebody much alike is known already. Use that card, or say that it's somebody else."
    ]
    assert "3 Kiln Row" in answer.content.decode()
    token = answer.context["form"]["once"].value()
    again = counter_client.post(reverse("shop:customer_new"), {**card(), "once": token, "somebody_else": "1"})
    assert again.status_code == 302
    assert Customer.objects.count() == 2


def test_two_people_correct_one_card(counter_client: Client, owner_client: Client) -> None:
    customer = a_customer(address="1 Old Lane")
    address = reverse("shop:customer_change", args=[customer.pk])
    one, two = (sent_form(client.get(address)) for client in (counter_client, owner_client))
    assert counter_client.post(address, {**one, "address": "2 New Lane"}).status_code == 302
    late = owner_client.post(address, {**two, "phone": "111"})
    assert late.status_code == 422
    assert late.context["form"].non_field_errors() == [
        "This customer was changed by somebody else since you opened the page. Compare, then send again."
    ]
    assert late.context["now"] == [("Telephone", "nothing"), ("Address", "2 New Lane")]
    customer.refresh_from_db()
    assert (customer.address, customer.phone) == ("2 New Lane", "")
    assert owner_client.post(address, {**sent_form(late), "address": "2 New Lane"}).status_code == 302
    customer.refresh_from_db()
    assert (customer.address, customer.phone) == ("2 New Lane", "111")


@pytest.mark.parametrize("typed", ["zo\u00eb", "ZOE MARS", "020 7946", "0207946 0958", "+44 20 7946", "zoe@", "mars 7946"])
def test_a_customer_is_found_by_name_number_or_mail(counter_client: Client, typed: str) -> None:
    a_profile(country="GB")
    wanted = a_customer("Zo\u00eb Marsham", phone="020 7946 0958", email="zoe@example.org")
    a_customer("Somebody Different", phone="0161 496 0000")
    page = counter_client.get(reverse("shop:customers"), {"q": typed})
    assert [row.record for row in page.context["table"].rows] == [wanted]
    piece = counter_client.get(reverse("shop:customer_lookup"), {"q": typed}, headers={"HX-Request": "true"})
    assert piece.context["found"] == [wanted]
    assert reverse("shop:customer", args=[wanted.pk]) in piece.content.decode()
    assert "<html" not in piece.content.decode()


def test_the_lookup_is_a_plain_page_without_a_script(counter_client: Client) -> None:
    a_customer()
    assert "<h1>Customers</h1>" in counter_client.get(reverse("shop:customer_lookup"), {"q": "iwona"}).content.decode()


def test_an_empty_list_says_what_comes_first(counter_client: Client) -> None:
    assert "No customers yet" in counter_client.get(reverse("shop:customers")).content.decode()
    assert counter_client.get(reverse("shop:customers"), {"q": "x", "page": "99999999999", "sort": "nonsense"}).status_code == 200


@pytest.mark.parametrize("count", [1, 50])
def test_the_list_asks_the_same_few_questions(
    counter_client: Client, django_assert_num_queries: Callable[..., Any], count: int
) -> None:
    for number in range(count):
        a_set(a_customer(f"Customer {number}"))
    # Who asks is two of them, and whether the place they signed in at still stands is one.
    with django_assert_num_queries(7):
        counter_client.get(reverse("shop:customers"))


def test_a_card_shows_sets_and_jobs(counter_client: Client) -> None:
    job = a_job(person=a_staff())
    page = counter_client.get(reverse("shop:customer", args=[job.customer_id])).content.decode()
    assert job.number in page
    assert str(job.radio.model) in page


def test_a_business_has_its_country_tax_number_and_reference_on_its_bills(counter_client: Client) -> None:
    a_profile()
    assert write(counter_client, country="de", tax_id="DE 000 041 800", buyer_reference="Cost centre 17").status_code == 302
    customer = Customer.objects.get()
    assert (customer.country, customer.tax_id, customer.buyer_reference) == ("DE", "DE 000 041 800", "Cost centre 17")
    page = counter_client.get(reverse("shop:customer", args=[customer.pk])).content.decode()
    assert "Cost centre 17" in page
    invoice = an_invoice(a_job(Stage.READY, customer=customer))
    frozen = (invoice.buyer_country, invoice.buyer_tax_id, invoice.buyer_reference)
    assert frozen == ("DE", "DE 000 041 800", "Cost centre 17")
    paper = text_of(draw(invoice_paper(invoice, letterhead())))
    assert "DE 000 041 800" in paper
    assert "Cost centre 17" in paper
    assert an_invoice(a_job(Stage.READY)).buyer_country == "GB"


def test_a_country_that_is_none_is_refused_at_its_field(counter_client: Client) -> None:
    a_profile()
    answer = write(counter_client, country="D1")
    assert answer.status_code == 422
    assert "“D1” isn" in answer.content.decode()
