"""The owner picks a place and tightens its rules; the allowance never goes above what they let the shop have."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.models import Invoice
from billing.services import issue_invoice
from jobs.models import Stage
from shop.acts import Refused
from shop.clock import now
from shop.jurisdictions import PLACES
from shop.models import Profile
from shop.place import allowance_of, rules_of
from shop.profile import OwnerLogin, change_profile, set_up
from tests.builders import a_job, a_profile, a_staff, an_estimate
from tests.inventory.builders import errors_of, once, texts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def typed(**values: Any) -> dict[str, Any]:
    terms = Profile.objects.get()
    return {"once": once(), "seen": terms.version, "jurisdiction": terms.jurisdiction, **values}


def save(client: Client, **values: Any) -> Any:
    return client.post(reverse("shop:place"), typed(**values))


def test_the_page_shows_every_rule_with_its_citation(owner_client: Client) -> None:
    page = texts(owner_client.get(reverse("shop:place")))
    for _, rule in PLACES["gb"].all:
        assert rule.source.citation in page
        assert rule.source.note in page
    other = texts(owner_client.get(reverse("shop:place") + "?of=us_california"))
    assert "16 CCR 2722(a)" in other
    assert "Looked at only: California, USA" in other


def test_only_the_owner_sees_it(counter_client: Client, stranger_client: Client) -> None:
    assert counter_client.get(reverse("shop:place")).status_code == 403
    assert stranger_client.get(reverse("shop:place")).status_code == 302


def test_a_place_is_picked_and_tightened_once(owner_client: Client) -> None:
    form = typed(jurisdiction="us_minnesota", allowance_bp="5", retention_years="7", wait_days="120", consent=["own_words"])
    for _ in range(2):
        assert owner_client.post(reverse("shop:place"), form).status_code == 302
    terms = Profile.objects.get()
    rules = rules_of(terms)
    assert (terms.jurisdiction, terms.version) == ("us_minnesota", 2)
    assert terms.tightened == {"allowance_bp": 500, "retention_years": 7, "wait_days": 120, "consent": ["own_words"]}
    assert (rules.overrun.allowance_bp, rules.retention.years, rules.uncollected.wait_days) == (500, 7, 120)
    assert "own_words" in rules.consent.codes


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        (
            {"jurisdiction": "us_minnesota", "allowance_bp": "12"},
            "allowance_bp",
            "Minnesota, USA allows 10 % above the agreed sum",
        ),
        ({"retention_years": "2"}, "retention_years", "Great Britain wants at least 6 years for which records are kept"),
        ({"notice_days": "10"}, "notice_days", "Great Britain wants at least 92 days from the notice to the day it names"),
        ({"jurisdiction": "atlantis"}, "jurisdiction", "atlantis is not one of the available choices"),
        ({"wait_days": "soon"}, "wait_days", "Enter a whole number"),
    ],
)
def test_loosening_and_bad_input_are_refused_and_typing_stays(owner_client: Client, values: Any, field: str, words: str) -> None:
    answer = save(owner_client, **values)
    assert answer.status_code == 422
    assert words in str(errors_of(answer)[field])
    assert Profile.objects.get().tightened == {}


def test_of_two_owners_the_second_is_told(owner_client: Client) -> None:
    form = typed(jurisdiction="de")
    change_profile({"phone": "020 7946 0001"}, seen=1)
    answer = owner_client.post(reverse("shop:place"), form)
    assert answer.status_code == 422
    assert "changed by somebody else" in texts(answer)
    assert Profile.objects.get().jurisdiction == "gb"


def test_the_smaller_allowance_holds_also_for_terms_set_before() -> None:
    terms = a_profile(allowance_bp=1500)
    assert allowance_of(terms) == 1500
    terms = a_profile(allowance_bp=1500, jurisdiction="us_minnesota")
    assert allowance_of(terms) == 1000
    assert allowance_of(a_profile(allowance_bp=1500, jurisdiction="strictest")) == 0
    assert an_estimate(a_job(Stage.INSPECTING, with_fit=False)).allowance_bp == 0


def test_terms_with_a_larger_allowance_are_refused_with_the_citation() -> None:
    terms = a_profile(jurisdiction="us_minnesota")
    with pytest.raises(Refused) as refused:
        change_profile({"allowance_bp": 1100}, seen=terms.version)
    assert refused.value.field == "allowance_bp"
    assert "allow 10 % above the agreed sum: Minnesota Statutes 325F.58 subdivision 6" in refused.value.message


def test_a_shop_of_a_known_country_starts_with_its_rules() -> None:
    for country, code in (("DE", "de"), ("US", "strictest")):
        Profile.objects.all().delete()
        login = OwnerLogin(f"owner-{country.lower()}", "valve-and-chassis-42")
        assert set_up("Tarnwick Radio", country, "EUR", login, bench_count=0).jurisdiction == code


def test_an_invoice_that_lacks_what_the_law_wants_is_not_issued_and_says_where_to_mend_it() -> None:
    a_profile(jurisdiction="us_california")
    job = a_job(Stage.READY)
    with pytest.raises(Refused) as refused:
        issue_invoice(job, person=a_staff(), at=now())
    assert "It lacks the shop's registration number: Owner, The shop and its terms." in refused.value.message
    assert "16 CCR 2721" in refused.value.message
    a_profile(jurisdiction="us_california", registration="E 1234")
    invoice = issue_invoice(job, person=a_staff(), at=now())
    assert (invoice.jurisdiction, len(invoice.must_say)) == ("us_california", 1)
    assert "without prior consent of the customer" in invoice.must_say[0]


def test_a_tax_number_is_wanted_where_tax_is_charged_only() -> None:
    a_profile(tax_id="")
    issue_invoice(a_job(Stage.READY), person=a_staff(), at=now())
    a_profile(tax_id="", labour_tax_bp=2000, parts_tax_bp=2000)
    job = a_job(Stage.READY)
    with pytest.raises(Refused) as refused:
        issue_invoice(job, person=a_staff(), at=now())
    assert refused.value.code == "shop_tax_id"


def test_what_is_missing_is_said_before_the_invoice_is_issued(counter_client: Client) -> None:
    a_profile(jurisdiction="us_california")
    page = texts(counter_client.get(reverse("billing:issue", args=[a_job(Stage.READY).pk])))
    assert "be issued yet" in page
    assert "16 CCR 2721" in page


def test_the_page_says_which_papers_must_stay(owner_client: Client, still_clock: Any) -> None:
    assert "none was issued yet" in texts(owner_client.get(reverse("shop:place")))
    issue_invoice(a_job(Stage.READY), person=a_staff(), at=now())
    page = texts(owner_client.get(reverse("shop:place")))
    assert "must stay" in page
    assert Invoice.objects.get().issued_on >= PLACES["gb"].retention.must_stay_since(date(2026, 3, 2))
    assert PLACES["gb"].retention.must_stay_since(date(2026, 3, 2)) == date(2020, 1, 1)
