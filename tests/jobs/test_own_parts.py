"""Parts that a customer brings: theirs alone, never charged, in no sum of the shop's, and given back when unused."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.services import issue_invoice
from inventory import services as stock
from inventory.models import Balance, Lot, Movement, MovementKind, Part
from inventory.pricing import price_terms
from inventory.queries.fullness import fill_of_cabinets
from inventory.queries.making_up import stock_values
from inventory.queries.parts import price_of, with_lots
from inventory.queries.shortages import standing_of
from inventory.queries.turning import dead_lots
from inventory.queries.valuing import value_on
from inventory.verification import LOOKS
from jobs.models import Job, Stage, WarrantyLine
from jobs.queries.candidates import candidates_for
from jobs.queries.own_parts import own_lots, unused_own_parts
from jobs.queries.sheet import position_state
from jobs.services import log
from jobs.services.own_parts import Brought, bring, give_back
from jobs.services.warranty import Days, start_warranty
from shop.acts import Refused
from shop.clock import now, today
from tests.builders import a_customer, a_drawer, a_fit, a_job, a_lot, a_part, a_profile, a_staff, author, drawer_of, position_of
from tests.inventory.builders import errors_of, once, texts

pytestmark = pytest.mark.django_db
MARKING = "0.01 µF 630 V"


def brought(job: Job, part: Part | None = None, count: int = 2, **more: Any) -> Lot:
    return bring(job, Brought(part or a_part(MARKING), a_drawer("B", "7"), count, **more), person=a_staff(), at=now())


def a_bench_job(**facts: Any) -> Job:
    return a_job(Stage.REPAIRING, with_fit=False, **facts)


def test_what_a_customer_brings_is_a_lot_of_theirs_at_no_cost() -> None:
    job = a_bench_job()
    lot = brought(job, note="from a flea market")
    assert (lot.owner, lot.unit_cost_milli, lot.supplier, lot.return_until_on) == (job.customer, 0, None, None)
    movement = lot.movements.get()
    assert (movement.kind, movement.count, movement.reason) == ("received", 2, f"brought for job {job.number}")


def test_a_lot_of_a_customers_has_no_cost_and_no_supplier() -> None:
    receipt = stock.Receipt(a_part(), a_drawer(), 1, 500, today(), owner=a_customer())
    with pytest.raises(Refused, match="What a customer brought cost the shop nothing and came from no supplier. Empty both."):
        stock.receive(receipt, person=a_staff(), at=now())


def test_fitted_it_is_not_charged_whatever_its_list_price_and_the_warranty_covers_the_work_only() -> None:
    job = a_bench_job()
    lot = brought(job, a_part(MARKING, list_price_minor=900))
    entry = a_fit(job, "C2", lot)
    assert (entry.charged, entry.not_charged_reason, entry.price_minor) == (False, "customer's own part", 0)
    assert entry.movement.count == -1
    line = issue_invoice_line(job)
    assert (line.charged, line.not_charged_reason, line.amount_minor) == (False, "customer's own part", 0)


def issue_invoice_line(job: Job) -> Any:
    return issue_invoice(job, person=a_staff(), at=now()).lines.get(designator="C2")


def test_it_needs_no_consent_as_it_costs_the_customer_nothing() -> None:
    job = a_job(Stage.REPAIRING, with_fit=False, labour_minor=0)
    assert not a_fit(job, "C2", brought(job)).charged


def test_a_price_by_hand_is_refused() -> None:
    job = a_bench_job()
    with pytest.raises(Refused, match="The customer brought this part, so nothing is charged for it. Empty the price."):
        a_fit(job, "C2", brought(job), price=log.SetPrice(300, "because"))


def test_in_anothers_set_it_is_neither_fitted_nor_held_nor_offered() -> None:
    lot, other = brought(a_bench_job()), a_bench_job(customer=a_customer("Ossian Tarn"))
    said = "These are Iwona Brzask's own parts and go into no other customer's set. Choose a part of another lot."
    with pytest.raises(Refused, match=said):
        a_fit(other, "C2", lot)
    with pytest.raises(Refused, match=said):
        log.decide(position_of(other), "replace", author(), plan=log.Plan(lot.part, 1, lot, drawer_of(lot)))
    assert candidates_for(position_state(position_of(other)), other) == []
    assert Balance.objects.get(lot=lot).on_hand == 2


def test_to_its_own_customer_it_is_offered_first() -> None:
    job = a_bench_job()
    part = a_part(MARKING)
    a_lot(part)
    lot = brought(job, part)
    offers = candidates_for(position_state(position_of(job)), job)
    assert [one.is_own for one in offers] == [True, False]
    assert offers[0].lot == lot


def test_it_stands_in_no_sum_of_the_shops() -> None:
    job = a_bench_job()
    part = a_part(MARKING, minimum=3, list_price_minor=900)
    lot = brought(job, part, count=5)
    standing = standing_of(part)
    assert (standing.free, standing.short) == (0, 3)
    assert value_on(today()).parts == []
    assert Part.objects.with_stock().get(pk=part.pk).on_hand == 0  # type: ignore[attr-defined]
    assert stock_values("capacitance") == []
    assert dead_lots(today(), 0) == []
    cabinet = next(one for one in fill_of_cabinets() if one.name == "B")
    assert (cabinet.whole.pieces, cabinet.whole.cost_milli, cabinet.whole.short) == (5, 0, 1)
    unlisted = with_lots(Part.objects.filter(pk=lot.part_id)).get()
    unlisted.list_price_minor = None
    assert price_of(unlisted, unlisted.known_lots, price_terms()) is None  # type: ignore[attr-defined]


def test_it_goes_back_to_the_customer_and_not_to_a_supplier() -> None:
    job = a_bench_job()
    lot = brought(job)
    with pytest.raises(Refused, match="These are Iwona Brzask's own parts. Give them back to the customer instead."):
        stock.send_back(lot, drawer_of(lot), 1, reason="wrong", person=a_staff(), at=now())
    given = give_back(job, lot, drawer_of(lot), 2, person=a_staff(), at=now())
    assert (given.kind, given.count, given.reason, given.reference) == (
        MovementKind.SENT_BACK,
        -2,
        "given back to Iwona Brzask",
        job.number,
    )
    assert unused_own_parts(job) == []
    assert [(one.on_hand, one.fitted, one.given_back) for one in own_lots(job)] == [(0, 0, 2)]


def test_the_shops_own_parts_are_given_to_nobody() -> None:
    job, lot = a_bench_job(), a_lot()
    with pytest.raises(Refused, match=f"Lot {lot.pk} isn't what Iwona Brzask brought. Look at the list of their parts."):
        give_back(job, lot, drawer_of(lot), 1, person=a_staff(), at=now())


def test_on_hand_stays_the_sum_of_movements() -> None:
    job = a_bench_job()
    lot = brought(job)
    entry = a_fit(job, "C2", lot)
    log.take_out(entry, "wrong place", author(), scrap=False)
    give_back(job, lot, drawer_of(lot), 1, person=a_staff(), at=now())
    assert sum(lot.movements.values_list("count", flat=True)) == Balance.objects.get(lot=lot).on_hand == 1
    assert [found for look in LOOKS for found in look().differences] == []


def test_a_valve_set_apart_stays_the_customers() -> None:
    job = a_bench_job()
    lot = brought(job, a_part("12SK7", kind="valve"))
    (one,) = stock.set_apart(lot, drawer_of(lot), ["V1"], person=a_staff(), at=now())
    assert one.owner == job.customer


# The pages.


def take_in(client: Client, job: Job, part: Part | None = None, **typed: Any) -> Any:
    ask = f"?part={part.pk}" if part else ""
    data = {"once": once(), "count": "2", "condition": "used", "cabinet": "B", "tray": "7", **typed}
    return client.post(reverse("jobs:own_part_new", args=[job.pk]) + ask, data)


def test_a_part_is_found_taken_in_and_listed(counter_client: Client, stranger_client: Client) -> None:
    job, part = a_bench_job(), a_part(MARKING)
    page = reverse("jobs:own_parts", args=[job.pk])
    assert "Nothing yet." in texts(counter_client.get(page))
    assert part.title in texts(counter_client.get(page, {"q": "0.01"}))
    token = once()
    assert take_in(counter_client, job, part, once=token, note="his father's").status_code == 302
    assert take_in(counter_client, job, part, once=token, note="his father's").status_code == 302
    assert Lot.objects.get(owner=job.customer).note == "his father's"
    for where in (page, reverse("jobs:job", args=[job.pk]), reverse("billing:hand_over", args=[job.pk])):
        assert part.title in texts(counter_client.get(where)), where
    assert stranger_client.get(page).status_code == 302


def test_a_part_without_a_card_gets_one(colleague_client: Client) -> None:
    job = a_bench_job()
    assert take_in(colleague_client, job, kind="valve", marking="EBL21").status_code == 302
    lot = Lot.objects.get(owner=job.customer)
    assert (lot.part.marking, lot.part.minimum, lot.part.list_price_minor) == ("EBL21", 0, None)


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"count": "0"}, "count", "The count must be at least 1."),
        ({"count": "many"}, "count", "Enter a whole number."),
        ({"cabinet": "", "tray": ""}, "drawer", "Say which drawer they go into."),
    ],
)
def test_bad_input_is_refused_in_words(typed: dict[str, str], field: str, said: str, counter_client: Client) -> None:
    answer = take_in(counter_client, a_bench_job(), a_part(MARKING), **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [said]
    assert not Lot.objects.exists()


def test_what_is_left_is_given_back_and_that_can_be_undone(counter_client: Client) -> None:
    job = a_bench_job()
    lot = brought(job)
    data = {"once": once(), "lot": lot.pk, "drawer": drawer_of(lot).pk, "count": "2"}
    address = reverse("jobs:own_part_back", args=[job.pk])
    for _ in range(2):
        answer = counter_client.post(address, data)
    assert Movement.objects.filter(kind=MovementKind.SENT_BACK).count() == 1
    given = Movement.objects.get(kind=MovementKind.SENT_BACK)
    assert "2 given back" in texts(counter_client.get(answer["Location"]))
    kept = reverse("jobs:own_part_kept", args=[job.pk])
    assert counter_client.post(kept, {"once": once(), "movement": given.pk}).status_code == 302
    assert Balance.objects.get(lot=lot).on_hand == 2
    again = texts(counter_client.post(kept, {"once": once(), "movement": given.pk}))
    assert "That was taken back already." in again


def test_more_than_lies_there_is_not_given_back(counter_client: Client) -> None:
    job = a_bench_job()
    lot = brought(job)
    data = {"once": once(), "lot": lot.pk, "drawer": drawer_of(lot).pk, "count": "3"}
    answer = counter_client.post(reverse("jobs:own_part_back", args=[job.pk]), data)
    assert answer.status_code == 422
    assert "has 2 of" in texts(answer)


def test_lots_drawers_and_cards_say_whose_they_are(counter_client: Client) -> None:
    job = a_bench_job()
    lot = brought(job)
    pages = {
        "inventory:lot": lot.pk,
        "inventory:part": lot.part_id,
        "inventory:drawer": drawer_of(lot).pk,
    }
    for name, pk in pages.items():
        page = texts(counter_client.get(reverse(name, args=[pk])))
        assert "Iwona Brzask" in page, name
        assert "Brought by the customer" in page, name
    assert "Iwona Brzask (customer" in texts(counter_client.get(reverse("inventory:lots")))


def test_under_warranty_its_kind_is_the_customers_own() -> None:
    a_profile()
    job = a_job(Stage.PROVING, with_fit=False)
    a_fit(job, "C2", brought(job))
    start_warranty(job, Days(today()))
    line = WarrantyLine.objects.get(designator="C2")
    assert (line.kind, line.covered) == ("own_part", False)
    assert line.note == "brought by the customer; only the work of fitting it is covered"
