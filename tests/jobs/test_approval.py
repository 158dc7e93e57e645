"""The customer's private page."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.models import ApprovalLink, Consent, Estimate, Job
from jobs.services import estimates
from jobs.services.consents import Answer, record_answer
from shop.clock import now
from shop.models import ActOnce
from tests.builders import a_job, a_profile, a_staff, an_estimate

pytestmark = pytest.mark.django_db


def a_link(job: Job | None = None) -> tuple[Estimate, str]:
    shown = (job or a_job("awaiting_consent")).estimates.get(state="sent")  # type: ignore[attr-defined]
    return shown, estimates.make_link(shown, person=a_staff(), at=now())


def form_of(client: Client, address: str, which: str, **values: str) -> dict[str, str]:
    page = client.get(address).content.decode()
    sent = {}
    for name in ("once", "digest", "answer"):
        sent[f"{which}-{name}"] = page.split(f'name="{which}-{name}" value="', 1)[1].split('"', 1)[0]
    return {**sent, f"{which}-who": "Iwona Brzask", **{f"{which}-{name}": value for name, value in values.items()}}


def test_the_page_shows_what_is_asked_for(stranger_client: Client) -> None:
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000, allowance_bp=1000, terms="Cash or card.", phone="01632 960 042")
    _, secret = a_link()
    page = stranger_client.get(f"/answer/{secret}/").content.decode()
    for words in (
        "Quillfeather Wireless",
        "Merrowby Kestrel 5",
        "It hums and then goes quiet.",
        "Tax 20 %",
        "£240.72",
        "Cash or card.",
    ):
        assert words in page
    assert 'We will not charge more than <strong class="figure">£264.79</strong> without asking you again' in page
    assert "I agree to this estimate, up to £240.72" in page
    assert "silver-mica capacitors" in page


def test_looking_decides_nothing(stranger_client: Client) -> None:
    shown, secret = a_link()
    for query in ("", "?answer=agreed", "?agree-who=x&agree-tick=on&agree-answer=agreed"):
        stranger_client.get(f"/answer/{secret}/{query}")
    shown.refresh_from_db()
    assert (shown.state, Consent.objects.filter(estimate=shown).exists()) == ("sent", False)


def test_agreeing_twice_acts_once_and_shows_what_was_recorded(stranger_client: Client) -> None:
    shown, secret = a_link()
    address = f"/answer/{secret}/"
    form = form_of(stranger_client, address, "agree", tick="on")
    for _ in range(2):
        assert stranger_client.post(address, form).status_code == 302
    (consent,) = Consent.objects.filter(estimate=shown)
    assert (consent.answer, consent.how, consent.person, consent.digest) == ("agreed", "link", None, shown.digest)
    page = stranger_client.get(address).content.decode()
    assert "You agreed to this estimate" in page
    assert "Iwona Brzask" in page
    assert "<form" not in page
    assert Job.objects.get(pk=shown.job_id).stage == "agreed"


def test_a_second_tab_finds_the_recorded_answer(stranger_client: Client) -> None:
    shown, secret = a_link()
    address = f"/answer/{secret}/"
    agree = form_of(stranger_client, address, "agree", tick="on")
    decline = form_of(stranger_client, address, "decline", note="Too dear.")
    stranger_client.post(address, agree)
    page = stranger_client.post(address, decline, follow=True).content.decode()
    assert "You agreed to this estimate" in page
    assert Consent.objects.filter(estimate=shown).count() == 1


def test_declining_keeps_the_reason(stranger_client: Client) -> None:
    shown, secret = a_link()
    address = f"/answer/{secret}/"
    stranger_client.post(address, form_of(stranger_client, address, "decline", note="Too dear for now."))
    consent = Consent.objects.get(estimate=shown)
    assert (consent.answer, consent.note, consent.ceiling_minor) == ("declined", "Too dear for now.", 0)
    assert Job.objects.get(pk=shown.job_id).stage == "declined"
    assert "You declined this estimate" in stranger_client.get(address).content.decode()


def test_agreeing_needs_the_name_and_the_tick(stranger_client: Client) -> None:
    _, secret = a_link()
    address = f"/answer/{secret}/"
    answer = stranger_client.post(address, form_of(stranger_client, address, "agree", who=""))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Please type your name: it stands for your signature." in page
    assert "Please tick the box to show that you agree." in page


def test_the_agree_form_can_not_be_bent_into_a_decline(stranger_client: Client) -> None:
    shown, secret = a_link()
    address = f"/answer/{secret}/"
    stranger_client.post(address, form_of(stranger_client, address, "agree", tick="on", answer="declined"))
    assert Consent.objects.get(estimate=shown).answer == "agreed"


def test_other_figures_than_the_page_showed_are_not_agreed_to(stranger_client: Client) -> None:
    shown, secret = a_link()
    address = f"/answer/{secret}/"
    answer = stranger_client.post(address, form_of(stranger_client, address, "agree", tick="on", digest="f" * 64))
    assert answer.status_code == 422
    assert not Consent.objects.filter(estimate=shown).exists()


def expire(shown: Estimate) -> None:
    ApprovalLink.objects.filter(estimate=shown).update(expires_at=now() - timedelta(seconds=1))


def run_out(shown: Estimate) -> None:
    Estimate.objects.filter(pk=shown.pk).update(stands_until_on=now().date() - timedelta(days=1))


def revoke(shown: Estimate) -> None:
    estimates.make_link(shown, person=a_staff(), at=now())


def recall(shown: Estimate) -> None:
    estimates.recall(shown, person=a_staff(), at=now())


def supersede(shown: Estimate) -> None:
    an_estimate(shown.job)


@pytest.mark.parametrize("spoil", [expire, run_out, revoke, recall, supersede])
def test_every_bad_link_gets_one_and_the_same_page(stranger_client: Client, spoil: Any) -> None:
    shown, secret = a_link()
    form = form_of(stranger_client, f"/answer/{secret}/", "agree", tick="on")
    made_up = stranger_client.get("/answer/nobody-made-this/")
    spoil(shown)
    looked, sent = stranger_client.get(f"/answer/{secret}/"), stranger_client.post(f"/answer/{secret}/", form)
    assert {made_up.status_code, looked.status_code, sent.status_code} == {404}
    assert made_up.content == looked.content == sent.content
    assert not Consent.objects.filter(estimate=shown).exists()


def test_a_link_with_strange_letters_is_only_a_bad_link(stranger_client: Client) -> None:
    made_up = stranger_client.get("/answer/nobody-made-this/")
    for odd in ("%F0%9F%93%BB", "a" * 5000, "%00"):
        answer = stranger_client.get(f"/answer/{odd}/")
        assert (answer.status_code, answer.content) == (404, made_up.content)


def test_the_token_is_kept_nowhere(stranger_client: Client) -> None:
    _, secret = a_link()
    address = f"/answer/{secret}/"
    stranger_client.post(address, form_of(stranger_client, address, "agree", tick="on"))
    assert not ActOnce.objects.filter(answer__contains=secret).exists()
    assert ApprovalLink.objects.get().token_hash != secret


def test_an_answer_at_the_counter_shows_on_the_private_page(stranger_client: Client) -> None:
    shown, secret = a_link()
    answer = Answer(True, "spoken", "Iwona Brzask", number_called="01632 960 111", person=a_staff(), cancellation_told=True)
    record_answer(shown, answer, at=now())
    assert "by telephone, number 01632 960 111" in stranger_client.get(f"/answer/{secret}/").content.decode()


def test_the_page_is_not_kept_by_browsers_or_searched(stranger_client: Client) -> None:
    _, secret = a_link()
    answer = stranger_client.get(f"/answer/{secret}/")
    assert "no-store" in answer["Cache-Control"]
    assert '<meta name="robots" content="noindex">' in answer.content.decode()
