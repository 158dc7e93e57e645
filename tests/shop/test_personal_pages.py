"""What is held of a customer, on pages: what would go and what stays, erasing, refusing; and the owner's list of keeping."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from shop.clock import now
from shop.models import Customer, DataRequest, Role, Staff
from tests import builders as make
from tests.conftest import StillClock, signed_in
from tests.words import words_of

pytestmark = pytest.mark.django_db
TODAY = "2026-03-02"


@pytest.fixture
def customer(still_clock: StillClock) -> Customer:
    make.a_profile(jurisdiction="gb")
    return make.a_customer("Iwona Brzask", phone="020 7946 0018")


def page(client: Client, customer: Customer) -> Any:
    return client.get(reverse("shop:customer_data", args=[customer.pk]))


def send(client: Client, act: str, customer: Customer, /, **typed: str) -> Any:
    shown = page(client, customer).context
    values = {"once": str(uuid4()), "digest": shown["plan"].fingerprint, "asked_on": TODAY, "kind": "erase", "how": "by letter"}
    return client.post(reverse(f"shop:{act}", args=[customer.pk]), {**values, **typed})


def test_the_page_says_what_goes_and_what_stays_with_its_law(owner_client: Client, customer: Customer) -> None:
    job = make.a_job("returned", customer=customer)
    text = words_of(page(owner_client, customer))
    assert "Card 1 name, telephone, e-mail, address" in text
    assert f"Papers of {job.number}" in text
    assert "Value Added Tax Act 1994, schedule 11 paragraph 6" in text
    assert "31 Dec 2032" in text
    assert "from memory; check the current text" in text


def test_erasing_asks_for_the_name_and_acts_once(owner_client: Client, customer: Customer) -> None:
    refused = send(owner_client, "customer_erase", customer, name="Iwona Brzesk", note="please")
    assert refused.status_code == 422
    assert "That isn&#x27;t the name on this card: Iwona Brzask." in refused.content.decode()
    assert "please" in refused.content.decode()
    token = str(uuid4())
    for _ in range(2):
        # The second sending of the same form: the name on it fits no card any more.
        answer = send(owner_client, "customer_erase", customer, name="iwona brzask", once=token)
        assert answer.status_code == 302
    assert Customer.objects.get().name == "erased customer 1"
    assert DataRequest.objects.count() == 1
    assert "What no law keeps was erased on" in words_of(page(owner_client, customer))


def test_a_plan_that_changed_is_shown_anew_with_what_was_typed(owner_client: Client, customer: Customer) -> None:
    answer = send(owner_client, "customer_erase", customer, name="Iwona Brzask", digest="0" * 64, how="a call")
    assert answer.status_code == 422
    assert "Something changed since you opened this page." in answer.content.decode()
    assert answer.context["plan"].fingerprint in answer.content.decode()
    assert "a call" in answer.content.decode()
    assert Customer.objects.get().erased_at is None


def test_a_refusal_is_written_with_its_reason(owner_client: Client, customer: Customer) -> None:
    assert send(owner_client, "customer_refuse", customer, note="").status_code == 422
    assert send(owner_client, "customer_refuse", customer, note="asked by a neighbour").status_code == 302
    text = words_of(page(owner_client, customer))
    assert "Refused, with the reason asked by a neighbour" in text


def test_the_counter_reads_and_copies_but_does_not_erase(counter: Staff, colleague: Staff, customer: Customer) -> None:
    client = signed_in(counter)
    text = words_of(page(client, customer))
    assert "The owner erases. Show them this page." in text
    for name in ("customer_erase", "customer_refuse"):
        assert client.post(reverse(f"shop:{name}", args=[customer.pk])).status_code == 403
    bench = signed_in(colleague)
    for name in ("keeping_time", "keeping_erase"):
        assert bench.post(reverse(f"shop:{name}")).status_code == 403
    assert page(bench, customer).status_code == 403


def test_the_list_says_until_when_and_why(owner_client: Client, customer: Customer) -> None:
    make.a_job("returned", customer=customer)
    here = make.a_job("repairing", customer=make.a_customer("Zdenka Other"))
    text = words_of(owner_client.get(reverse("shop:keeping_time")))
    assert "Iwona Brzask 31 Dec 2032 hand-over" in text
    assert f"Held {here.number}: it stands in the workshop" in text
    csv = owner_client.get(reverse("shop:keeping_time") + "?as=csv").content.decode("utf-8-sig")
    assert f"Held: {here.number}: it stands in the workshop" in csv


def test_all_whose_time_has_ended_go_with_one_press(owner_client: Client, customer: Customer, still_clock: StillClock) -> None:
    where = reverse("shop:keeping_time")
    assert "time has ended" not in words_of(owner_client.get(where)).partition("Today")[0]
    still_clock.forward(days=365 * 8)
    owner_client.force_login(make.a_staff("owner2", Role.OWNER))
    make.a_customer("Zdenka Other", at=now())
    assert "1 customer's time has ended" in words_of(owner_client.get(where + "?show=ended"))
    today = words_of(owner_client.get(reverse("today")))
    assert "The time of keeping has ended for 1 customer" in today
    assert "time of keeping" not in words_of(signed_in(make.a_staff("till", Role.COUNTER)).get(reverse("today")))
    whole = owner_client.get(reverse("today"), {"list": "keeping"})
    assert reverse("shop:keeping_time") in whole.content.decode()
    press = {"once": str(uuid4()), "count": "1"}
    erase = reverse("shop:keeping_erase")
    assert "Tick that nothing brings it back" in owner_client.post(erase, press).content.decode()
    assert "The list changed since" in owner_client.post(erase, {**press, "count": "2", "sure": "1"}).content.decode()
    for _ in range(2):
        assert owner_client.post(erase, {**press, "sure": "1"}).status_code == 302
    assert sorted(Customer.objects.values_list("name", flat=True)) == ["Zdenka Other", "erased customer 1"]
    assert DataRequest.objects.get().kind == "clock"
