"""Tabs by role, sign-in, going back safely, messages with their undo, refusals, tables and marks."""

from datetime import UTC, date, datetime

import pytest
from django.contrib.auth.models import AnonymousUser
from django.contrib.messages import get_messages
from django.template import Context, Template
from django.test import Client, RequestFactory
from django.urls import reverse
from django_htmx.middleware import HtmxDetails

from shop.web.marks import Exposure, state
from shop.web.middleware import SignInRequired
from shop.web.pages import SENT_BEFORE, answer_once, back_to, next_address, page_of
from tests.web.specimen import PARTS, PartsTable, specimen


@pytest.fixture(autouse=True)
def _specimen_pages(settings) -> None:
    settings.ROOT_URLCONF = "tests.web.urls"


def draw(text: str, **context: object) -> str:
    return Template("{% load shop_tags django_tables2 %}" + text).render(Context(context))


def posted(**data: str):
    request = RequestFactory().post("/", data)
    request.htmx = False  # type: ignore[attr-defined]
    return request


def test_the_owner_sees_every_tab(owner_client: Client) -> None:
    page = owner_client.get("/asked/").content.decode()
    assert [
        word for word in ("Today", "Benches", "Jobs", "Customers", "Drawers", "Money", "Owner") if f">{word}</a>" not in page
    ] == []


def test_the_bench_sees_no_tab_it_may_not_open(colleague_client: Client) -> None:
    page = colleague_client.get("/asked/").content.decode()
    assert ">Benches</a>" in page
    assert ">Money</a>" not in page
    assert ">Owner</a>" not in page


def test_a_tab_without_a_page_is_left_out() -> None:
    assert draw('{% nav_link "no:such" "Nowhere" %}', staff_role="owner") == ""


def test_the_tab_of_this_page_says_so() -> None:
    request = RequestFactory().get("/money/17/")
    assert 'aria-current="page"' in draw('{% nav_link "billing:invoices" "Money" %}', staff_role="counter", request=request)
    assert "aria-current" not in draw('{% nav_link "today" "Today" %}', staff_role="counter", request=request)


@pytest.mark.django_db
def test_a_stranger_is_sent_to_sign_in_and_comes_back(stranger_client: Client) -> None:
    answer = stranger_client.get("/specimen/?sort=name")
    assert answer.headers["Location"] == "/sign-in/?next=/specimen/%3Fsort%3Dname"
    assert 'value="/specimen/?sort=name"' in stranger_client.get(answer.headers["Location"]).content.decode()


def test_a_piece_asked_for_by_a_stranger_moves_the_whole_window() -> None:
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/specimen/"}
    request = RequestFactory().get("/jobs/", headers=headers)
    request.user, request.htmx = AnonymousUser(), HtmxDetails(request)  # type: ignore[attr-defined]
    answer = SignInRequired(specimen).process_view(request, specimen, [], {})
    assert answer.headers["HX-Redirect"] == "/sign-in/?next=/specimen/"


@pytest.mark.django_db
def test_a_wrong_password_is_told_in_words_and_keeps_the_name(stranger_client: Client) -> None:
    page = stranger_client.post("/sign-in/", {"username": "orla", "password": "guess"}).content.decode()
    assert "That name and password don’t belong together." in page
    assert 'value="orla"' in page


@pytest.mark.parametrize("wanted", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)", ""])
def test_going_back_never_leaves_the_shop(wanted: str) -> None:
    assert next_address(posted(next=wanted), "/jobs/") == "/jobs/"


def test_going_back_takes_the_asked_page() -> None:
    assert back_to(posted(next="/jobs/?page=2"), "today").headers["Location"] == "/jobs/?page=2"
    assert back_to(posted(), "billing:invoices").headers["Location"] == "/money/"


def test_messages_carry_a_mark_and_an_undo_that_acts_once(owner_client: Client) -> None:
    page = owner_client.get("/specimen/").content.decode()
    told = page.split('id="messages"')[1].split("</form>")[0]
    assert "C12 fitted from drawer A3." in told
    assert 'name="entry" value="7"' in told
    assert 'name="once"' in told
    assert ">Take it out again</button>" in told


def test_a_form_sent_again_is_told_so(owner_client: Client) -> None:
    request = owner_client.get("/asked/").wsgi_request
    answer = answer_once(request, "/jobs/", just_done=False, said="Logged.")
    assert answer.headers["Location"] == "/jobs/"
    assert [str(message) for message in get_messages(request)] == [SENT_BEFORE]


def test_a_refusal_says_what_to_do_and_is_no_success(owner_client: Client) -> None:
    answer = owner_client.get("/refused/")
    assert answer.status_code == 409
    assert "Count the drawer, or choose another part." in answer.content.decode()


def test_a_refusal_for_a_script_is_only_the_piece(owner_client: Client) -> None:
    text = owner_client.get("/refused/", headers={"HX-Request": "true"}).content.decode()
    assert text.startswith('<div class="refused"')


def test_an_irreversible_act_is_asked_about_first(owner_client: Client) -> None:
    page = owner_client.get("/asked/").content.decode()
    assert "Can’t be undone" in page
    assert 'name="job" value="31"' in page
    assert 'name="once"' in page


@pytest.mark.parametrize(("asked", "first"), [("2", 11), ("999", 21), ("last", 21), ("x", 1), ("-1", 1), ("0", 1), ("٣", 1)])
def test_an_absurd_page_number_gives_the_nearest_page(asked: str, first: int) -> None:
    assert page_of(RequestFactory().get("/", {"page": asked}), list(range(25)), 10).start == first


@pytest.mark.django_db
def test_a_table_has_a_caption_headings_and_labels_for_cards() -> None:
    request = RequestFactory().get("/parts/", {"kind": "film"})
    page = draw("{% render_table table %}", table=PartsTable(PARTS, order_by="-on_hand"), request=request)
    assert "<caption>Parts in the drawers</caption>" in page
    assert 'aria-sort="descending"' in page
    assert 'href="?kind=film&amp;sort=on_hand"' in page
    assert '<th scope="row">Film 0.07 µF 630 V</th>' in page
    assert '<td class="num" data-label="There">7</td>' in page


@pytest.mark.django_db
def test_an_empty_table_teaches() -> None:
    page = draw("{% render_table table %}", table=PartsTable([]), request=RequestFactory().get("/"))
    assert "receive a lot first." in page
    assert "<table" not in page


def test_figures_are_shown_in_the_shop_s_words() -> None:
    assert (
        draw('{{ m|money:"GBP" }} {{ n|money:"JPY" }} {{ x|money:"GBP" }}', m=123_450, n=1250, x=None) == "£1,234.50 JP¥1,250 –"
    )
    assert draw("{{ a|hours }}, {{ b|hours }}, {{ c|hours }}", a=90, b=120, c=0) == "1 h 30 min, 2 h, 0 min"
    assert draw("{{ a|percent }}, {{ b|percent }}", a=2000, b=1750) == "20 %, 17.5 %"


def test_times_are_shown_in_the_shop_s_zone(settings) -> None:
    settings.TIME_ZONE = "Europe/London"
    shown = draw("{{ at|moment }} {{ on|day }}", at=datetime(2026, 7, 1, 23, 30, tzinfo=UTC), on=date(2026, 7, 1))
    assert ">2 Jul 2026, 00:30</time>" in shown
    assert ">1 Jul 2026</time>" in shown


def test_a_mark_has_a_sign_and_a_word() -> None:
    assert state("no", "Leaky <40 V>").count("✕") == 1
    assert "Leaky &lt;40 V&gt;" in state("no", "Leaky <40 V>")


@pytest.mark.parametrize(
    ("sums", "word", "over", "left"),
    [
        ((18_450, 9_900, 25_000, 27_500), "Will pass the agreed sum", 850, 0),
        ((30_000, 0, 25_000, 27_500), "Spent above the agreed sum", 2500, 0),
        ((10_000, 5_000, 25_000, 25_000), "Within the agreed sum", 0, 10_000),
        ((0, 0, 0, 0), "Nothing agreed to yet", 0, 0),
    ],
)
def test_the_exposure_bar_says_where_the_job_stands(sums: tuple[int, int, int, int], word: str, over: int, left: int) -> None:
    bar = Exposure(*sums)
    assert word in bar.state
    assert (bar.over, bar.left) == (over, left)
    assert max(bar.total_width, bar.ceiling_at, bar.spent_width) <= 1000


@pytest.mark.django_db
@pytest.mark.parametrize("sent", ["http://[::1", "javascript:x", "http://elsewhere.example/jobs/", "\x00"])
def test_a_piece_asked_for_from_no_page_of_ours_leads_to_signing_in_and_to_the_first_page(client: Client, sent: str) -> None:
    answer = client.get(reverse("shop:customers"), headers={"HX-Request": "true", "HX-Current-URL": sent})
    assert (answer.status_code, answer.headers["HX-Redirect"]) == (200, f"{reverse('login')}?next=/")
