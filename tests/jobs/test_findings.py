"""A revision drafted from a finding: its reason, the findings with their photos, and what it changes of the agreed version."""

import io
import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from jobs.models import Consent, Estimate, Evidence, Job, LogEntry, Photo
from jobs.queries.evidence import finding_words
from jobs.queries.findings import is_finding
from jobs.queries.revisions import revision_of
from jobs.services import estimates, log
from jobs.services.consents import Answer, record_answer
from jobs.services.photos import add_photo
from shop.acts import Refused, Stale
from shop.clock import now
from shop.pictures import read_picture
from tests.builders import a_job, a_measurement, a_staff, author, position_of
from tests.jobs.offers import agree, fee, offering, send
from tests.jobs.pictures import a_picture
from tests.jobs.sent import sent_form

pytestmark = pytest.mark.django_db


def once() -> str:
    return str(uuid.uuid4())


def a_note(job: Job, text: str = "the can is bulged", designator: str = "C3") -> LogEntry:
    return log.record_note(job, text, author(), position=position_of(job, designator))


def a_photo(job: Job, designator: str | None = "C3", caption: str = "the can from above") -> Photo:
    picture = read_picture(a_picture(), "can.png", 10**7)
    place = position_of(job, designator) if designator else None
    return add_photo(job, picture, person=a_staff(), at=now(), caption=caption, position=place)


def page_of(job: Job) -> str:
    return reverse("jobs:estimate", args=[job.pk])


def revise(client: Client, entry: LogEntry) -> Any:
    return client.post(reverse("jobs:finding_draft", args=[entry.pk]), {"once": once()})


def test_a_bad_verdict_a_note_and_a_wiring_finding_are_findings() -> None:
    job = a_job("repairing")
    drifted, note = a_measurement(job, "R1", "300K"), a_note(job)
    wiring = log.record_wiring(job, "the tone switch is bridged", author())
    good = a_measurement(job, "R1", "221K")
    assert [is_finding(one) for one in (drifted, note, wiring, good)] == [True, True, True, False]
    assert finding_words(note) == "C3: the can is bulged"
    assert finding_words(drifted).startswith("R1: measured: 300K")


def test_the_bench_drafts_from_what_it_found(colleague_client: Client) -> None:
    job = a_job("repairing")
    note = a_note(job)
    place = colleague_client.get(reverse("jobs:position", args=[note.position_id])).content.decode()
    assert "Draft a revised estimate from this" in place
    assert revise(colleague_client, note).headers["Location"] == page_of(job)
    draft = job.estimates.get(state="draft")  # type: ignore[attr-defined]
    assert (draft.number, draft.because, [row.entry for row in draft.evidence.all()]) == (2, "C3: the can is bulged", [note])
    assert "C3: the can is bulged" in colleague_client.get(page_of(job)).content.decode()


def test_a_second_finding_joins_the_draft_and_the_first_is_named_once(colleague_client: Client) -> None:
    job = a_job("repairing")
    note, other = a_note(job), a_note(job, "the lead is chewed", "C1")
    for entry in (note, note, other):
        revise(colleague_client, entry)
    draft = job.estimates.get(state="draft")  # type: ignore[attr-defined]
    assert draft.because == "C3: the can is bulged; C1: the lead is chewed"
    assert draft.evidence.count() == 2


def test_what_is_no_finding_or_was_taken_back_drafts_nothing(colleague_client: Client) -> None:
    job = a_job("repairing")
    good = a_measurement(job, "R1", "221K")
    assert revise(colleague_client, good).status_code == 409
    note = a_note(job)
    log.withdraw(note, author())
    assert revise(colleague_client, note).status_code == 409
    assert not Estimate.objects.filter(state="draft").exists()
    assert not Evidence.objects.exists()


def test_a_finding_corrected_meanwhile_stops_the_sending() -> None:
    job = a_job("repairing")
    note = a_note(job)
    draft = estimates.draft_from(job, note, person=a_staff(), at=now())
    estimates.add_line(draft, fee("New can", 1_000))
    log.withdraw(note, author())
    with pytest.raises(Stale, match=f"Entry no. {note.seq}, which this version gives as its reason"):
        send(draft)
    estimates.remove_finding(draft, note)
    assert draft.because == ""
    send(draft)


def test_a_finding_of_another_job_is_refused() -> None:
    job = a_job("repairing")
    other = a_job("repairing", customer=job.customer)
    draft = estimates.draft(job, person=a_staff(), at=now())
    with pytest.raises(Refused, match="isn't a finding of this job"):
        estimates.add_finding(draft, a_note(other))


def test_the_reason_is_put_better_and_two_do_not_overwrite_each_other(counter_client: Client) -> None:
    job = a_job("repairing")
    draft = estimates.draft_from(job, a_note(job), person=a_staff(), at=now())
    form = sent_form(counter_client.get(page_of(job)), "because")
    assert form["because"] == "C3: the can is bulged"
    address = reverse("jobs:estimate_because", args=[draft.pk])
    assert counter_client.post(address, {**form, "because": "The smoothing can is about to burst."}).status_code == 302
    answer = counter_client.post(address, {**form, "once": once(), "because": "kept as typed"})
    assert answer.status_code == 422
    assert "kept as typed" in answer.content.decode()
    assert counter_client.post(address, {**form, "once": once(), "because": "x" * 501}).status_code == 422
    draft.refresh_from_db()
    assert draft.because == "The smoothing can is about to burst."


def test_the_counter_names_findings_and_takes_them_off(counter_client: Client) -> None:
    job = a_job("repairing")
    note = a_note(job)
    draft = estimates.draft(job, person=a_staff(), at=now())
    form = sent_form(counter_client.get(page_of(job)), "entry")
    address = reverse("jobs:finding_add", args=[draft.pk])
    assert counter_client.post(address, {**form, "entry": ""}).status_code == 422
    assert counter_client.post(address, {**form, "entry": "999999"}).status_code == 422
    for _ in range(2):
        assert counter_client.post(address, {**form, "entry": str(note.pk)}).status_code == 302
    assert draft.evidence.count() == 1
    draft.refresh_from_db()
    off = {"once": once(), "entry": str(note.pk), "seen": str(draft.version)}
    assert counter_client.post(reverse("jobs:finding_remove", args=[draft.pk]), off).status_code == 302
    assert draft.evidence.count() == 0


@pytest.mark.parametrize("name", ["estimate_because", "finding_add", "finding_remove"])
def test_naming_findings_is_the_counters(colleague_client: Client, stranger_client: Client, name: str) -> None:
    draft = estimates.draft(a_job("repairing"), person=a_staff(), at=now())
    assert colleague_client.post(reverse(f"jobs:{name}", args=[draft.pk])).status_code == 403
    assert stranger_client.post(reverse(f"jobs:{name}", args=[draft.pk])).status_code == 302


def test_a_stranger_drafts_nothing(stranger_client: Client) -> None:
    note = a_note(a_job("repairing"))
    assert revise(stranger_client, note).headers["Location"].startswith(reverse("login"))
    assert not Evidence.objects.exists()


# What the customer sees


def sent_with_photos(job: Job) -> tuple[Estimate, dict[str, Photo], str]:
    photos = {"shown": a_photo(job), "elsewhere": a_photo(job, "C1"), "set": a_photo(job, None)}
    draft = estimates.draft_from(job, a_note(job), person=a_staff(), at=now())
    estimates.add_line(draft, fee("New can", 1_000))
    sent = send(draft)
    return sent, photos, estimates.make_link(sent, person=a_staff(), at=now())


def test_the_private_page_shows_the_photos_of_its_findings_and_no_others(stranger_client: Client, still_clock: Any) -> None:
    job = a_job("repairing")
    sent, photos, token = sent_with_photos(job)
    still_clock.forward(hours=1)
    photos["later"] = a_photo(job)
    page = stranger_client.get(reverse("approve", args=[token])).content.decode()
    shown = {name: reverse("approve_photo", args=[token, photo.pk]) for name, photo in photos.items()}
    assert "C3: the can is bulged" in page
    assert [name for name, address in shown.items() if address in page] == ["shown"]
    answer = stranger_client.get(shown["shown"])
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "image/jpeg")
    assert "no-store" in answer.headers["Cache-Control"]
    for name in ("elsewhere", "set", "later"):
        assert stranger_client.get(shown[name]).status_code == 404
    assert stranger_client.get(reverse("approve_photo", args=["made-up", photos["shown"].pk])).status_code == 404
    assert sent.links.update(revoked_at=now()) == 1  # type: ignore[attr-defined]
    assert stranger_client.get(shown["shown"]).status_code == 404


def test_the_private_page_sends_no_picture_in_its_full_size(stranger_client: Client) -> None:
    job = a_job("repairing")
    big = read_picture(a_picture("can.png", (2000, 1500)), "can.png", 10**7)
    photo = add_photo(job, big, person=a_staff(), at=now(), position=position_of(job, "C3"))
    sent = send(estimates.draft_from(job, a_note(job), person=a_staff(), at=now()))
    token = estimates.make_link(sent, person=a_staff(), at=now())
    answer = stranger_client.get(reverse("approve_photo", args=[token, photo.pk]))
    assert Image.open(io.BytesIO(answer.content)).size == (1280, 960)
    assert "no-store" in answer.headers["Cache-Control"]
    assert "immutable" not in answer.headers["Cache-Control"]


def test_the_consent_says_what_it_was_asked_for() -> None:
    job = a_job("repairing")
    sent, _, _ = sent_with_photos(job)
    record_answer(sent, Answer(True, "in_person", "Iwona Brzask", person=a_staff()), at=now())
    assert Consent.objects.get(estimate=sent).to_what.endswith("with tax; because: C3: the can is bulged")


def test_the_paper_shows_the_finding_its_photo_and_the_difference(counter_client: Client) -> None:
    sent, _, _ = sent_with_photos(a_job("repairing"))
    pdf = PdfReader(io.BytesIO(counter_client.get(reverse("jobs:estimate_pdf", args=[sent.pk])).content))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    for words in ("Why this version", "C3: the can is bulged", "the can from above", "What is different", "New can", "not in it"):
        assert words in text
    assert sum(len(page.images) for page in pdf.pages) == 1


def test_a_photo_whose_file_is_gone_leaves_the_paper_whole(counter_client: Client) -> None:
    sent, photos, _ = sent_with_photos(a_job("repairing"))
    photos["shown"].image.storage.delete(str(photos["shown"].image.name))
    pdf = PdfReader(io.BytesIO(counter_client.get(reverse("jobs:estimate_pdf", args=[sent.pk])).content))
    assert "file is missing" in " ".join(page.extract_text() for page in pdf.pages)


# Against the version agreed to


def test_a_revision_says_what_it_changes_and_both_totals() -> None:
    job = a_job("repairing", labour_minor=8_000)
    draft = estimates.draft_from(job, a_note(job), person=a_staff(), at=now())
    line = draft.lines.get(from_log=False)  # type: ignore[attr-defined]
    estimates.add_line(draft, fee("Work as foreseen", 9_500), line=line)
    estimates.add_line(draft, fee("New can", 1_000))
    found = revision_of(draft)
    assert found is not None
    changes = [(one.text, one.before_minor, one.after_minor) for one in found.changes]
    assert changes == [("Work as foreseen", 8_000, 9_500), ("New can", None, 1_000)]
    assert (found.old_minor, [one.high_minor for one in found.new], found.version) == (8_060, [10_560], 1)


def test_it_is_compared_with_the_alternative_agreed_to() -> None:
    job = a_job("inspecting")
    agree(job, 2, send(offering(job)))
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.add_line(draft, fee("New can", 1_000))
    found = revision_of(draft)
    assert found is not None
    assert (found.agreed_name, found.compared, found.old_minor) == ("Recommended", "Recommended", 13_060)
    assert [(one.text, one.after_minor) for one in found.changes] == [("New can", 1_000)]
    assert [one.name for one in found.new] == ["Repair only", "Recommended", "Full restoration"]


def test_a_first_version_has_nothing_to_be_compared_with() -> None:
    assert revision_of(a_job("awaiting_consent").estimates.get()) is None  # type: ignore[attr-defined]


def test_both_pages_tell_the_difference(counter_client: Client, stranger_client: Client) -> None:
    job = a_job("repairing")
    sent, _, token = sent_with_photos(job)
    for client, address in ((counter_client, page_of(job)), (stranger_client, reverse("approve", args=[token]))):
        page = client.get(address).content.decode()
        assert "Against version 1, which was agreed to: £200.60 then, £210.60 now" in page
        assert "added" in page
    assert sent.number == 2
