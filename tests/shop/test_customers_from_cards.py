"""Customers out of address cards: shown beside the book, chosen, written once."""

from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from shop import long_work
from shop.models import Customer, LongWork, Staff, WorkState
from tests import builders as make
from tests.conftest import signed_in
from tests.shop.test_address_cards import card

pytestmark = pytest.mark.django_db
TESS = card("FN:Tess Marrow", "TEL:020 7946 0011", "EMAIL:tess@example.org", "ADR:;;Mill Lane 4;Kettlewick;;K1 2AB;")
OTTO = card("FN:Otto Fensterl", "EMAIL:otto@example.org")


@pytest.fixture(autouse=True)
def _profile() -> None:
    make.a_profile()


def read(client: Client, text: str = TESS + OTTO) -> Any:
    return client.post(reverse("shop:customer_cards"), {"text": text, "once": str(uuid4())})


def write(client: Client, page: Any, *numbers: int, once: str = "") -> Any:
    typed = {"cards": page.context["form"]["cards"].value(), "take": [str(one) for one in numbers], "once": once or str(uuid4())}
    return client.post(reverse("shop:customer_cards_write"), typed, follow=True)


def test_reading_shows_each_card_and_writes_nothing(counter_client: Client) -> None:
    page = read(counter_client)
    text = page.content.decode()
    assert "2 cards were read, 2 of them are new to the book." in text
    assert [one.card.name for one, ticked in page.context["rows"] if ticked] == ["Tess Marrow", "Otto Fensterl"]
    assert not Customer.objects.exists()


def test_only_those_that_were_chosen_are_written(counter_client: Client) -> None:
    write(counter_client, read(counter_client), 0)
    tess = Customer.objects.get()
    assert (tess.name, tess.phone, tess.email) == ("Tess Marrow", "+44 20 7946 0011", "tess@example.org")
    assert tess.address == "Mill Lane 4\nKettlewick K1 2AB"


def test_a_file_does_as_well(counter_client: Client) -> None:
    upload = SimpleUploadedFile("mine.vcf", OTTO.encode(), content_type="text/vcard")
    page = counter_client.post(reverse("shop:customer_cards"), {"file": upload, "text": "", "once": str(uuid4())})
    assert "1 card was read, 1 of them is new to the book." in page.content.decode()


@pytest.mark.parametrize(
    ("known", "by"),
    [
        ({"name": "T. Marrow", "email": "Tess@Example.org"}, "e-mail"),
        ({"name": "The Marrows", "phone": "+44 20 7946 0011"}, "telephone"),
        ({"name": "tess MARROW"}, "name"),
    ],
)
def test_who_may_be_in_the_book_is_marked_and_not_ticked(counter_client: Client, known: dict[str, str], by: str) -> None:
    make.a_customer(**{"email": "", "phone": "", **known})
    page = read(counter_client)
    (tess, ticked), (_, other_ticked) = page.context["rows"]
    assert (tess.by, ticked, other_ticked) == (by, False, True)
    assert f"the same {by}:" in page.content.decode()


def test_who_is_in_the_book_just_so_is_never_written_again(counter_client: Client) -> None:
    page = read(counter_client)
    write(counter_client, page, 0, 1)
    assert "Is there" in read(counter_client).content.decode()
    answer = write(counter_client, page, 0, 1)
    assert answer.status_code == 422
    assert "Each of these stands in the book already, just so. Nothing was written." in answer.content.decode()
    assert Customer.objects.count() == 2


def test_a_card_that_stands_twice_in_the_file_is_written_once(counter_client: Client) -> None:
    page = read(counter_client, TESS + TESS)
    assert [ticked for _, ticked in page.context["rows"]] == [True, False]
    write(counter_client, page, 0, 1)
    assert Customer.objects.count() == 1


def test_the_form_sent_twice_writes_once(counter_client: Client) -> None:
    page, once = read(counter_client), str(uuid4())
    write(counter_client, page, 0, once=once)
    write(counter_client, page, 0, once=once)
    assert Customer.objects.count() == 1


def test_choosing_none_is_refused_and_keeps_the_cards(counter_client: Client) -> None:
    answer = write(counter_client, read(counter_client))
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "Choose at least one card, or leave the book as it is." in text
    assert "Tess Marrow" in text


@pytest.mark.parametrize("cards", ["", "[", "7", '[{"name": 1}]', '["x"]', "[" * 5_000])
def test_cards_that_were_lost_on_the_way_are_refused_in_words(counter_client: Client, cards: str) -> None:
    typed = {"cards": cards, "take": ["0"], "once": str(uuid4())}
    answer = counter_client.post(reverse("shop:customer_cards_write"), typed)
    assert answer.status_code == 422
    assert "What was read got lost on the way. Send the file again." in answer.content.decode()


def test_what_holds_no_card_is_told_at_its_field(counter_client: Client) -> None:
    answer = read(counter_client, "Tess Marrow, Mill Lane 4")
    assert answer.status_code == 422
    assert "A card begins with BEGIN:VCARD" in answer.content.decode()


def test_an_address_that_is_no_e_mail_is_left_out(counter_client: Client) -> None:
    write(counter_client, read(counter_client, card("FN:Tess Marrow", "EMAIL:tess at @home")), 0)
    assert Customer.objects.get().email == ""


def test_many_are_written_in_the_background_and_a_stop_keeps_those_written(counter: Staff) -> None:
    client = signed_in(counter)
    page = read(client, "".join(card(f"FN:Customer number {number}") for number in range(30)))
    answer = write(client, page, *range(30))
    assert "This page says how far that got" in answer.content.decode()
    long_work.run_waiting()
    work = LongWork.objects.get()
    assert (work.state, work.message, Customer.objects.count()) == (WorkState.DONE, "30 customers are written down.", 30)


def test_the_number_of_questions_does_not_grow_with_the_cards(counter_client: Client, django_assert_max_num_queries: Any) -> None:
    with django_assert_max_num_queries(8):
        read(counter_client, "".join(card(f"FN:Customer number {number}") for number in range(50)))


@pytest.mark.parametrize("name", ["customer_cards", "customer_cards_write"])
def test_the_bench_writes_no_customers(colleague_client: Client, name: str) -> None:
    assert colleague_client.get(reverse(f"shop:{name}")).status_code == 403
