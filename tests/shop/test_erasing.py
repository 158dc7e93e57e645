"""Erasing a person: what no law keeps goes at once, the rest when its time ends; numbers, sums and proofs stay as they were."""

from datetime import date, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from billing import drawn
from billing.models import Invoice
from jobs.models import Consent, Job, JobAct, Photo
from jobs.queries.photos import fold
from jobs.services import log
from jobs.services.photos import add_photo, lock_found_state
from shop.acts import Refused, Stale
from shop.append_only import ERASED
from shop.clock import now, today
from shop.customers import CustomerFacts, change_customer
from shop.long_work import Asked, run_here
from shop.models import Customer, DataRequest, KeptFilter, Profile, Role, Staff
from shop.personal.erasing import Wish, erase, erase_ended, write_refusal
from shop.personal.keeping import clocks, first_ended
from shop.personal.plan import Plan, plan_of
from shop.pictures import read_picture
from shop.place import rules_of
from shop.verification import verify
from tests import builders as make
from tests.conftest import StillClock
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db
NAME = "Iwona Brzask"
# In Great Britain papers of 2026 stay until the end of 2032: VATA 1994, schedule 11 paragraph 6 (from memory).
LAST_DAY, AFTER = "2032-12-31", 365 * 7


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> StillClock:
    make.a_profile(jurisdiction="gb", labour_tax_bp=2000, parts_tax_bp=2000)
    return still_clock


@pytest.fixture
def boss() -> Staff:
    return make.a_staff("owner", Role.OWNER)


def a_past_job(clock: StillClock) -> Job:
    """Handed over with a photo of the found state and a note; its warranty is over."""
    customer = make.a_customer(
        NAME, phone="020 7946 0018", email="iwona@example.org", address="1 Pettiwick Row", note="rings late"
    )
    job = make.a_job("inspecting", customer=customer, fault="My late husband's set hums.", cabinet="smells of his pipe")
    photo = add_photo(
        job, read_picture(BytesIO(a_picture()), "front.png", 10**7), person=make.a_staff(), at=now(), moment="found"
    )
    lock_found_state(job, person=make.a_staff(), at=now(), seen=fold([photo.digest]))
    log.record_note(job, f"{NAME} says it was dropped", log.Author(make.a_staff(), now()))
    way = make._Way(make.a_staff(), 20_000, True)
    for _, step in make.STEPS[1:]:
        step(job, way, clock.forward(hours=5))
        job.refresh_from_db()
    clock.forward(days=200)
    return job


def plan(customer: Customer) -> Plan:
    return plan_of(customer, today(), rules_of(Profile.current()))


def erased(customer: Customer, boss: Staff, kind: str = "erase", **more: Any) -> DataRequest:
    wish = Wish(kind, today(), "by letter", **more)
    return erase(customer, wish, seen=plan(customer).fingerprint, person=boss, at=now())


def no_differences() -> bool:
    return not [one for found in verify() for one in found.differences]


def everywhere() -> str:
    """Every text in every row of every table."""
    from django.apps import apps

    rows = (row for model in apps.get_models() for row in model._default_manager.values_list())
    return "\n".join(str(value) for row in rows for value in row)


def test_what_no_law_keeps_goes_and_the_page_says_it_first(
    shop: StillClock, boss: Staff, django_capture_on_commit_callbacks: Any
) -> None:
    job = a_past_job(shop)
    file = Path(Photo.objects.get().image.path)
    assert len(list(file.parent.iterdir())) >= 2
    before = plan(job.customer)
    assert [(one.what, one.count) for one in before.going] == [("Card", 1), ("Sets", 1), ("Intake", 1), ("Photos", 1)]
    assert [(one.what, one.until_on.isoformat()) for one in before.staying if one.until_on] == [
        (f"Papers of {job.number}", LAST_DAY)
    ]
    assert before.staying[0].law.startswith("Value Added Tax Act 1994, schedule 11 paragraph 6")
    with django_capture_on_commit_callbacks(execute=True):
        answer = erased(job.customer, boss).answer
    customer, kept = Customer.objects.get(), Job.objects.get()
    assert (customer.name, customer.phone, customer.email, customer.address, customer.note, customer.search) == (
        *("erased customer 1", "", "", "", "", ""),
    )
    assert (kept.fault, kept.cabinet, kept.radio.serial) == (ERASED, "", "")
    assert list(file.parent.iterdir()) == []
    assert answer["erased"] == {"Card": 1, "Sets": 1, "Intake": 1, "Photos": 1}
    assert (Invoice.objects.get().buyer_name, Consent.objects.get().who) == (NAME, NAME)
    assert no_differences()


def test_after_the_time_of_keeping_nothing_names_the_person(shop: StillClock, boss: Staff) -> None:
    job = a_past_job(shop)
    acts = list(JobAct.objects.values_list("act", "to_stage", "at"))
    sums = list(Invoice.objects.values_list("number", "gross_minor", "net_minor", "issued_on"))
    erased(job.customer, boss)
    with pytest.raises(Refused, match="Nothing can be erased now"):
        erased(Customer.objects.get(), boss)
    shop.forward(days=AFTER)
    customer = Customer.objects.get()
    assert [clock.has_ended(today()) for clock in clocks(today(), rules_of(Profile.current()))] == [True]
    assert plan(customer).has_ended
    erased(customer, boss, "clock")
    text = everywhere()
    assert not [word for word in ("Iwona", "Brzask", "Pettiwick", "7946", "iwona@", "pipe", "husband") if word in text]
    assert list(Invoice.objects.values_list("number", "gross_minor", "net_minor", "issued_on")) == sums
    assert list(JobAct.objects.values_list("act", "to_stage", "at")) == acts
    assert set(JobAct.objects.exclude(note="").values_list("note", flat=True)) == {ERASED}
    assert no_differences()
    assert clocks(today(), rules_of(Profile.current())) == []
    paper = "".join(page.extract_text() for page in PdfReader(BytesIO(drawn.invoice(Invoice.objects.get().pk).content)).pages)
    assert ERASED in paper
    assert Invoice.objects.get().number in paper


def test_papers_stay_to_the_last_day_of_the_longest_rule_that_is_theirs(shop: StillClock) -> None:
    """An unknown place keeps ten years, as AO § 147 (from memory); a paper issued in Great Britain six, wherever we are now."""
    job = a_past_job(shop)
    for day, over in ((LAST_DAY, False), ("2033-01-01", True)):
        assert plan_of(job.customer, date.fromisoformat(day), rules_of(Profile.current())).has_ended is over
    for place, until in (("strictest", "2036-12-31"), ("us_minnesota", LAST_DAY)):
        Profile.objects.update(jurisdiction=place)
        assert [one.until_on.isoformat() for one in plan(job.customer).staying if one.until_on] == [until]


def test_what_runs_keeps_everything_of_its_job_and_the_card(shop: StillClock, boss: Staff) -> None:
    customer = make.a_customer(NAME)
    done = make.a_job("handed_over", customer=customer)
    here = make.a_job("repairing", customer=customer, radio=make.a_set(customer, serial="4712"))
    owing = make.a_job("ready", customer=customer, radio=make.a_set(customer, serial="4713"))
    make.an_invoice(owing)
    whys = {one.what: one.why for one in plan(customer).staying}
    assert whys[f"All of {here.number}"] == "it stands in the workshop"
    assert whys[f"All of {done.number}"].startswith("its warranty runs until ")
    assert "money is due on R-2026-0002" in whys[f"All of {owing.number}"]
    assert here.number in whys["Card"]
    with pytest.raises(Refused, match="Nothing can be erased now"):
        erased(customer, boss)


def test_a_card_without_papers_goes_at_once(boss: Staff) -> None:
    customer = make.a_customer(NAME)
    KeptFilter.objects.create(person=boss, page="shop:customers", query="q=brzask")
    KeptFilter.objects.create(person=boss, page="jobs:list", query="show=open")
    run_here(Asked("tags", "Tags", {"root": ""}), person=boss, at=now())
    erased(customer, boss)
    assert [one.query for one in KeptFilter.objects.all()] == ["show=open"]
    assert not Customer.objects.matching("brzask").exists()
    with pytest.raises(Refused, match="Write a new card for whoever brings the set"):
        make.a_job("taken_in", customer=Customer.objects.get())
    with pytest.raises(Refused, match="was erased, so nothing is written on it again"):
        change_customer(customer, CustomerFacts(NAME), seen=Customer.objects.get().version)


def test_what_changed_since_the_page_was_opened_is_told(shop: StillClock, boss: Staff) -> None:
    customer = make.a_customer(NAME)
    seen = plan(customer).fingerprint
    make.a_job("taken_in", customer=Customer.objects.get())
    with pytest.raises(Stale, match="Something changed since you opened this page"):
        erase(customer, Wish("erase", today()), seen=seen, person=boss, at=now())


def test_a_request_cannot_be_of_tomorrow_and_a_refusal_says_why(boss: Staff) -> None:
    customer = make.a_customer(NAME)
    with pytest.raises(Refused, match="The day lies ahead"):
        write_refusal(customer, Wish("refused", today() + timedelta(days=1), note="why"), person=boss, at=now())
    with pytest.raises(Refused, match="Write why it is refused"):
        write_refusal(customer, Wish("refused", today()), person=boss, at=now())
    assert write_refusal(customer, Wish("refused", today(), note="not them"), person=boss, at=now()).note == "not them"


def test_everybody_whose_time_has_ended_goes_together(shop: StillClock, boss: Staff) -> None:
    make.a_customer("Zdenka Other")
    shop.forward(days=AFTER + 30)
    fresh = make.a_customer(NAME)
    ended = [one.customer for one in clocks(today(), rules_of(Profile.current())) if one.has_ended(today())]
    assert [one.customer for one in first_ended(today(), rules_of(Profile.current()), 9)] == ended
    assert erase_ended(ended, person=boss, at=now()) == 1
    assert first_ended(today(), rules_of(Profile.current()), 9) == []
    assert sorted(Customer.objects.values_list("name", flat=True)) == [fresh.name, "erased customer 1"]


def test_the_first_whose_time_has_ended_are_found_past_those_that_something_holds(shop: StillClock, boss: Staff) -> None:
    """Whoever had a paper meanwhile, or has something in the house, is none of them; enough are enough."""
    held, paid = make.a_customer("Held"), a_past_job(shop).customer
    make.a_job(customer=held)
    ended = [make.a_customer(f"Gone {number}") for number in range(5)]
    shop.forward(days=AFTER)
    rules = rules_of(Profile.current())
    every = {one.customer.pk for one in clocks(today(), rules) if one.has_ended(today())}
    assert every == {one.pk for one in (paid, *ended)}
    assert {one.customer.pk for one in first_ended(today(), rules, 9)} == every
    # Two customers a step: the first step holds one that is held.
    assert [one.customer.pk for one in first_ended(today(), rules, 1)] == [paid.pk]
    assert first_ended(today(), rules, 1)[0].until_on < today()
