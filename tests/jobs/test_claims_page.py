"""The claim's page: what was done then, what was found, the proposal with its reasons, the decision; and the list of all."""

import io
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from jobs.models import Claim, ClaimDecision, ClaimFinding, Warranty
from tests import builders as make
from tests.jobs.claims import a_claim, a_covered_claim, a_repaired_set, decided, found, line_at, one_claim_kept

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", autouse=True)
def kept(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    with one_claim_kept(django_db_blocker):
        yield


def at(name: str, *args: object) -> str:
    return reverse(f"jobs:{name}", args=args)


def typed(**fields: object) -> dict[str, object]:
    return {"once": str(uuid.uuid4()), **fields}


def finding(claim: Claim, **fields: object) -> dict[str, object]:
    place = make.position_of(claim.job).pk
    return typed(text="C2 is open", position=place, same_fault="yes", cause="part", **fields)


def page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_finding_draws_the_proposal_with_its_reasons(colleague_client: Client) -> None:
    claim = a_claim()
    address = at("claim", claim.job_id)
    before = page(colleague_client, address)
    assert "Nothing is found yet. Inspect the set, then write down what it is." in before
    sent = finding(claim)
    for _ in range(2):
        answer = colleague_client.post(at("claim_finding_add", claim.job_id), sent)
    assert answer.status_code == 302
    assert ClaimFinding.objects.count() == 1
    shown = page(colleague_client, address)
    for words in (
        "It is the fault that was repaired.",
        "A part that we fitted failed.",
        "C2 in the log of then, no.",
        "received",
    ):
        assert words in shown
    assert "Claim it back from the supplier" not in shown


def test_a_refused_finding_keeps_what_was_typed(colleague_client: Client) -> None:
    claim = a_claim()
    answer = colleague_client.post(at("claim_finding_add", claim.job_id), typed(text="the mains lead", cause="moon"))
    assert answer.status_code == 422
    assert "the mains lead" in answer.content.decode()
    assert not ClaimFinding.objects.exists()


def test_a_finding_is_corrected_and_taken_back(colleague_client: Client) -> None:
    claim = a_claim()
    first = found(claim, same_fault="unsure")
    corrected = colleague_client.post(at("claim_finding_correct", first.pk), finding(claim, line=line_at(claim).pk))
    assert corrected.status_code == 302
    second = ClaimFinding.objects.get(corrects=first)
    stale = colleague_client.post(at("claim_finding_correct", first.pk), finding(claim))
    assert "This finding was corrected or taken back already." in stale.content.decode()
    colleague_client.post(at("claim_finding_withdraw", second.pk), typed())
    assert "Nothing is found yet." in page(colleague_client, at("claim", claim.job_id))


def test_a_decision_is_made_once_in_sight_of_all_findings(colleague_client: Client) -> None:
    claim = a_claim()
    found(claim)
    sent = typed(answer="covered", seen=claim.version)
    for _ in range(2):
        assert colleague_client.post(at("claim_decide", claim.job_id), sent).status_code == 302
    assert ClaimDecision.objects.get().decided == "covered"
    stale = colleague_client.post(at("claim_decide", claim.job_id), typed(answer="chargeable", why="dropped", seen=1))
    assert "Somebody else wrote on this claim since you opened it." in stale.content.decode()
    assert "dropped" in stale.content.decode()
    again = typed(answer="partly", why="half", seen=claim.version + 1, share_work=50)
    assert colleague_client.post(at("claim_decide", claim.job_id), again).status_code == 302
    shown = page(colleague_client, at("claim", claim.job_id))
    assert "the work 50 %" in shown
    assert "no longer counts" in shown


def test_a_job_becomes_a_claim_and_none_again(counter_client: Client) -> None:
    earlier = a_repaired_set()
    job = make.a_job(radio=earlier.radio)
    assert "This job is no claim" in page(counter_client, at("claim", job.pk))
    warranty = Warranty.objects.get(job=earlier)
    sent = {"warranty": warranty.pk, "claimed_on": str(warranty.starts_on)}
    assert counter_client.post(at("claim_open", job.pk), typed(**sent | {"warranty": "99999"})).status_code == 422
    assert counter_client.post(at("claim_open", job.pk), typed(**sent)).status_code == 302
    assert Claim.objects.get(job=job).warranty.job == earlier
    counter_client.post(at("claim_drop", job.pk), typed())
    assert not Claim.objects.filter(job=job).exists()
    stranger = make.a_job(customer=make.a_customer("Bohumil Trnka"))
    assert "No earlier warranty on this set" in page(counter_client, at("claim", stranger.pk))


def test_the_customer_gets_what_was_decided_and_why(colleague_client: Client) -> None:
    claim = a_covered_claim()
    decided(claim, "partly", goodwill=False, why="the case was cracked", shares={None: 40})
    paper = colleague_client.get(at("claim_pdf", claim.job_id))
    words = " ".join(" ".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(paper.content)).pages).split())
    for said in ("What we decided, and why", "Partly covered", "the case was cracked", "the work 40 %", "C2 is open"):
        assert said in words
    assert claim.warranty.job.number in words
    assert colleague_client.get(at("claim_pdf", a_repaired_set(customer=make.a_customer("Bohumil Trnka")).pk)).status_code == 404


def test_the_list_finds_counts_and_saves(counter_client: Client) -> None:
    first, second = a_covered_claim(), a_claim(a_repaired_set(customer=make.a_customer("Bohumil Trnka")))
    found(second, cause="transport")
    shown = page(counter_client, at("claims"))
    assert first.job.number in shown
    assert second.job.number in shown
    assert 'a part that we fitted failed</dt><dd>1 <span class="soft">(50 %)</span>' in shown
    for asked, hits in (("show=open", [second]), ("show=covered", [first]), ("cause=transport", [second]), ("q=trnka", [second])):
        listed = page(counter_client, f"{at('claims')}?{asked}")
        assert [one for one in (first, second) if f'/jobs/{one.job_id}/claim/"' in listed] == hits, asked
    file: Any = counter_client.get(f"{at('claims')}?usual=1&as=csv")
    assert "Not decided" in file.content.decode() if not file.streaming else b"".join(file.streaming_content).decode()
    today = page(counter_client, reverse("today"))
    assert "Judge the claim" in today
    assert "1 finding; warranty of job" in today


def test_a_stranger_sees_none_of_it(stranger_client: Client) -> None:
    claim = a_claim()
    for name in ("claim", "claim_pdf"):
        assert stranger_client.get(at(name, claim.job_id)).status_code == 302
    assert stranger_client.get(at("claims")).status_code == 302
    assert stranger_client.post(at("claim_decide", claim.job_id), typed(answer="covered")).status_code == 302
    assert not ClaimDecision.objects.exists()
