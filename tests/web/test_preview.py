"""Looking at a paper before it is printed: its pages as pictures, drawn from the same bytes, for whoever may have the paper."""

import re
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from jobs.models import Job
from shop.models import Staff
from shop.paper.leaves import LARGEST_SCALE, MOST_PIXELS, WIDEST, Leaf, NoSuchLeaf, has_colour, leaves_of, picture_of, pixels_of
from shop.paper.loose import loose_page
from tests import builders as make
from tests.jobs.at_bench import token
from tests.paper import samples
from tests.paper.papers import FRAMED

SOURCE = re.compile(r'<img src="([^"]+)" alt="page (\d+) of (\d+)"')


@pytest.fixture
def job(db: None) -> Job:
    make.a_profile()
    return make.a_job("proving")


def look(client: Client, address: str, look: str = "1", **asked: str):
    return client.get(address, {"look": look, **asked})


def test_the_page_shows_every_page_of_the_paper(counter_client: Client, job: Job) -> None:
    address = reverse("jobs:job_safety_sheet", args=[job.pk])
    paper = PdfReader(BytesIO(counter_client.get(address).content))
    text = look(counter_client, address).content.decode()
    assert [int(number) for _, number, _ in SOURCE.findall(text)] == list(range(1, len(paper.pages) + 1))
    assert f"So it comes out of the printer: {len(paper.pages)} pages, A4." in text
    assert f'href="{address}">Open the PDF to print</a>' in text
    assert f'href="{address}?look=save">Save the PDF</a>' in text


def test_a_picture_is_a_page_at_the_size_of_a_screen(counter_client: Client, job: Job) -> None:
    answer = look(counter_client, reverse("jobs:claim_check", args=[job.pk]), "png", page="1")
    picture = Image.open(BytesIO(answer.content))
    assert (answer["Content-Type"], answer["Cache-Control"]) == ("image/png", "private, no-store")
    assert picture.size == Leaf(1, 595.28, 841.89).pixels
    assert picture.width == WIDEST


def test_the_pictures_are_of_what_was_looked_at_and_others_see_none_of_it(
    counter_client: Client, stranger_client: Client, job: Job, django_assert_max_num_queries
) -> None:
    address = reverse("jobs:tag", args=[job.pk])
    look(counter_client, address)
    with django_assert_max_num_queries(2):
        assert look(counter_client, address, "png", page="1").status_code == 200
    assert look(stranger_client, address, "png", page="1").status_code == 302


def test_whoever_may_not_have_the_paper_sees_no_picture(colleague_client: Client, stranger_client: Client, job: Job) -> None:
    address = reverse("billing:statement", args=[job.customer_id])
    for asked in ("1", "png", "save"):
        assert look(colleague_client, address, asked, page="1").status_code == 403
        assert look(stranger_client, address, asked, page="1")["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("page", ["0", "99", "-1", "x", "", "9" * 40, "²"])
def test_a_page_that_is_none_is_not_found(counter_client: Client, job: Job, page: str) -> None:
    answer = look(counter_client, reverse("jobs:tag", args=[job.pk]), "png", page=page)
    assert (answer.status_code, answer.content) == (404, b"The paper has no such page.")


def test_it_is_saved_under_its_name(counter_client: Client, job: Job) -> None:
    answer = look(counter_client, reverse("jobs:tag", args=[job.pk]), "save")
    assert answer["Content-Disposition"] == f'attachment; filename="tag-{job.number}.pdf"'
    assert answer.content.startswith(b"%PDF")


def test_what_was_asked_of_the_paper_is_asked_of_its_pictures(counter_client: Client, job: Job) -> None:
    address = reverse("billing:statement", args=[job.customer_id])
    text = look(counter_client, address, last="2026-02-01", currency="GBP").content.decode()
    assert "Statement 1 Feb 2026" in text
    assert f"{address}?last=2026-02-01&amp;currency=GBP&amp;look=png&amp;page=1" in text.replace("&amp;amp;", "&amp;")


def test_a_page_that_is_no_paper_is_shown_as_ever(counter_client: Client, job: Job) -> None:
    plain = counter_client.get(reverse("jobs:list"))
    assert look(counter_client, reverse("jobs:list"), "png", page="1").status_code == plain.status_code
    assert look(counter_client, reverse("jobs:tag", args=[job.pk]), "nonsense").content.startswith(b"%PDF")


def test_back_leads_to_where_the_paper_belongs_and_an_estimate_to_its_next_act(owner_client: Client, owner: Staff) -> None:
    make.a_profile()
    draft = make.an_estimate(make.a_job("inspecting", person=owner), person=owner)
    text = look(owner_client, reverse("jobs:estimate_pdf", args=[draft.pk])).content.decode()
    assert f'<a class="act" href="{reverse("jobs:estimate", args=[draft.job_id])}">' in text
    assert f'href="{reverse("jobs:estimate_page", args=[draft.pk])}">The same as a page</a>' in text


def test_a_form_that_draws_a_paper_is_not_turned_into_a_look(owner_client: Client, owner: Staff) -> None:
    make.a_profile()
    draft = make.an_estimate(make.a_job("inspecting", person=owner), person=owner)
    address = f"{reverse('jobs:estimate_pdf', args=[draft.pk])}?look=1"
    assert owner_client.post(address, {"token": "x", "once": token()}).content.startswith(b"%PDF")


def test_a_page_is_never_more_pixels_than_a_screen_needs() -> None:
    for width, height in ((595, 842), (50, 50), (2000, 2000), (14_400, 14_400), (200, 14_400)):
        leaf = Leaf(1, width, height)
        assert leaf.pixels[0] * leaf.pixels[1] <= MOST_PIXELS * 1.01
        assert leaf.scale <= LARGEST_SCALE


def test_a_size_that_is_no_sheet_is_told_by_its_measure() -> None:
    assert Leaf(1, 255.118, 155.906).size_words == "90 × 55 mm"
    assert Leaf(1, 612, 792).size_words == "Letter"


def test_colour_is_kept_and_grey_is_sent_as_grey() -> None:
    with loose_page(200, 100, "Trial", "Nobody") as page:
        page.canvas.setFillColorRGB(1, 0, 0)
        page.canvas.rect(10, 10, 50, 50, stroke=0, fill=1)
    draw, sample = FRAMED["statement"]
    assert has_colour(pixels_of(page.pdf, 1))
    assert Image.open(BytesIO(picture_of(draw(sample()), 1))).mode == "L"
    assert leaves_of(draw(samples.statement())).title == "Statement 1 May 2031"
    with pytest.raises(NoSuchLeaf, match="The paper has no page 2."):
        picture_of(page.pdf, 2)
