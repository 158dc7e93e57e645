"""A model's service sheet: pages sent in, replaced, set aside; positions placed, moved and removed on them."""

import uuid
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import RadioModel, SheetPage, SheetPlace
from jobs.services.called_for import CalledRow, add_position, save_called_for
from tests import builders as make
from tests.conftest import signed_in
from tests.jobs.sent import sent_form, sent_forms
from tests.jobs.service_sheets import a_page, a_pdf, drawn, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def model(db: None) -> RadioModel:
    return make.a_model()


def send(client: Client, model: RadioModel, **changes: Any) -> Any:
    typed = {"once": str(uuid.uuid4()), "title": "Circuit", "source": "folder 3", "file": sent(drawn()), **changes}
    return client.post(reverse("jobs:service_sheets", args=[model.pk]), typed)


def put(client: Client, page: SheetPage, position: str, across: str, down: str, **changes: Any) -> Any:
    page.refresh_from_db()
    typed = {"once": str(uuid.uuid4()), "seen": page.version, "position": position, "across": across, "down": down, **changes}
    return client.post(reverse("jobs:service_sheet_place", args=[page.pk]), typed, headers=changes.pop("headers", {}))


def places(page: SheetPage) -> dict[str, tuple[int, int]]:
    return {one.designator: (one.x, one.y) for one in SheetPlace.objects.filter(page=page)}


def said(client: Client, page: SheetPage) -> str:
    return client.get(reverse("jobs:service_sheet", args=[page.pk])).content.decode()


class TestPages:
    def test_an_empty_list_says_what_a_sheet_is_for(self, colleague_client: Client, model: RadioModel) -> None:
        page = colleague_client.get(reverse("jobs:service_sheets", args=[model.pk])).content.decode()
        assert "No page yet" in page
        assert "Keep only papers here that the shop owns or has drawn itself." in page

    def test_a_picture_becomes_a_page_with_positions_to_place(self, colleague_client: Client, model: RadioModel) -> None:
        answer = send(colleague_client, model)
        page = SheetPage.objects.get()
        assert answer.headers["Location"] == reverse("jobs:service_sheet", args=[page.pk])
        assert (page.title, page.source, page.width, page.height, page.order) == ("Circuit", "folder 3", 1200, 800, 1)
        assert "5 of 5 positions have no place yet." in said(colleague_client, page)

    def test_a_pdf_of_one_page_is_taken_at_once(self, colleague_client: Client, model: RadioModel) -> None:
        assert send(colleague_client, model, file=sent(a_pdf(), "k5.pdf")).status_code == 302
        assert SheetPage.objects.get().height == 4000

    def test_of_a_pdf_with_more_pages_one_is_chosen(self, colleague_client: Client, model: RadioModel) -> None:
        choose = send(colleague_client, model, file=sent(a_pdf(3), "k5.pdf")).headers["Location"]
        shown = colleague_client.get(choose)
        assert "“k5.pdf” has 3 pages." in shown.content.decode()
        small = colleague_client.get(
            f"{reverse('jobs:service_sheet_small', args=[model.pk])}{choose[choose.index('?') :]}&page=3"
        )
        assert small.content.startswith(b"\xff\xd8\xff")
        typed = sent_form(shown, "of") | {"choice": "2"}
        assert colleague_client.post(choose, typed | {"choice": ""}).status_code == 422
        assert "The PDF has no page 4: it has 3." in colleague_client.post(choose, typed | {"page": "4"}).content.decode()
        assert colleague_client.post(choose, typed).status_code == 302
        assert SheetPage.objects.get().title == "Circuit"
        gone = colleague_client.post(choose, typed, follow=True)
        assert "That PDF isn't waiting any more" in unescape(gone.content.decode())
        assert SheetPage.objects.count() == 1

    def test_a_pdf_that_waits_is_nobody_elses(self, colleague_client: Client, counter_client: Client, model: RadioModel) -> None:
        choose = send(colleague_client, model, file=sent(a_pdf(2), "k5.pdf")).headers["Location"]
        assert counter_client.get(choose).headers["Location"] == reverse("jobs:service_sheets", args=[model.pk])
        small = choose.replace("choose/?", "choose/small/?") + "&page=1"
        assert colleague_client.get(small).headers["Content-Type"] == "image/jpeg"
        assert counter_client.get(small).headers["Location"] == reverse("jobs:service_sheets", args=[model.pk])

    @pytest.mark.parametrize(
        ("file", "words"),
        [
            (b"", "“sheet.png” is empty."),
            (b"no picture", "“sheet.png” is no drawing that this shop can read. JPEG, PNG, WebP and PDF are taken."),
            (b"%PDF-1.4 nothing", "“sheet.png” can't be read as a PDF;"),
        ],
    )
    def test_what_is_no_drawing_is_refused_and_the_words_stay(
        self, colleague_client: Client, model: RadioModel, file: bytes, words: str
    ) -> None:
        answer = send(colleague_client, model, file=sent(file))
        assert answer.status_code == 422
        assert words in answer.context["form"].errors["file"][0]
        assert sent_form(answer, "title")["source"] == "folder 3"
        assert not SheetPage.objects.exists()

    def test_a_file_larger_than_the_shop_takes_is_refused(
        self, colleague_client: Client, model: RadioModel, settings: Any
    ) -> None:
        settings.PHOTO_MAX_BYTES = 1_000_000
        answer = send(colleague_client, model, file=sent(drawn() + b"0" * 1_000_000))
        words = "“sheet.png” is larger than 1 MB. Save the page that is wanted as a file of its own."
        assert answer.context["form"].errors["file"] == [words]

    def test_the_same_page_sent_twice_is_kept_once(self, colleague_client: Client, model: RadioModel) -> None:
        token = str(uuid.uuid4())
        assert [send(colleague_client, model, once=token).status_code for _ in range(2)] == [302, 302]
        assert SheetPage.objects.count() == 1

    def test_a_new_picture_leaves_the_places_where_they_are(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model, C2=(2500, 5000))
        typed = {"once": str(uuid.uuid4()), "seen": page.version, "file": sent(drawn((1500, 1000), "JPEG"))}
        address = reverse("jobs:service_sheet_replace", args=[page.pk])
        told = colleague_client.post(address, typed, follow=True)
        page.refresh_from_db()
        assert (page.width, places(page)) == (1500, {"C2": (2500, 5000)})
        again = colleague_client.post(address, typed | {"once": str(uuid.uuid4()), "file": sent(drawn())})
        assert "Somebody else changed this page since you opened it." in again.content.decode()
        assert again.status_code == 422
        undo, back = sent_form(told, "picture"), reverse("jobs:service_sheet_put_back", args=[page.pk])
        colleague_client.post(back, undo | {"picture": "../../secret.key", "once": str(uuid.uuid4())})
        page.refresh_from_db()
        assert page.width == 1500
        colleague_client.post(back, undo)
        page.refresh_from_db()
        assert (page.width, page.height, places(page)) == (1200, 800, {"C2": (2500, 5000)})

    def test_a_page_is_set_aside_and_taken_back(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model, C2=(2500, 5000))
        typed = {"once": str(uuid.uuid4()), "seen": page.version}
        told = colleague_client.post(reverse("jobs:service_sheet_set_aside", args=[page.pk]), typed, follow=True)
        assert "“Circuit” is set aside; its places are kept with it." in told.content.decode()
        undo = sent_form(told, "seen")
        colleague_client.post(reverse("jobs:service_sheet_take_back", args=[page.pk]), undo)
        page.refresh_from_db()
        assert (page.set_aside_at, places(page)) == (None, {"C2": (2500, 5000)})

    def test_the_second_to_correct_a_page_is_told(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model)
        address = reverse("jobs:service_sheet_change", args=[page.pk])
        typed = {"title": "Chassis", "source": "", "order": "4", "seen": page.version}
        assert colleague_client.post(address, typed | {"once": str(uuid.uuid4())}).status_code == 302
        answer = colleague_client.post(address, typed | {"title": "Below", "once": str(uuid.uuid4())})
        assert answer.status_code == 422
        assert 'value="Below"' in answer.content.decode()
        page.refresh_from_db()
        assert (page.title, page.order) == ("Chassis", 4)

    def test_a_drawing_is_for_staff_only(self, colleague_client: Client, stranger_client: Client, model: RadioModel) -> None:
        page = a_page(model, C2=(0, 10_000))
        cut = reverse("jobs:sheet_place_cut", args=[SheetPlace.objects.get().pk])
        for address in (reverse("jobs:service_sheet_picture", args=[page.pk]), cut):
            answer = colleague_client.get(address)
            assert answer.content.startswith(b"\xff\xd8\xff")
            assert answer.headers["Cache-Control"].startswith("private")
            assert stranger_client.get(address).headers["Location"].startswith(reverse("login"))
            assert stranger_client.post(reverse("jobs:service_sheet_place", args=[page.pk])).status_code == 302
        page.image.storage.delete(str(page.image.name))
        assert colleague_client.get(cut).status_code == 404


class TestPlacing:
    def test_figures_place_a_position_and_the_next_comes_by_itself(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model)
        answer = put(colleague_client, page, "C1", "12.5", "40,25")
        assert places(page) == {"C1": (1250, 4025)}
        shown = colleague_client.get(answer.headers["Location"])
        assert sent_form(shown, "across")["position"] == "C2"
        assert "C1 has its place." in shown.content.decode()

    def test_a_tap_without_a_script_is_counted_in_the_pixels_it_was_shown_in(
        self, colleague_client: Client, model: RadioModel
    ) -> None:
        page = a_page(model)
        shown = colleague_client.get(f"{reverse('jobs:service_sheet', args=[page.pk])}?zoom=1500")
        typed = sent_form(shown, "across") | {"at.x": "375", "at.y": "500"}
        assert (typed["wide"], typed["high"]) == ("1500", "1000")
        answer = colleague_client.post(reverse("jobs:service_sheet_place", args=[page.pk]) + "?zoom=1500", typed)
        assert places(page) == {"C1": (2500, 5000)}
        assert "zoom=1500" in answer.headers["Location"]

    def test_a_drawing_entered_by_keyboard_without_a_script_asks_for_figures(
        self, colleague_client: Client, model: RadioModel
    ) -> None:
        page = a_page(model)
        answer = put(colleague_client, page, "C1", "", "", **{"at.x": "0", "at.y": "0", "wide": "1050", "high": "700"})
        words = "Tap where the position stands, or type how far from the left and from the top it is."
        assert answer.context["form"].errors["__all__"] == [words]
        assert places(page) == {}

    @pytest.mark.parametrize(
        ("position", "across", "field", "words"),
        [
            ("C1", "", "across", "Tap on the drawing, or type how far from this edge the position stands."),
            ("C1", "101", "across", "Type a percentage from 0 to 100."),
            ("C1", "left", "across", "“left” can't be read as a percentage. Type it like 17.5."),
            ("C99", "10", "position", "That position isn't on this model's list any more. Choose another."),
        ],
    )
    def test_what_can_not_be_placed_is_refused_in_words(
        self, colleague_client: Client, model: RadioModel, position: str, across: str, field: str, words: str
    ) -> None:
        page = a_page(model)
        answer = put(colleague_client, page, position, across, "10")
        assert answer.status_code == 422
        assert answer.context["form"].errors[field] == [words]
        assert places(page) == {}

    def test_a_place_is_moved_and_moved_back(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model, C2=(2500, 5000))
        told = colleague_client.get(put(colleague_client, page, "C2", "30", "60").headers["Location"])
        assert places(page) == {"C2": (3000, 6000)}
        assert "C2 is moved." in told.content.decode()
        undo = next(form for form in sent_forms(told) if form.get("across") == "25.00")
        colleague_client.post(reverse("jobs:service_sheet_place", args=[page.pk]), undo)
        assert places(page) == {"C2": (2500, 5000)}

    def test_a_place_is_removed_and_put_back(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model, C2=(2500, 5000))
        typed = {"once": str(uuid.uuid4()), "position": "C2", "seen": page.version}
        told = colleague_client.post(reverse("jobs:service_sheet_remove", args=[page.pk]), typed, follow=True)
        assert places(page) == {}
        assert "C2 has no place on this page any more." in told.content.decode()
        undo = next(form for form in sent_forms(told) if form.get("across") == "25.00")
        colleague_client.post(reverse("jobs:service_sheet_place", args=[page.pk]), undo)
        assert places(page) == {"C2": (2500, 5000)}

    def test_of_two_people_the_second_is_told_and_sees_the_page_as_it_is(self, model: RadioModel) -> None:
        page = a_page(model)
        seen = page.version
        ada, ben = signed_in(make.a_staff("ada")), signed_in(make.a_staff("ben"))
        put(ada, page, "C1", "10", "10")
        answer = put(ben, page, "C2", "20", "20", seen=seen)
        assert answer.status_code == 422
        assert "Somebody else changed this page since you opened it." in answer.content.decode()
        again = sent_form(answer, "across")
        assert (again["position"], again["across"], places(page)) == ("C2", "20", {"C1": (1000, 1000)})
        ben.post(reverse("jobs:service_sheet_place", args=[page.pk]), again)
        assert places(page) == {"C1": (1000, 1000), "C2": (2000, 2000)}

    def test_the_same_tap_sent_twice_places_once(self, colleague_client: Client, model: RadioModel) -> None:
        page, token = a_page(model), str(uuid.uuid4())
        put(colleague_client, page, "C1", "10", "10", once=token)
        put(colleague_client, page, "C2", "90", "90", once=token)
        assert places(page) == {"C1": (1000, 1000)}

    def test_a_script_gets_the_changed_parts(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model)
        answer = put(colleague_client, page, "C1", "10", "10", headers={"HX-Request": "true"})
        text = answer.content.decode()
        assert "<html" not in text
        assert all(
            f'id="{part}"' in text for part in ("messages", "placing-state", "placing-now", "placing-marks", "placing-lists")
        )
        assert '<option value="C2" selected>' in text

    def test_every_position_of_a_job_can_have_a_place(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model)
        job = make.a_job("repairing", model=model)
        add_position(job, CalledRow("C31", "bypass", "0.1 µF"), keep_with_model=False)
        put(colleague_client, page, "C31", "10", "10")
        assert "C31" in places(page)

    def test_a_place_whose_position_left_the_list_is_told_apart_and_can_go(
        self, colleague_client: Client, model: RadioModel
    ) -> None:
        page = a_page(model, C2=(2500, 5000))
        model.refresh_from_db()
        save_called_for(model, [CalledRow("C1", "coupling", ".01")], seen=model.version)
        assert "on no list" in said(colleague_client, page)
        typed = {"once": str(uuid.uuid4()), "position": "C2", "seen": page.version}
        colleague_client.post(reverse("jobs:service_sheet_remove", args=[page.pk]), typed)
        assert places(page) == {}

    def test_as_many_questions_for_many_positions_as_for_one(self, colleague_client: Client, model: RadioModel) -> None:
        page = a_page(model, C1=(100, 100))
        address = reverse("jobs:service_sheet", args=[page.pk])
        few = questions_asked(colleague_client, address)
        rows = [CalledRow(f"C{number}", "coupling", ".01 400 V") for number in range(1, 80)]
        model.refresh_from_db()
        save_called_for(model, rows, seen=model.version)
        SheetPlace.objects.bulk_create(SheetPlace(page=page, designator=f"C{at}", x=at, y=at) for at in range(2, 60))
        assert questions_asked(colleague_client, address) == few


def questions_asked(client: Client, address: str) -> int:
    client.get(address)
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return len(asked)
