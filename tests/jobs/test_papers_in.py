"""Claim check and tag: what they print of a job, and who may print them."""

import io
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from jobs.documents.tag import Tag
from jobs.models import Job
from jobs.queries import drawn
from jobs.queries.papers_in import claim_check_of, tag_of
from jobs.services.consents import give_back_deposit, take_deposit
from shop.letterhead_of import letterhead
from shop.models import Profile
from shop.money import as_money
from shop.paper import Letterhead
from tests.builders import a_customer, a_job, a_model, a_profile, a_set, a_staff
from tests.conftest import MONDAY

pytestmark = pytest.mark.django_db


def printed(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


def test_the_letterhead_is_the_profile() -> None:
    a_profile(name="Quillfeather Wireless", address="3 Kiln Row\n\n Dunwick ", currency="EUR", locale="de_DE", paper="Letter")
    assert letterhead() == Letterhead(
        "Quillfeather Wireless",
        ("3 Kiln Row", "Dunwick"),
        tax_id="GB 000 0418 00",
        country="GB",
        paper="Letter",
        currency="EUR",
        locale="de_DE",
    )


def test_before_set_up_the_letterhead_names_nobody() -> None:
    assert not Profile.objects.exists()
    assert letterhead() == Letterhead("Workshop", country="GB")


def test_the_claim_check_says_what_was_agreed(counter_client: Client) -> None:
    customer = a_customer("Wilmot Asketh", address="3 Kiln Row\nDunwick", phone="020 7946 0958")
    job = a_job(
        customer=customer,
        fault="It says nothing at all.",
        came_with=(("knobs", 4),),
        may_drill=True,
        old_parts_back=True,
        promised_on=date(2031, 5, 4),
    )
    taken = take_deposit(job, 3000, "cash", person=a_staff(), at=MONDAY)
    give_back_deposit(job, 1000, "cash", left_minor=taken.amount_minor, person=a_staff(), at=MONDAY)
    data = claim_check_of(job, "https://shop.example/jobs/1/")
    assert data.deposit == as_money(2000, "GBP")
    assert data.customer.address_lines == ("3 Kiln Row", "Dunwick")
    assert [(permission.what, permission.given) for permission in data.permissions] == [
        ("Drill the chassis or cabinet", True),
        ("Rewire", False),
        ("Fit a polarised plug", False),
        ("Add a fuse", False),
    ]
    answer = counter_client.get(reverse("jobs:claim_check", args=[job.pk]))
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"] == f'inline; filename="claim-check-{job.number}.pdf"'
    text = printed(answer.content)
    for words in (job.number, "Wilmot Asketh", "It says nothing at all.", "4711", "knobs", "4 May 2031", "£20.00", "wanted back"):
        assert words in text, words


def test_the_claim_check_opens_the_job_by_its_full_address(counter_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    job = a_job()
    seen: list[str] = []

    def watched(job: Job, address: str) -> Tag:
        seen.append(address)
        return tag_of(job, address)

    monkeypatch.setattr(drawn, "tag_of", watched)
    counter_client.get(reverse("jobs:tag", args=[job.pk]))
    assert seen == [f"http://testserver/jobs/{job.pk}/"]


def test_the_tag_warns_of_a_live_chassis(colleague_client: Client) -> None:
    live, other = a_job(), a_job(radio=a_set(model=a_model("Concert 3", "Telmar", "transformer")), stands_at="Shelf B")
    text = printed(colleague_client.get(reverse("jobs:tag", args=[live.pk])).content)
    assert "LIVE CHASSIS POSSIBLE" in text
    assert live.number in text
    answer = colleague_client.get(reverse("jobs:tag", args=[other.pk]))
    assert answer.headers["Content-Disposition"] == f'inline; filename="tag-{other.number}.pdf"'
    text = printed(answer.content)
    assert "LIVE CHASSIS" not in text
    assert "Shelf B" in text


def test_a_stranger_prints_nothing(stranger_client: Client) -> None:
    job = a_job()
    for name in ("claim_check", "tag"):
        assert stranger_client.get(reverse(f"jobs:{name}", args=[job.pk])).headers["Location"].startswith(reverse("login"))


def test_a_job_that_is_none_is_not_found(counter_client: Client) -> None:
    assert counter_client.get(reverse("jobs:claim_check", args=[404])).status_code == 404
