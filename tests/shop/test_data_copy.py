"""The copy that a person may ask for: complete, the same each time, readable without the shop, nobody of the shop named."""

import hashlib
import json
import zipfile
from html.parser import HTMLParser
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.formats import date_format

from jobs.models import Job
from jobs.services import log
from jobs.services.photos import add_photo
from shop import long_work
from shop.clock import now, today
from shop.models import DataRequest, LongWork, Profile, Role, Staff
from shop.personal.copying import as_json, data_of
from shop.personal.explained import KEYS
from shop.personal.rights import answers
from shop.pictures import read_picture
from tests import builders as make
from tests.conftest import StillClock, signed_in
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db
# GDPR article 15(1)(a) to (h) and (2), read at https://gdprhub.eu/index.php?title=Article_15_GDPR: what must be told, by a word
# that the answer can't do without.
ARTICLE_15 = {
    "a": "repair",
    "b": "photos",
    "c": "tax",
    "d": "years",
    "e": "erased",
    "f": "supervisory authority",
    "g": "from you",
    "h": "decide",
    "2": "another country",
}


@pytest.fixture
def job(still_clock: StillClock) -> Job:
    make.a_profile(jurisdiction="gb", name="Lantern Row Radio")
    bench = make.a_staff("bench", Role.BENCH, "Benno Tarnwick")
    customer = make.a_customer("Iwona Brzask", phone="020 7946 0018", note="rings <late>")
    job = make.a_job("handed_over", customer=customer, person=bench, cabinet="scratched")
    here = make.a_job("inspecting", customer=customer, person=bench, radio=make.a_set(customer, serial="99"))
    log.record_note(here, "knob & spring are missing since 2026-02-30", log.Author(bench, now()))
    add_photo(here, read_picture(BytesIO(a_picture()), "front.png", 10**7), person=bench, at=now(), moment="found")
    make.a_job("inspecting", customer=make.a_customer("Zdenka Other"), fault="The other one's fault.")
    return job


def copied(client: Client, job: Job) -> tuple[zipfile.ZipFile, bytes]:
    where = reverse("shop:customer_copy", args=[job.customer_id])
    assert client.post(where, {"once": "8d7ac7c5-a3f0-4cc9-8d3c-27d0f4a9a001"}, follow=True).status_code == 200
    long_work.run_waiting()
    work = LongWork.objects.get(kind="data_copy")
    assert work.state == "done", work.message
    content = client.get(reverse("shop:work_file", args=[work.key])).getvalue()  # type: ignore[attr-defined]
    return zipfile.ZipFile(BytesIO(content)), content


class Links(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.found |= {value for name, value in attrs if name in ("href", "src")}


def test_one_file_holds_page_data_papers_and_photos(counter: Staff, job: Job) -> None:
    archive, content = copied(signed_in(counter), job)
    names = set(archive.namelist())
    bill = job.invoices.get().number  # type: ignore[attr-defined]
    assert {"index.html", "page.css", "data.json", "data-explained.txt", f"papers/{bill}.pdf"} <= names
    assert {f"papers/claim-check-{job.number}.pdf", f"papers/estimate-{job.number}-1.pdf"} <= names
    assert {f"papers/warranty-{job.number}.pdf", f"papers/job-summary-{job.number}.pdf"} <= names
    assert len([name for name in names if name.startswith("photos/")]) == 1
    page = archive.read("index.html").decode()
    assert Links(page).found <= names
    assert not [word for word in ("Zdenka", "The other one's fault", "Benno", "Tarnwick") if word in page]
    assert "rings &lt;late&gt;" in page
    assert f"{date_format(job.taken_in_at, 'j F Y')}, 09:30" in page
    assert "knob &amp; spring are missing since 2026-02-30" in page
    request = DataRequest.objects.get()
    assert (request.kind, request.digest) == ("copy", hashlib.sha256(content).hexdigest())
    assert request.answer == {"given": {"Sets": 2, "Jobs": 2, "Papers": 1, "Files": len(names) - 4}}
    assert request.person == counter


def test_the_data_is_the_same_each_time_and_every_key_is_explained(job: Job) -> None:
    data = data_of(job.customer, today())
    assert as_json(data) == as_json(data_of(job.customer, today()))
    keys = set(data) | {f"jobs.{name}" for one in data["jobs"] for name in one}
    assert keys == set(KEYS)
    read = json.loads(as_json(data))
    assert read == data
    assert list(read) == sorted(read)
    assert read["customer"]["phone"] == "+44 20 7946 0018"
    assert read["jobs"][0]["number"] == job.number
    assert read["papers"][0]["buyer"]["name"] == "Iwona Brzask"
    assert {one["by"] for one in read["jobs"][0]["log"]} == {"bench"}
    assert read["jobs"][0]["taken_in_at"].startswith("2026-02-")
    text = as_json(data).decode()
    assert not [word for word in ("Zdenka", "other one's", "Benno", "Tarnwick") if word in text]


def test_the_page_answers_each_item_of_article_15(job: Job) -> None:
    said = {one.item: one.said for one in answers(Profile.current())}
    assert said.keys() == ARTICLE_15.keys()
    assert {item for item, word in ARTICLE_15.items() if word.lower() not in said[item].lower()} == set()
    assert "Value Added Tax Act 1994" in said["d"]


def test_the_bench_neither_makes_nor_takes_a_copy(colleague: Staff, counter: Staff, job: Job) -> None:
    copied(signed_in(counter), job)
    stranger, key = signed_in(colleague), LongWork.objects.get(kind="data_copy").key
    assert stranger.post(reverse("shop:customer_copy", args=[job.customer_id])).status_code == 403
    assert stranger.get(reverse("shop:customer_data", args=[job.customer_id])).status_code == 403
    assert stranger.get(reverse("shop:work_file", args=[key])).status_code == 409
    begun = long_work.Asked("data_copy", "Copy", {"customer": job.customer_id, "root": ""})
    with pytest.raises(Exception, match="There is no such work for you to start"):
        long_work.begin(begun, person=colleague, at=now())


def test_who_bought_a_set_that_was_never_collected_stands_in_no_copy(still_clock: StillClock) -> None:
    """GDPR article 15(4): a copy doesn't touch the rights of others."""
    make.a_profile()
    sold = make.a_job("sold")
    buyer = sold.hand_over.received_by  # type: ignore[attr-defined]
    text = as_json(data_of(sold.customer, today())).decode()
    assert buyer
    assert buyer not in text
