"""The terms of a warranty: by kind of line, from an event, frozen on the day it begins, with the law of the place beside them."""

import io
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from billing.release import Signature, hand_over
from jobs.cover.terms import KINDS, CoverTerms
from jobs.documents.warranty import VOID_RULES
from jobs.models import CoverKind, Job, Stage, Warranty, WarrantyLine
from jobs.queries.warranty_paper import warranty_paper
from jobs.queries.warranty_terms import COLUMNS, law_in_words, law_of, shorter_than_law, terms_of, void_rules
from jobs.services.warranty import Days, start_warranty
from shop.clock import now
from shop.letterhead_of import letterhead
from shop.models import Profile
from tests.builders import a_job, a_profile, a_staff, an_invoice, pay, some_work

pytestmark = pytest.mark.django_db


def paper_of(job: Job) -> Any:
    return warranty_paper(Warranty.objects.get(job=job), letterhead(), job_url="https://shop.example/j/1")


def test_every_kind_of_line_has_a_time_of_its_own_in_the_terms() -> None:
    days = terms_of(a_profile()).days
    assert set(days) == set(KINDS) == set(CoverKind.values) - {"left_in"}
    assert len(COLUMNS) + 1 == len(KINDS)


def test_lines_say_their_kind_their_days_and_until_when() -> None:
    a_profile(labour_warranty_days=60, warranty_days=120, valve_warranty_days=20)
    job = a_job(Stage.READY)
    some_work(job)
    warranty = handed_over_now(job)
    lines = {(line.kind, line.designator): (line.covered, line.days, line.until_on) for line in warranty.lines.all()}
    assert lines["new_part", "C2"] == (True, 120, warranty.starts_on + timedelta(days=120))
    assert lines["labour", ""] == (True, 60, warranty.starts_on + timedelta(days=60))
    assert lines["left_in", "C1"] == (False, None, None)
    assert warranty.terms["days"]["new_valve"] == 20
    assert set(warranty.terms) == {"days", "start_event", "transfers", "void_rules", "law"}
    assert set(warranty.terms["law"]) == {"place", "text", "citation", "origin", "note"}


def test_a_kind_without_days_is_listed_with_its_reason() -> None:
    a_profile(warranty_days=0)
    line = WarrantyLine.objects.get(warranty__job=a_job(Stage.HANDED_OVER), designator="C2")
    assert (line.covered, line.note) == (False, "our terms give this kind no time of its own")


def handed_over_now(job: Job, invoiced_days_ago: int = 0) -> Warranty:
    at = now() - timedelta(days=invoiced_days_ago)
    pay(an_invoice(job, at=at), at=at)
    hand_over(job, Signature("Iwona Brzask"), person=a_staff(), at=now())
    return Warranty.objects.get(job=job)


@pytest.mark.parametrize(("event", "days_ago"), [("hand_over", 0), ("ready", 5), ("invoice", 2)])
def test_it_runs_from_the_event_that_the_terms_name(event: str, days_ago: int) -> None:
    a_profile(warranty_starts=event)
    warranty = handed_over_now(a_job(Stage.READY, at=now() - timedelta(days=5)), invoiced_days_ago=2)
    assert warranty.start_event == event
    assert warranty.starts_on == timezone.localdate(now() - timedelta(days=days_ago))


def test_with_no_invoice_standing_it_runs_from_the_hand_over_and_says_so() -> None:
    a_profile(warranty_starts="invoice")
    job, day = a_job(Stage.READY), timezone.localdate(now())
    warranty = start_warranty(job, Days(day))
    assert (warranty.start_event, warranty.starts_on) == ("hand_over", day)


def test_the_usual_rules_end_the_cover_where_the_shop_wrote_none() -> None:
    assert void_rules(a_profile()) == VOID_RULES
    own = "It stood in the rain.\n\n  The aerial lead was tied to the mains. "
    assert void_rules(a_profile(warranty_void=own)) == ("It stood in the rain.", "The aerial lead was tied to the mains.")


@pytest.mark.parametrize(
    ("place", "days", "shorter"),
    [
        # 6 RCNY 2-260: 90 days for parts, 30 for labour
        ("us_new_york_city", 30, ["new part", "used or rebuilt part", "new or unused valve", "used valve"]),
        ("us_new_york_city", 90, []),
        ("gb", 1, []),  # Consumer Rights Act 2015: no time is named
        ("de", 729, ["work", "new part", "used or rebuilt part", "new or unused valve", "used valve"]),  # BGB § 634a
        ("de", 730, []),
    ],
)
def test_the_owner_is_told_where_the_shops_own_time_is_shorter_than_the_laws(place: str, days: int, shorter: list[str]) -> None:
    profile = a_profile(jurisdiction=place, **dict.fromkeys(COLUMNS.values(), days))
    assert shorter_than_law(profile) == shorter
    assert ("Your own time is shorter for" in law_in_words(profile)) == bool(shorter)
    assert "Your rights by law are not shortened by this record" in law_of(profile).note
    assert law_of(profile).note.endswith("check the current text.")


def test_no_place_chosen_prints_nobodys_law_as_the_customers() -> None:
    law = law_of(a_profile(jurisdiction="strictest"))
    assert (law.place, law.citation) == ("", "")
    assert law.text == "Whatever the law of your place gives you for faulty work stands beside this record."


def test_page_and_paper_show_the_frozen_terms(colleague_client: Client) -> None:
    a_profile(warranty_void="It stood in the rain.", warranty_transfers=False, labour_warranty_days=61)
    job = a_job(Stage.HANDED_OVER)
    a_profile(warranty_void="", warranty_transfers=True, labour_warranty_days=5, jurisdiction="de")
    page = colleague_client.get(f"/jobs/{job.pk}/warranty/").content.decode()
    paper = colleague_client.get(f"/money/jobs/{job.pk}/warranty/")
    words = " ".join(" ".join(sheet.extract_text().split()) for sheet in PdfReader(io.BytesIO(paper.content)).pages)
    for said in (page, words):
        assert "It stood in the rain." in said
        assert "61 days" in said
        assert "ends when the set changes hands" in said
        assert "Consumer Rights Act 2015" in said
        assert "BGB" not in said


def test_a_warranty_of_before_terms_were_frozen_prints_as_it_did(colleague_client: Client) -> None:
    job = a_job(Stage.HANDED_OVER)
    Warranty.objects.filter(job=job).update(terms={})
    paper = paper_of(job)
    assert (paper.given, paper.void_rules) == (None, VOID_RULES)
    page = colleague_client.get(f"/jobs/{job.pk}/warranty/").content.decode()
    assert "How long each kind is covered" not in page
    assert VOID_RULES[0] in page


wishes = st.fixed_dictionaries(
    {
        **{column: st.integers(0, 3650) for column in (*COLUMNS.values(), "own_part_warranty_days")},
        "warranty_starts": st.sampled_from(["hand_over", "ready", "invoice"]),
        "warranty_transfers": st.booleans(),
        "warranty_void": st.sampled_from(["", "It stood in the rain.", "One.\nTwo."]),
        "jurisdiction": st.sampled_from(["gb", "de", "us_new_york_city", "strictest", "us_california"]),
    }
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(later=wishes)
def test_whatever_the_shop_promises_later_the_record_stays_as_it_was(later: dict[str, Any], handed_over_job: Job) -> None:
    before, lines = paper_of(handed_over_job), list(WarrantyLine.objects.values())
    Profile.objects.filter(pk=1).update(**later)
    assert paper_of(handed_over_job) == before
    assert list(WarrantyLine.objects.values()) == lines
    assert CoverTerms.from_json(Warranty.objects.get().terms).as_json() == Warranty.objects.get().terms


@pytest.fixture
def handed_over_job() -> Job:
    a_profile()
    return a_job(Stage.HANDED_OVER)
