"""A set changes hands: whose it is now, and whether what the shop promised goes along."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import RadioSet, Stage, Warranty, WarrantyTransfer
from jobs.queries.holders import holder_of, is_held
from jobs.services.set_hands import NewOwner, hand_on
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import Customer
from tests.builders import a_customer, a_job, a_profile, a_set, a_staff
from tests.inventory.builders import errors_of, once, texts

pytestmark = pytest.mark.django_db


def a_warranted_set(**terms: Any) -> RadioSet:
    a_profile(**terms)
    return a_job(Stage.HANDED_OVER).radio


def move(radio: RadioSet, to: Customer, moved_on: date | None = None, seen: int | None = None) -> list[WarrantyTransfer]:
    known = RadioSet.objects.get(pk=radio.pk)
    new = NewOwner(to, moved_on or today(), "sold at the fair")
    return hand_on(known, new, seen=known.version if seen is None else seen, person=a_staff(), at=now())


def holder(radio: RadioSet) -> Customer:
    warranty = Warranty.objects.get(job__radio=radio)
    return holder_of(warranty, warranty.transfers_made.all())


def test_a_warranty_that_goes_along_is_the_new_owners() -> None:
    radio, to = a_warranted_set(), a_customer("Ossian Tarn")
    (made,) = move(radio, to)
    assert (made.goes_along, str(made.from_customer), str(made.to_customer), made.note) == (
        True,
        "Iwona Brzask",
        "Ossian Tarn",
        "sold at the fair",
    )
    assert RadioSet.objects.get().customer == to == holder(radio)


def test_one_that_does_not_ends_and_lives_again_only_with_whom_it_was_promised_to() -> None:
    radio, to, later = a_warranted_set(warranty_transfers=False), a_customer("Ossian Tarn"), a_customer("Bettina Quill")
    first = RadioSet.objects.get().customer
    assert [one.goes_along for one in move(radio, to)] == [False]
    assert not is_held(Warranty.objects.select_related("job__radio").get())
    assert [one.goes_along for one in move(radio, later)] == [False]
    assert [one.goes_along for one in move(radio, first)] == [True]
    assert is_held(Warranty.objects.select_related("job__radio").get())


def test_the_terms_of_its_own_day_count_and_not_todays() -> None:
    radio = a_warranted_set(warranty_transfers=True)
    a_profile(warranty_transfers=False)
    assert [one.goes_along for one in move(radio, a_customer("Ossian Tarn"))] == [True]


def test_a_warranty_that_has_run_out_is_not_handed_on() -> None:
    a_profile(warranty_days=10, labour_warranty_days=10)
    radio = a_job(Stage.HANDED_OVER, at=now() - timedelta(days=11)).radio
    assert move(radio, a_customer("Ossian Tarn")) == []
    assert RadioSet.objects.get().customer.name == "Ossian Tarn"


def test_while_a_job_is_open_a_set_stays_its_customers() -> None:
    job = a_job(Stage.REPAIRING)
    said = (
        f"Job {job.number} is open on this set, and its bill and its warranty are Iwona Brzask's. "
        "Hand the set over or give it back first."
    )
    with pytest.raises(Refused, match=said):
        move(job.radio, a_customer("Ossian Tarn"))


def test_it_moves_neither_to_whom_it_is_nor_tomorrow_nor_behind_somebodys_back() -> None:
    radio, to = a_set(), a_customer("Ossian Tarn")
    with pytest.raises(Refused, match="The set is Iwona Brzask's already. Choose who has it now."):
        move(radio, radio.customer)
    with pytest.raises(Refused, match="The day lies in the future. Write it down once the set has changed hands."):
        move(radio, to, today() + timedelta(days=1))
    with pytest.raises(Stale, match="The set was changed by somebody else since you opened it."):
        move(radio, to, seen=7)


# The pages.


def post(client: Client, radio: RadioSet, to: Customer | None = None, **typed: Any) -> Any:
    ask = f"?to={to.pk}" if to else ""
    data = {"once": once(), "seen": RadioSet.objects.get(pk=radio.pk).version, "moved_on": today().isoformat(), **typed}
    return client.post(reverse("jobs:set_hand_on", args=[radio.pk]) + ask, data)


def test_a_known_customer_is_found_and_gets_it_and_warranty_and_record_say_so(
    counter_client: Client, stranger_client: Client, colleague_client: Client
) -> None:
    radio, to = a_warranted_set(), a_customer("Ossian Tarn")
    page = reverse("jobs:set_hands", args=[radio.pk])
    shown = texts(counter_client.get(page, {"q": "tarn"}))
    assert "This customer has it" in shown
    assert "goes along" in shown
    token = once()
    for _ in range(2):
        assert post(counter_client, radio, to, once=token).status_code == 302
    assert WarrantyTransfer.objects.count() == 1
    job = Warranty.objects.get().job
    for where in (reverse("jobs:warranty", args=[job.pk]), reverse("billing:warranty_page", args=[job.pk])):
        said = texts(counter_client.get(where))
        assert "from Iwona Brzask to Ossian Tarn; the warranty went along" in said
        assert "Ossian Tarn holds it now." in said
    assert stranger_client.get(page).status_code == 302
    assert colleague_client.get(page).status_code == 403


def test_somebody_new_is_written_down_and_it_can_be_undone(counter_client: Client) -> None:
    radio = a_warranted_set()
    first = radio.customer
    assert post(counter_client, radio, name="Bettina Quill", email="quill@example.org").status_code == 302
    known = RadioSet.objects.get()
    assert (known.customer.name, known.customer.email) == ("Bettina Quill", "quill@example.org")
    back = reverse("jobs:set_hand_back", args=[radio.pk])
    data = {"once": once(), "seen": known.version, "customer": first.pk}
    assert counter_client.post(back, data).status_code == 302
    assert RadioSet.objects.get().customer == first == holder(radio)
    assert WarrantyTransfer.objects.count() == 2


def test_a_namesake_is_asked_about(counter_client: Client) -> None:
    radio = a_set()
    a_customer("Ossian Tarn")
    answer = post(counter_client, radio, name="Ossian Tarn")
    assert "Somebody much alike is known already. Use that card, or say that it's somebody else." in errors_of(answer)["__all__"]
    assert post(counter_client, radio, name="Ossian Tarn", somebody_else="on").status_code == 302


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({}, "name", "Write the new owner's name."),
        ({"name": "Ossian Tarn", "moved_on": "2999-01-01"}, "moved_on", "The day lies in the future."),
        ({"name": "Ossian Tarn", "seen": "7"}, "__all__", "The set was changed by somebody else since you opened it."),
    ],
)
def test_bad_input_is_refused_and_the_set_stays(typed: dict[str, str], field: str, said: str, counter_client: Client) -> None:
    answer = post(counter_client, a_set(), **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field][0].startswith(said)
    assert Customer.objects.count() == 1
