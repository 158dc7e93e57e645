"""Taking a set in at the counter, in a browser without scripts."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Deposit, Job, Photo, RadioModel, RadioSet
from jobs.views.intake import NO_WARRANTY
from shop.models import Customer
from tests.builders import a_customer, a_job, a_model, a_profile, a_set
from tests.conftest import MONDAY
from tests.jobs.pictures import a_picture, no_picture
from tests.jobs.sent import sent_form

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still_clock")]
INTAKE = "/jobs/intake/"
# The box for a running warranty is drawn only where one runs.
NOT_TYPED = ("once", "csrfmiddlewaretoken", "came_back")


@pytest.fixture(autouse=True)
def _profile(db: None) -> None:
    a_profile(country="GB", inspection_fee_minor=2500)


def fresh(client: Client, query: str = "", **typed: Any) -> dict[str, Any]:
    """The form as it stands on the page, with what the counter types."""
    whole = {
        "name": "Wilmot Asketh",
        "phone": "020 7946 0958",
        "maker": "Korvan",
        "model": "Aurora 5",
        "serial": "K 1234",
        "year": "1951",
        "supply_kind": "transformer",
        "lineup": "ECH42, EF41, EBC41, EL41, AZ41",
        "fault": "Crackles, then silence.",
        "count_knobs": "4",
        "count_valves": "5",
        "thing_1": "service sheet",
    }
    page = sent_form(client.get(INTAKE + query), "fault")
    offered = {
        name: value for name, value in whole.items() if not query or name in ("fault", "count_knobs", "count_valves", "thing_1")
    }
    return {**page, **offered, **typed}


def test_the_page_opens_with_the_shops_inspection_fee(counter_client: Client) -> None:
    page = counter_client.get(INTAKE)
    assert page.status_code == 200
    assert sent_form(page, "fault")["inspection_fee"] == "25.00"


def test_a_new_customers_new_set_is_taken_in(counter_client: Client) -> None:
    typed = fresh(
        counter_client,
        goal="museum",
        may_drill="on",
        old_parts_back="on",
        deposit="20",
        deposit_how="cash",
        promised_on="2026-03-20",
        stands_at="Shelf B",
        thing_2="spare valves",
        thing_count_2="3",
        photos=[a_picture("front.png"), a_picture("back.png")],
    )
    answer = counter_client.post(INTAKE, typed)
    job = Job.objects.get()
    assert answer.headers["Location"] == reverse("jobs:job", args=[job.pk])
    assert (job.customer.name, str(job.radio), job.radio.year) == ("Wilmot Asketh", "Korvan Aurora 5, serial K 1234", 1951)
    assert (job.goal, job.may_drill, job.may_rewire, job.old_parts_back, job.stands_at) == (
        "museum",
        True,
        False,
        True,
        "Shelf B",
    )
    assert [(thing.what, thing.count) for thing in job.came_with.all()] == [
        ("knobs", 4),
        ("valves", 5),
        ("service sheet", 1),
        ("spare valves", 3),
    ]
    assert [(one.amount_minor, one.how) for one in Deposit.objects.all()] == [(2000, "cash")]
    assert [consent.ceiling_minor for consent in job.consents.all()] == [2500]
    assert [photo.caption for photo in job.photos.all()] == ["at intake", "at intake"]


def test_a_stranger_is_sent_to_sign_in_and_the_bench_is_refused(stranger_client: Client, colleague_client: Client) -> None:
    radio = a_set()
    job = a_job(radio=radio)
    for address in (
        INTAKE,
        reverse("jobs:set_lookup"),
        reverse("jobs:intake_cautions"),
        reverse("jobs:job_change", args=[job.pk]),
    ):
        assert stranger_client.get(address).headers["Location"].startswith(reverse("login")), address
        assert colleague_client.get(address).status_code == 403, address
    assert stranger_client.get(reverse("jobs:set_change", args=[radio.pk])).status_code == 302


def test_the_same_intake_sent_twice_is_one_job(counter_client: Client) -> None:
    typed = fresh(counter_client)
    first, second = counter_client.post(INTAKE, typed), counter_client.post(INTAKE, typed)
    assert first.headers["Location"] == second.headers["Location"]
    assert (Job.objects.count(), Customer.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("changes", "field", "error"),
    [
        ({"fault": ""}, "fault", "Write the fault in the customer's own words."),
        ({"maker": ""}, "maker", "Write the maker and the model; “unknown” will do."),
        ({"supply_kind": ""}, "supply_kind", "Choose how the set is supplied; it decides which cautions and checks apply."),
        ({"year": "19x1"}, "year", "Write the year in four figures, such as 1951, or leave it empty."),
        ({"promised_on": "2026-03-01"}, "promised_on", "The promised date has passed already."),
        ({"deposit": "20"}, "deposit_how", "Choose how the deposit was paid."),
        ({"deposit": "twenty"}, "deposit", "“twenty” can't be read as a sum. Type it like 12.50."),
        ({"name": ""}, "name", "Write the customer's name."),
        ({"once": ""}, "once", "This form was incomplete when it arrived. Check it and send it again."),
        ({"came_back": "on"}, "came_back", NO_WARRANTY),
    ],
)
def test_what_is_wrong_is_told_and_nothing_typed_is_lost(
    counter_client: Client, changes: dict[str, str], field: str, error: str
) -> None:
    typed = {**fresh(counter_client), "stands_at": "Shelf B", **changes}
    answer = counter_client.post(INTAKE, typed)
    assert answer.status_code == 422
    assert answer.context["form"].errors[field] == [error]
    kept = sent_form(answer, "fault")
    assert {name: kept.get(name, "") for name in typed if name not in NOT_TYPED} == {
        name: value for name, value in typed.items() if name not in NOT_TYPED
    }
    assert (Job.objects.count(), Customer.objects.count(), RadioSet.objects.count()) == (0, 0, 0)


def test_a_file_that_is_no_picture_refuses_the_form_by_its_name(counter_client: Client) -> None:
    answer = counter_client.post(INTAKE, fresh(counter_client, photos=[a_picture(), no_picture("receipt.jpg")]))
    assert answer.status_code == 422
    assert answer.context["form"].errors["photos"] == ["“receipt.jpg” is no picture we can read. JPEG, PNG and WebP are taken."]
    text = answer.content.decode()
    assert "Choose the photos again before sending." in text
    assert "Crackles, then silence." in text
    assert not Photo.objects.exists()
    assert not Job.objects.exists()


def test_a_known_customer_is_looked_up_and_chosen_without_losing_anything(counter_client: Client) -> None:
    radio = a_set(a_customer("Wilma Drummel", phone="0161 496 0000"))
    typed = {**fresh(counter_client), "name": "", "phone": "", "maker": "", "model": "", "who": "0161 496"}
    found = counter_client.post(INTAKE, {**typed, "find_customer": "1"})
    assert found.status_code == 200
    assert found.context["found"] == [radio.customer]
    assert not found.context["form"].errors
    chosen = counter_client.post(INTAKE, {**sent_form(found, "fault"), "choose_customer": str(radio.customer_id)})
    form = sent_form(chosen, "fault")
    assert (form["customer"], form["radio"]) == (str(radio.customer_id), str(radio.pk))
    assert form["fault"] == "Crackles, then silence."
    assert counter_client.post(INTAKE, form).status_code == 302
    job = Job.objects.get()
    assert (job.radio, job.customer, Customer.objects.count()) == (radio, radio.customer, 1)


def test_the_enter_key_in_the_search_looks_up_and_takes_nothing_in(counter_client: Client) -> None:
    customer = a_customer("Wilma Drummel")
    typed = {**fresh(counter_client), "name": "", "phone": "", "who": "drummel", "do": "take_in"}
    answer = counter_client.post(INTAKE, typed)
    assert (answer.status_code, answer.context["found"], Job.objects.count()) == (200, [customer], 0)


@pytest.mark.parametrize(
    ("who", "field"), [("Nobody Known", "name"), ("0113 496 0000", "phone"), ("nobody@example.org", "email")]
)
def test_a_search_that_finds_nobody_begins_the_new_card(counter_client: Client, who: str, field: str) -> None:
    typed = {**fresh(counter_client), "name": "", "phone": "", "who": who, "find_customer": "1"}
    assert sent_form(counter_client.post(INTAKE, typed), "fault")[field] == who


def test_a_choice_can_be_taken_back(counter_client: Client) -> None:
    customer = a_customer()
    form = fresh(counter_client, f"?customer={customer.pk}")
    again = counter_client.post(INTAKE, {**form, "other_customer": "1"})
    assert sent_form(again, "fault")["customer"] == ""
    assert sent_form(again, "fault")["fault"] == "Crackles, then silence."


def test_somebody_alike_is_offered_before_a_second_card(counter_client: Client) -> None:
    known = a_customer("Wilmot Asketh", email="old@example.org")
    answer = counter_client.post(INTAKE, fresh(counter_client))
    assert answer.status_code == 422
    assert answer.context["alike"] == [known]
    assert Job.objects.count() == 0
    form = sent_form(answer, "fault")
    key = answer.context["alike_key"]
    used = counter_client.post(INTAKE, {**form, "choose_customer": str(known.pk)})
    assert counter_client.post(INTAKE, sent_form(used, "fault")).status_code == 302
    assert (Job.objects.get().customer, Customer.objects.count()) == (known, 1)
    form = {**form, "once": str(uuid.uuid4()), "serial": "K 99"}
    assert counter_client.post(INTAKE, {**form, "somebody_else": key}).status_code == 302
    assert Customer.objects.count() == 2


def test_its_somebody_else_holds_for_the_typed_person_only(counter_client: Client) -> None:
    a_customer("Wilmot Asketh")
    a_customer("Ines Drummel")
    key = counter_client.post(INTAKE, fresh(counter_client)).context["alike_key"]
    other = counter_client.post(INTAKE, {**fresh(counter_client, somebody_else=key), "name": "Ines Drummel"})
    assert other.status_code == 422
    assert [person.name for person in other.context["alike"]] == ["Ines Drummel"]


def test_a_known_set_comes_in_again(counter_client: Client) -> None:
    radio = a_set(model=a_model())
    form = fresh(counter_client, f"?customer={radio.customer_id}&set={radio.pk}")
    assert form["radio"] == str(radio.pk)
    assert counter_client.post(INTAKE, form).status_code == 302
    job = Job.objects.get()
    assert job.radio == radio
    assert [position.designator for position in job.positions.all()] == ["C1", "C2", "C3", "R1", "V1"]


def test_a_set_that_is_here_already_is_not_taken_in_twice(counter_client: Client) -> None:
    job = a_job()
    form = fresh(counter_client, f"?customer={job.customer_id}&set={job.radio_id}")
    answer = counter_client.post(INTAKE, form)
    assert answer.status_code == 422
    assert answer.context["form"].errors["radio"] == [f"This set is in the workshop already, as job {job.number}."]
    assert f"job {job.number}" in answer.content.decode()


def test_one_of_several_sets_must_be_chosen(counter_client: Client) -> None:
    customer = a_customer()
    a_set(customer, serial="1")
    a_set(customer, serial="2")
    answer = counter_client.post(INTAKE, fresh(counter_client, f"?customer={customer.pk}"))
    assert answer.context["form"].errors["radio"] == ["Choose which set it is, or “Another set”."]


def test_a_known_set_and_a_typed_one_are_not_both_meant(counter_client: Client) -> None:
    radio = a_set()
    form = fresh(counter_client, f"?customer={radio.customer_id}&set={radio.pk}", maker="Telmar", model="Concert 3")
    answer = counter_client.post(INTAKE, form)
    assert answer.context["form"].errors["radio"] == [
        "A known set is chosen, but a maker or model is typed too. Choose “Another set”, or empty those fields."
    ]


def test_a_set_of_another_customer_is_no_choice(counter_client: Client) -> None:
    theirs = a_set(a_customer("Somebody Different"))
    own = a_set(a_customer("Own Person"))
    form = fresh(counter_client, f"?customer={own.customer_id}", radio=str(theirs.pk))
    assert counter_client.post(INTAKE, form).status_code == 422
    assert not Job.objects.exists()


def test_a_set_whose_warranty_runs_is_linked_to_the_job_it_comes_back_from(
    counter_client: Client, still_clock: Callable[[], Any]
) -> None:
    past = a_job("handed_over", at=MONDAY - timedelta(days=20))
    page = counter_client.get(f"{INTAKE}?customer={past.customer_id}&set={past.radio_id}")
    assert "Warranty runs" in page.content.decode()
    form = {**sent_form(page, "fault"), "fault": "Quiet again.", "came_back": "on"}
    assert counter_client.post(INTAKE, form).status_code == 302
    assert Job.objects.latest("pk").warranty_of == past


def test_a_warranty_that_has_ended_is_not_offered(counter_client: Client) -> None:
    past = a_job("handed_over", at=MONDAY - timedelta(days=200))
    page = counter_client.get(f"{INTAKE}?customer={past.customer_id}&set={past.radio_id}").content.decode()
    assert "Warranty runs" not in page
    assert "came_back" not in page


def test_a_known_model_is_offered_with_its_list_and_its_traps(counter_client: Client) -> None:
    model = a_model("Kestrel 5", "Merrowby")
    RadioModel.objects.filter(pk=model.pk).update(traps="C1 is from the line to the chassis.", lineup="12SK7, 50L6")
    piece = counter_client.get(reverse("jobs:set_lookup"), {"model": "kestr"}, headers={"HX-Request": "true"}).content.decode()
    assert "5 positions called for" in piece
    assert "C1 is from the line to the chassis." in piece
    typed = {**fresh(counter_client), "maker": "merrowby", "model": "", "lineup": "", "find_model": "1"}
    found = counter_client.post(INTAKE, typed)
    assert [one.pk for one in found.context["models"]] == [model.pk]
    chosen = sent_form(counter_client.post(INTAKE, {**sent_form(found, "fault"), "choose_model": str(model.pk)}), "fault")
    assert [chosen[name] for name in ("maker", "model", "supply_kind", "lineup", "year")] == [
        "Merrowby",
        "Kestrel 5",
        "transformerless",
        "12SK7, 50L6",
        "1951",
    ]


def test_the_model_lookup_without_a_script_is_the_list_of_models(counter_client: Client) -> None:
    answer = counter_client.get(reverse("jobs:set_lookup"), {"maker": "Merrow & Co"})
    assert answer.headers["Location"] == f"{reverse('jobs:models')}?q=Merrow+%26+Co"


def test_another_supply_than_the_known_models_is_asked_about(counter_client: Client) -> None:
    a_model("Aurora 5", "Korvan", "transformerless")
    answer = counter_client.post(INTAKE, fresh(counter_client))
    assert answer.context["form"].errors["supply_kind"] == [
        "Korvan Aurora 5 is kept here as “Transformerless (AC/DC)”. Choose that, or give this set the model name it really has."
    ]


def test_cautions_follow_the_supply(counter_client: Client) -> None:
    address = reverse("jobs:intake_cautions")
    assert "The chassis may be live" in counter_client.get(address, {"supply_kind": "transformerless"}).content.decode()
    battery = counter_client.get(
        address, {"supply_kind": "battery", "lineup": "OC71 transistors", "year": "1961"}
    ).content.decode()
    assert "The chassis may be live" not in battery
    assert "high-tension battery" not in battery.lower()
    assert (
        "The chassis may be live"
        in counter_client.post(
            INTAKE, {**fresh(counter_client), "supply_kind": "transformerless", "find_model": "1"}
        ).content.decode()
    )


@pytest.mark.parametrize("query", ["?customer=x", "?customer=99999999999999999999", "?customer=77&set=1", "?customer=1&set=zz"])
def test_an_odd_address_opens_the_page_all_the_same(counter_client: Client, query: str) -> None:
    assert counter_client.get(INTAKE + query).status_code == 200


def test_two_people_correct_one_intake(counter_client: Client, owner_client: Client) -> None:
    job = a_job(fault="Hums.", came_with=(("knobs", 3), ("dial lamp", 2)))
    address = reverse("jobs:job_change", args=[job.pk])
    one, two = (sent_form(client.get(address), "fault") for client in (counter_client, owner_client))
    assert (one["count_knobs"], one["thing_1"], one["thing_count_1"]) == ("3", "dial lamp", "2")
    answer = counter_client.post(address, {**one, "stands_at": "Shelf C", "count_knobs": "4"})
    assert answer.headers["Location"] == reverse("jobs:job", args=[job.pk])
    late = owner_client.post(address, {**two, "fault": "Hums loudly."})
    assert late.status_code == 422
    assert late.context["form"].non_field_errors() == [
        f"Job {job.number} was changed by somebody else since you opened it. What you typed is still here: "
        "compare it with the job as it is now, then send it again."
    ]
    assert dict(late.context["now"]) == {
        "Where it stands": "Shelf C",
        "The fault, in the customer's own words": "Hums.",
        "Knobs": "4",
    }
    again = owner_client.post(address, {**sent_form(late, "fault"), "stands_at": "Shelf C", "count_knobs": "4"})
    assert again.status_code == 302
    job.refresh_from_db()
    assert (job.fault, job.stands_at) == ("Hums loudly.", "Shelf C")
    assert [(thing.what, thing.count) for thing in job.came_with.all()] == [("knobs", 4), ("dial lamp", 2)]


def test_many_counted_things_survive_a_correction(counter_client: Client) -> None:
    things = tuple((f"thing {number}", number) for number in range(1, 10))
    job = a_job(came_with=things)
    address = reverse("jobs:job_change", args=[job.pk])
    assert counter_client.post(address, sent_form(counter_client.get(address), "fault")).status_code == 302
    assert [(thing.what, thing.count) for thing in job.came_with.all()] == list(things)


def test_a_closed_job_is_not_corrected(counter_client: Client) -> None:
    job = a_job("handed_over")
    address = reverse("jobs:job_change", args=[job.pk])
    answer = counter_client.post(address, sent_form(counter_client.get(address), "fault"))
    assert answer.status_code == 422
    assert answer.context["form"].non_field_errors() == [
        f"Job {job.number} is closed (handed over), so nothing is added to it any more."
    ]


def test_two_people_correct_one_set(counter_client: Client, colleague_client: Client) -> None:
    radio = a_set(model=a_model())
    address = reverse("jobs:set_change", args=[radio.pk])
    one, two = (sent_form(client.get(address), "serial") for client in (counter_client, colleague_client))
    assert counter_client.post(address, {**one, "serial": "4712"}).status_code == 302
    late = colleague_client.post(address, {**two, "year": "1949"})
    assert late.status_code == 422
    assert late.context["form"].non_field_errors() == [
        "The set was changed by somebody else since you opened it. Compare, then send again."
    ]
    assert dict(late.context["now"]) == {"Serial number": "4712", "Year made": "nothing"}
    radio.refresh_from_db()
    assert (radio.serial, radio.year) == ("4712", None)


def test_a_corrected_model_name_moves_the_set(counter_client: Client) -> None:
    radio = a_set(model=a_model())
    address = reverse("jobs:set_change", args=[radio.pk])
    form = {**sent_form(counter_client.get(address), "serial"), "model": "Kestrel 6"}
    assert counter_client.post(address, form).status_code == 302
    radio.refresh_from_db()
    assert str(radio.model) == "Merrowby Kestrel 6"
    assert RadioModel.objects.filter(name="Kestrel 5").exists()
