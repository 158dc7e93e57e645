"""The shop in pictures: for the owner alone, each table as a file, all of it on paper."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.models import PaymentKind
from shop.models import Profile
from shop.tabular import read_csv, read_xlsx
from tests.billing.histories import a_bill, book
from tests.builders import a_drawer, a_job, a_lot, a_part, a_profile
from tests.conftest import StillClock
from tests.paper.papers import reader, text_of

pytestmark = pytest.mark.django_db
ADDRESS = "shop:pictures"
KEYS = ("money", "profit", "hours", "stages", "drawers")


def shown(client: Client, **query: str) -> Any:
    return client.get(reverse(ADDRESS, query=query))


def body(answer: Any) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else bytes(answer.content)


def test_each_subject_has_its_words_its_drawing_and_its_files(owner_client: Client, still_clock: StillClock) -> None:
    book(a_bill(), PaymentKind.PAID, 7_416)
    a_job("ready")
    page = shown(owner_client)
    assert page.status_code == 200
    assert [one.key for one in page.context["drawn"]] == list(KEYS)
    text = page.content.decode()
    for words in (
        "Billed, received and spent on parts, April 2025 to March 2026",
        "Sets in the house on 2 March 2026, by the weeks since they were taken in",
        "1 job is left out (1: the estimate names no hours, only fees and tasks at a fixed price).",
        "Kinds of parts against the minimum on their cards",
        "Billed, and where it went, by month of the first bill",
    ):
        assert words in text
    assert "£60.00" in text


@pytest.mark.parametrize("key", KEYS)
def test_its_tables_leave_the_house_without_loss(owner_client: Client, still_clock: StillClock, key: str) -> None:
    a_bill()
    files = [body(shown(owner_client, table=key, **{"as": ending})) for ending in ("csv", "xlsx")]
    from_csv, from_book = list(read_csv(files[0])), list(read_xlsx(files[1]))
    assert from_csv[0] == from_book[0]
    assert len(from_csv) == len(from_book)
    assert [row[0] for row in from_csv] == [str(row[0]) for row in from_book]


def test_the_file_of_money_has_every_month_with_its_sums(owner_client: Client, still_clock: StillClock) -> None:
    a_bill()
    answer = shown(owner_client, table="money", months="24", **{"as": "csv"})
    rows = list(read_csv(body(answer)))
    assert len(rows) == 25
    assert rows[-1] == ["2026-03", "60.00", "1.80", "12.36", "74.16", "0.00", "0.60", "GBP"]
    assert rows[1] == ["2024-04", *["0.00"] * 6, "GBP"]
    assert 'filename="money-by-month.csv"' in answer["Content-Disposition"]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_all_of_it_is_on_paper(owner_client: Client, still_clock: StillClock, paper: str) -> None:
    a_profile(paper=paper)
    a_bill()
    answer = owner_client.get(reverse("shop:pictures_pdf"))
    assert answer["Content-Type"] == "application/pdf"
    assert "pictures-2026-03-02.pdf" in answer["Content-Disposition"]
    text = text_of(answer.content)
    for words in (
        "The shop in pictures",
        "Money by month",
        "Quoted and worked",
        "Sets in the house",
        "What lies in the cabinets",
    ):
        assert words in text
    assert "labour and tasks" in text
    width = float(reader(answer.content).pages[0].mediabox.width)
    assert width == pytest.approx(210 / 25.4 * 72 if paper == "A4" else 8.5 * 72, abs=0.01)
    assert owner_client.get(reverse("shop:pictures_pdf")).content == answer.content


def test_more_cabinets_than_a_sheet_holds_are_drawn_with_the_fullest_only(owner_client: Client, still_clock: StillClock) -> None:
    """The file has them all."""
    part = a_part()
    for number in range(60):
        a_lot(part, 100 + number, a_drawer(f"C{number:02}"))
    picture = next(one for one in shown(owner_client).context["drawn"] if one.key == "drawers")
    assert [list(chart.categories) for chart in picture.charts] == [[f"C{number}" for number in range(35, 60)]] * 3
    assert "Shown are the 25 of 60 cabinets with the most pieces." in picture.words
    assert "25 of 60 cabinets" in " ".join(text_of(owner_client.get(reverse("shop:pictures_pdf")).content).split())
    assert len(list(read_csv(body(shown(owner_client, table="drawers", **{"as": "csv"}))))) == 61


def test_an_empty_shop_is_told_what_will_be_here(owner_client: Client) -> None:
    a_profile()
    text = shown(owner_client).content.decode()
    assert "<svg" not in text
    for words in (
        "Issue an invoice, and its month has a column.",
        "Take one in, and it stands here at its stage.",
        "log the time.",
        "Issue an invoice, and its job has a place here.",
    ):
        assert words in text
    assert owner_client.get(reverse("shop:pictures_pdf")).content.startswith(b"%PDF")


def test_sums_are_written_in_the_shops_money(owner_client: Client, still_clock: StillClock) -> None:
    a_profile(currency="JPY", locale="en_US")
    a_bill()
    text = shown(owner_client).content.decode()
    assert "sums in JPY" in text
    assert "¥6,000" in text


def test_a_time_that_is_none_is_refused_in_words_and_the_usual_one_shown(owner_client: Client) -> None:
    Profile.objects.all().delete()
    a_profile()
    answer = shown(owner_client, months="7; drop")
    assert answer.status_code == 422
    assert "Shown as usual. Put this right:" in answer.content.decode()
    assert answer.context["months"] == 12


def test_a_table_that_is_none_is_not_found(owner_client: Client) -> None:
    a_profile()
    assert shown(owner_client, table="wages", **{"as": "csv"}).status_code == 404


def test_money_is_the_owners_to_see(counter_client: Client, colleague_client: Client, stranger_client: Client) -> None:
    for name in (ADDRESS, "shop:pictures_pdf"):
        assert counter_client.get(reverse(name)).status_code == colleague_client.get(reverse(name)).status_code == 403
        assert stranger_client.get(reverse(name)).status_code == 302


def test_many_rows_ask_no_more_questions_than_one(owner_client: Client, still_clock: StillClock) -> None:
    a_bill()
    a_job("ready")
    with CaptureQueriesContext(connection) as one:
        shown(owner_client)
    for number in range(3):
        a_bill()
        a_job("ready")
        a_lot(a_part(f"{number + 1} µF 63 V"))
    with CaptureQueriesContext(connection) as many:
        shown(owner_client)
    assert len(many) == len(one)
