"""A supplier's list from the file to the offers: shown, confirmed, tried, taken in once, and again with the next list."""

import csv
import io
import threading
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from inventory.models import ListLayout, Offer, Order, OrderLine, PriceList, Supplier
from inventory.services.waiting_lists import Waiting
from shop.models import Staff
from shop.tabular import read_csv
from tests.builders import a_lot, a_part, a_profile, a_supplier
from tests.conftest import StillClock, signed_in
from tests.inventory.builders import errors_of, once, post, texts
from tests.inventory.list_files import (
    HEADINGS,
    ROWS,
    columns_page,
    confirm,
    counts,
    csv_file,
    offered,
    send,
    take,
    take_in,
    trial_page,
    xlsx_file,
)


@pytest.fixture
def supplier(db: None) -> Supplier:
    a_profile()
    return a_supplier()


def waiting_files(settings: Any) -> list[Path]:
    folder = Path(settings.WAITING_FOLDER)
    return sorted(folder.iterdir()) if folder.exists() else []


def test_a_list_comes_in_with_its_prices_by_count(supplier: Supplier, counter_client: Client) -> None:
    one = take_in(counter_client, supplier)
    assert counts(one) == (3, 0, 0, 0, 0)
    assert offered(supplier) == {
        "FC-047": [[1, 42_000], [10, 38_000]],
        "RM-220": [[1, 3_100]],
        "EL84": [[1, 1_450_000], [10, 1_390_000]],
    }
    valve = Offer.objects.get(code="EL84")
    assert (valve.text, valve.currency, valve.unit_milli, valve.lead_days) == ("Output valve EL84", "GBP", 1_450_000, 14)
    resistor = Offer.objects.get(code="RM-220")
    assert (resistor.pack_size, resistor.least_count, resistor.lead_days) == (10, 1, None)
    assert Offer.objects.get(search__contains="0.047 μf").code == "FC-047"


def test_both_kinds_of_file_come_in_alike(supplier: Supplier, counter_client: Client) -> None:
    take_in(counter_client, supplier)
    by_csv = offered(supplier)
    other = a_supplier("Brimble Wireless Stores")
    take_in(counter_client, other, xlsx_file(), "spring.xlsx")
    assert offered(other) == by_csv


def test_the_next_list_changes_adds_and_withdraws_and_keeps_the_rest(supplier: Supplier, counter_client: Client) -> None:
    first = take_in(counter_client, supplier)
    rows = [
        ROWS[0],
        ("EL84", "Output valve EL84", "15.00", "13.90", "1", "14"),
        ("6V6GT", "Output valve 6V6GT", "19", "", "", ""),
    ]
    second = take_in(counter_client, supplier, csv_file(rows), "summer.csv")
    assert counts(second) == (1, 1, 1, 1, 0)
    assert set(offered(supplier)) == {"FC-047", "EL84", "6V6GT"}
    gone = Offer.objects.get(code="RM-220")
    assert (gone.is_offered, gone.price_list) == (False, second)
    assert Offer.objects.get(code="FC-047").price_list == first


def test_a_list_that_is_not_whole_withdraws_nothing(supplier: Supplier, counter_client: Client) -> None:
    take_in(counter_client, supplier)
    second = take_in(counter_client, supplier, csv_file(ROWS[:1]), "part.csv", is_whole="")
    assert counts(second) == (0, 0, 1, 0, 0)
    assert len(offered(supplier)) == 3


def test_an_offer_that_comes_again_is_changed_and_keeps_its_card(supplier: Supplier, counter_client: Client) -> None:
    take_in(counter_client, supplier)
    part = a_part()
    Offer.objects.filter(code="FC-047").update(part=part)
    take_in(counter_client, supplier, csv_file(ROWS[1:]), "summer.csv")
    assert Offer.objects.get(code="FC-047").part == part
    third = take_in(counter_client, supplier, csv_file(), "autumn.csv")
    assert counts(third) == (0, 1, 2, 0, 0)
    again = Offer.objects.get(code="FC-047")
    assert (again.is_offered, again.part) == (True, part)


def test_an_unreadable_line_withdraws_no_offer(supplier: Supplier, counter_client: Client) -> None:
    """Its code stands in the list: it is still sold, only the price can't be read."""
    take_in(counter_client, supplier)
    rows = [("FC-047", "Film capacitor", "on request", "", "1", ""), *ROWS[1:]]
    second = take_in(counter_client, supplier, csv_file(rows), "summer.csv")
    assert counts(second) == (0, 0, 2, 0, 1)
    assert offered(supplier)["FC-047"] == [[1, 42_000], [10, 38_000]]


def test_the_same_file_again_changes_nothing_and_says_so(supplier: Supplier, counter_client: Client) -> None:
    first = take_in(counter_client, supplier)
    before = list(Offer.objects.order_by("pk").values())
    again = take_in(counter_client, supplier)
    assert again == first
    assert PriceList.objects.count() == 1
    assert list(Offer.objects.order_by("pk").values()) == before
    page = texts(counter_client.get(reverse("inventory:price_list", args=[first.pk])))
    assert "This file was taken in before, and reads the same: nothing changed." in page


def test_the_same_file_read_another_way_is_taken_in(supplier: Supplier, counter_client: Client) -> None:
    """Whoever took the wrong column for the price must be able to put it right."""
    take_in(counter_client, supplier, means_2="", means_3="price", from_3="1")
    right = take_in(counter_client, supplier, means_2="price", means_3="", from_3="")
    assert PriceList.objects.count() == 2
    assert right.changed == 2
    assert offered(supplier)["EL84"] == [[1, 1_450_000]]


def test_orders_and_lots_keep_their_prices(
    supplier: Supplier, counter_client: Client, owner: Staff, still_clock: StillClock
) -> None:
    take_in(counter_client, supplier)
    offer, part = Offer.objects.get(code="EL84"), a_part()
    lot = a_lot(part, unit_cost_milli=1_450_000, supplier=supplier)
    order = Order.objects.create(supplier=supplier, currency="GBP", made_at=still_clock.now, made_by=owner)
    line = OrderLine.objects.create(order=order, offer=offer, part=part, code="EL84", count=2, unit_milli=offer.unit_milli)
    rows = [*ROWS[:2], ("EL84", "Output valve EL84", "99", "98", "1", "14")]
    take_in(counter_client, supplier, csv_file(rows), "summer.csv")
    offer.refresh_from_db()
    line.refresh_from_db()
    lot.refresh_from_db()
    assert (offer.unit_milli, line.unit_milli, lot.unit_cost_milli) == (9_900_000, 1_450_000, 1_450_000)


class TestTheColumnsPage:
    def test_proposes_what_the_headings_say(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier)
        layout = columns_page(counter_client, supplier).context["form"].proposal.layout
        meant = {(one.index, one.meaning, one.count) for one in layout.columns}
        assert meant == {(0, "code", 1), (1, "text", 1), (2, "price", 1), (3, "price", 10), (4, "pack", 1), (5, "lead", 1)}
        assert (layout.first_row, layout.decimal_sign, layout.delimiter, layout.encoding) == (2, ".", ",", "utf-8")

    def test_asks_for_the_decimal_sign_where_no_figure_settles_it(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier, csv_file([("A1", "Reel", "1.234", "", "1", "")]))
        assert columns_page(counter_client, supplier).context["form"]["decimal_sign"].value() == ""
        answer = confirm(counter_client, supplier)
        assert answer.status_code == 422
        assert errors_of(answer)["decimal_sign"] == [
            "Say which decimal sign the prices have. It is never guessed: 1.234 can be both."
        ]

    @pytest.mark.parametrize(("sign", "milli"), [(".", 123_400), (",", 123_400_000)])
    def test_a_doubtful_price_is_what_the_confirmed_sign_makes_it(
        self, sign: str, milli: int, supplier: Supplier, counter_client: Client
    ) -> None:
        take_in(counter_client, supplier, csv_file([("A1", "Reel", "1.234", "", "1", "")]), decimal_sign=sign)
        assert offered(supplier) == {"A1": [[1, milli]]}

    @pytest.mark.parametrize(
        ("typed", "field", "text"),
        [
            ({"means_0": ""}, "__all__", "Say which column holds the order code."),
            ({"means_2": "", "means_3": ""}, "__all__", "Say which column holds the price."),
            ({"means_1": "code"}, "means_1", "Column 1 is the order code already."),
            ({"from_3": "1"}, "from_3", "There is a price from 1 on already. Say from how many this one holds."),
            ({"first_row": "0"}, "first_row", "Ensure this value is greater than or equal to 1."),
            ({"encoding": "rot13"}, "encoding", "Select a valid choice. rot13 is not one of the available choices."),
            (
                {"currency": "eur"},
                "currency",
                "The card of Ferrule & Daughters says GBP, and this list is in EUR. Write the currency and its rate on the card "
                "first, or correct it here.",
            ),
        ],
    )
    def test_refuses_what_makes_no_list(
        self, typed: dict[str, str], field: str, text: str, supplier: Supplier, counter_client: Client
    ) -> None:
        send(counter_client, supplier)
        answer = confirm(counter_client, supplier, **typed)
        assert answer.status_code == 422
        assert errors_of(answer)[field] == [text]
        assert Offer.objects.count() == 0

    def test_shows_the_rows_another_way_and_keeps_what_was_said(self, supplier: Supplier, counter_client: Client) -> None:
        rows = [("Ω-1", "Widerstand 10 kΩ", "1,20", "", "1", "")]
        send(counter_client, supplier, csv_file(rows, delimiter=";", encoding="utf-16"))
        page = confirm(counter_client, supplier, again="1", first_row="1", price_for="100", means_1="")
        assert page.status_code == 200
        shown = page.context["form"]
        assert (shown["first_row"].value(), shown["price_for"].value(), shown["means_1"].value()) == (1, "100", None)
        assert "Widerstand 10 kΩ" in texts(page)

    def test_is_filled_in_as_the_last_list_was(self, supplier: Supplier, counter_client: Client) -> None:
        rows = [("X1", "Spule", "1,20", "1,00", "5", "3")]
        german = csv_file(
            rows, ("Nummer", "Bezeichnung", "Preis", "ab 10", "VPE", "Lieferzeit"), delimiter=";", encoding="cp1252"
        )
        meant = {"means_3": "price", "from_3": "10", "price_for": "100", "is_whole": ""}
        take_in(counter_client, supplier, german, decimal_sign=",", **meant)
        kept = ListLayout.objects.get(supplier=supplier)
        assert (kept.delimiter, kept.decimal_sign, kept.is_whole, kept.headings[0]) == (";", ",", False, "Nummer")
        send(counter_client, supplier, german, "june.csv")
        page = columns_page(counter_client, supplier)
        form = page.context["form"]
        names = ("delimiter", "decimal_sign", "means_3", "from_3", "price_for", "is_whole")
        assert [form[name].value() for name in names] == [";", ",", "price", 10, 100, False]
        assert "Read as the last list of this supplier was." in texts(page)

    def test_says_when_the_headings_differ_and_follows_those_that_moved(self, supplier: Supplier, counter_client: Client) -> None:
        take_in(counter_client, supplier)
        rows = [(row[1], row[0], "S4", *row[2:]) for row in ROWS]
        headings = ("Description", "Order code", "Shelf", "Price", "Price 10+", "Pack of", "Delivery")
        send(counter_client, supplier, csv_file(rows, headings), "june.csv")
        page = columns_page(counter_client, supplier)
        said = "The headings differ from the last list&#x27;s (new: “Shelf”, “Delivery”; gone: “Days”)."
        assert said in texts(page)
        columns = page.context["form"].proposal.layout.columns
        assert {(one.index, one.meaning) for one in columns} >= {
            (0, "text"),
            (1, "code"),
            (3, "price"),
            (4, "price"),
            (5, "pack"),
        }

    def test_says_when_the_figures_look_otherwise(self, supplier: Supplier, counter_client: Client) -> None:
        take_in(counter_client, supplier)
        send(counter_client, supplier, csv_file([("A", "B", "1,25", "", "1", "")]), "june.csv")
        page = columns_page(counter_client, supplier)
        assert "say anew which decimal sign they have" in texts(page)
        assert page.context["form"]["decimal_sign"].value() == ""

    def test_of_another_file_than_the_one_that_waits_is_refused(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier)
        answer = confirm(counter_client, supplier, seen="0" * 32)
        assert answer.status_code == 422
        assert errors_of(answer)["__all__"][0].startswith("Another file was sent for this supplier since this page was opened.")


class TestTheTrial:
    ODD = (
        *ROWS,
        ("FC-047", "once more", "0.40", "", "1", ""),
        ("", "no code", "1", "", "1", ""),
        ("X3", "no price", "", "", "1", ""),
        ("X4", "too fine", "0.000001", "", "1", ""),
        ("X5", "=1+1", "1", "", "1", ""),
        ("X6", "bad pack", "1", "", "half", ""),
    )
    REASONS = (
        (5, "The order code stands in line 2 already.", "FC-047"),
        (6, "There is no order code.", ""),
        (7, "There is no price.", "X3"),
        (8, "The price “0.000001” is finer than a thousandth of the smallest coin.", "X4"),
        (9, "“=1+1” is a formula. Ask for the list with values only.", "X5"),
        (10, "“half” can't be the number in a pack: a whole number from 1 to 1,000,000 is wanted.", "X6"),
    )

    @pytest.fixture
    def tried(self, supplier: Supplier, counter_client: Client) -> Client:
        send(counter_client, supplier, csv_file(self.ODD))
        assert confirm(counter_client, supplier).status_code == 302
        return counter_client

    def test_changes_nothing_and_counts_everything(self, tried: Client, supplier: Supplier) -> None:
        effect = trial_page(tried, supplier).context["effect"]
        assert (effect.added, effect.changed, effect.same, effect.withdrawn, effect.rejected) == (3, 0, 0, 0, 6)
        assert Offer.objects.count() == PriceList.objects.count() == ListLayout.objects.count() == 0

    def test_names_every_rejected_line_with_its_reason(self, tried: Client, supplier: Supplier) -> None:
        assert tuple(trial_page(tried, supplier).context["rejects"]) == self.REASONS

    def test_gives_the_rejected_lines_as_a_file(self, tried: Client, supplier: Supplier) -> None:
        answer = tried.get(reverse("inventory:price_list_trial_rejects", args=[supplier.pk]))
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        rows = list(read_csv(answer.content))
        assert rows[0] == ["Line", "Reason", "Order code", *HEADINGS]
        assert [(int(row[0]), row[1], row[2]) for row in rows[1:]] == list(self.REASONS)
        assert rows[5][3:] == list(self.ODD[7])
        raw = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
        assert raw[5][4] == "'=1+1", "a spreadsheet would run it"

    def test_keeps_the_first_rejected_lines_with_the_list(self, tried: Client, supplier: Supplier) -> None:
        where = take(tried, supplier)["Location"]
        assert "The order code stands in line 2 already." in texts(tried.get(where))
        rows = list(read_csv(tried.get(f"{where}rejected/").content))
        assert [row[0] for row in rows[1:]] == ["5", "6", "7", "8", "9", "10"]

    def test_shows_what_changes_from_what_to_what(self, supplier: Supplier, counter_client: Client) -> None:
        take_in(counter_client, supplier)
        rows = [("FC-047", "Film capacitor 47 nF 630 V", "0.45", "0.38", "1", "3"), ROWS[1]]
        send(counter_client, supplier, csv_file(rows), "june.csv")
        confirm(counter_client, supplier)
        page = trial_page(counter_client, supplier)
        changed = page.context["effect"].examples["changed"][0]
        assert (changed.code, changed.before, changed.after, changed.what) == ("FC-047", 42_000, 45_000, "description")
        assert [one.code for one in page.context["effect"].examples["withdrawn"]] == ["EL84"]
        assert "£0.42" in texts(page)

    def test_warns_where_most_would_go(self, supplier: Supplier, counter_client: Client) -> None:
        take_in(counter_client, supplier)
        send(counter_client, supplier, csv_file(ROWS[:1]), "june.csv")
        confirm(counter_client, supplier)
        assert "More offers would go than stay." in texts(trial_page(counter_client, supplier))

    def test_with_not_one_line_to_take_is_not_taken_in(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier, csv_file([("A", "B", "x", "", "1", "")]))
        confirm(counter_client, supplier, decimal_sign=".")
        assert "Take the list in" not in texts(trial_page(counter_client, supplier))
        answer = take(counter_client, supplier)
        assert errors_of(answer)["__all__"][0].startswith("Not one line of this list can be taken.")

    def test_what_was_shown_comes_in_though_the_columns_were_confirmed_anew_elsewhere(
        self, supplier: Supplier, counter_client: Client
    ) -> None:
        send(counter_client, supplier)
        confirm(counter_client, supplier)
        seen = trial_page(counter_client, supplier).context["form"].initial["seen"]
        confirm(counter_client, supplier, means_3="", from_3="")
        assert take(counter_client, supplier, seen=seen).status_code == 302
        assert offered(supplier)["EL84"] == [[1, 1_450_000], [10, 1_390_000]]

    def test_columns_stay_as_they_were_confirmed(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier)
        confirm(counter_client, supplier, means_3="", from_3="", is_whole="")
        form = columns_page(counter_client, supplier).context["form"]
        assert (form["means_3"].value(), form["is_whole"].value()) == (None, False)

    def test_says_how_far_it_got(self, tried: Client, supplier: Supplier) -> None:
        told = tried.get(reverse("inventory:price_list_progress", args=[supplier.pk])).json()
        assert told == {"what": "Reading the file", "share": 0}


class TestTheWaitingFile:
    def test_goes_once_it_is_taken_in(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        take_in(counter_client, supplier)
        assert waiting_files(settings) == []

    def test_goes_when_it_is_thrown_away(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        send(counter_client, supplier)
        assert len(waiting_files(settings)) == 1
        assert "“spring.csv” was sent" in texts(counter_client.get(reverse("inventory:price_lists", args=[supplier.pk])))
        assert post(counter_client, "inventory:price_list_leave", supplier.pk).status_code == 302
        assert waiting_files(settings) == []

    def test_goes_when_another_is_sent(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        send(counter_client, supplier)
        send(counter_client, supplier, name="other.csv")
        assert len(waiting_files(settings)) == 1
        assert "other.csv" in texts(columns_page(counter_client, supplier))

    def test_goes_after_a_day(self, supplier: Supplier, counter_client: Client, settings: Any, still_clock: StillClock) -> None:
        send(counter_client, supplier)
        (old,) = waiting_files(settings)
        still_clock.forward(hours=25)
        signed_in_again = columns_page(counter_client, supplier)
        assert signed_in_again["Location"] == reverse("inventory:price_lists", args=[supplier.pk])
        send(counter_client, a_supplier("Brimble Wireless Stores"))
        assert old not in waiting_files(settings)

    def test_is_nobody_elses(self, supplier: Supplier, counter_client: Client, owner_client: Client) -> None:
        send(counter_client, supplier)
        for name in ("price_list_columns", "price_list_trial", "price_list_trial_rejects"):
            answer = owner_client.get(reverse(f"inventory:{name}", args=[supplier.pk]))
            assert answer["Location"] == reverse("inventory:price_lists", args=[supplier.pk])
        session = owner_client.session
        session["waiting_lists"] = counter_client.session["waiting_lists"]
        session.save()
        assert columns_page(owner_client, supplier).status_code == 302, "its name alone opens it to nobody else"

    def test_has_a_random_name_and_its_own_is_only_shown(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        send(counter_client, supplier, name="../../<b>x.csv")
        (folder,) = waiting_files(settings)
        assert len(folder.name) == 32
        assert sorted(one.name for one in folder.iterdir()) == ["about.json", "list.csv"]
        assert "<b>x" not in columns_page(counter_client, supplier).content.decode()

    def test_stays_after_a_refusal(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        send(counter_client, supplier)
        assert confirm(counter_client, supplier, means_0="").status_code == 422
        assert len(waiting_files(settings)) == 1
        assert confirm(counter_client, supplier).status_code == 302

    def test_a_file_that_is_refused_leaves_nothing(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        answer = send(counter_client, supplier, b"%PDF-1.7 ...", "list.pdf")
        assert answer.status_code == 422
        assert errors_of(answer)["file"] == ["“list.pdf” is a PDF. Ask for the list as CSV or XLSX."]
        assert waiting_files(settings) == []


class TestSentTwice:
    def test_the_file(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        token = once()
        for _ in range(2):
            assert send(counter_client, supplier, once=token).status_code == 302
        assert len(waiting_files(settings)) == 1

    def test_taking_it_in(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier)
        confirm(counter_client, supplier)
        seen = trial_page(counter_client, supplier).context["form"].initial["seen"]
        typed = {"once": once(), "seen": seen}
        first, second = (counter_client.post(reverse("inventory:price_list_trial", args=[supplier.pk]), typed) for _ in range(2))
        assert first["Location"] == second["Location"]
        assert PriceList.objects.count() == 1

    def test_without_a_token_nothing_is_taken(self, supplier: Supplier, counter_client: Client) -> None:
        send(counter_client, supplier)
        confirm(counter_client, supplier)
        assert take(counter_client, supplier, once="").status_code == 422
        assert Offer.objects.count() == 0

    def test_after_it_was_taken_says_that_no_file_waits(self, supplier: Supplier, counter_client: Client) -> None:
        take_in(counter_client, supplier)
        answer = post(counter_client, "inventory:price_list_trial", supplier.pk, seen="0" * 16)
        assert answer["Location"] == reverse("inventory:price_lists", args=[supplier.pk])
        assert "No file waits here." in texts(counter_client.get(answer["Location"]))


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("same_token", [True, False])
def test_a_list_taken_in_twice_at_once_comes_in_once(same_token: bool, counter: Staff) -> None:
    a_profile()
    supplier, client = a_supplier(), signed_in(counter)
    send(client, supplier)
    confirm(client, supplier)
    seen = trial_page(client, supplier).context["form"].initial["seen"]
    token, start, answers = once(), threading.Barrier(2), []
    cookies = client.cookies

    def work() -> None:
        other = Client()
        other.cookies = cookies
        start.wait()
        typed = {"once": token if same_token else once(), "seen": seen}
        answers.append(other.post(reverse("inventory:price_list_trial", args=[supplier.pk]), typed).status_code)
        connection.close()

    threads = [threading.Thread(target=work) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(answers) <= {302, 422}
    assert 302 in answers
    assert PriceList.objects.count() == 1
    assert len(offered(supplier)) == 3
    assert PriceList.objects.get().added == 3


class TestWhoMay:
    def test_the_bench_looks_and_the_counter_and_the_owner_take_in(
        self, supplier: Supplier, counter_client: Client, colleague_client: Client, owner_client: Client
    ) -> None:
        take_in(counter_client, supplier)
        page = colleague_client.get(reverse("inventory:price_lists", args=[supplier.pk]))
        assert page.status_code == 200
        assert "Send a list" not in texts(page)
        assert send(colleague_client, supplier).status_code == 403
        assert send(owner_client, supplier).status_code == 302

    @pytest.mark.parametrize("name", ["price_lists", "price_list_new", "price_list_columns", "price_list_trial"])
    def test_a_stranger_signs_in_first(self, name: str, supplier: Supplier, stranger_client: Client) -> None:
        answer = stranger_client.get(reverse(f"inventory:{name}", args=[supplier.pk]))
        assert answer["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("rows", [1, 50])
def test_the_list_of_lists_asks_as_often_for_many(
    rows: int, supplier: Supplier, owner: Staff, owner_client: Client, still_clock: StillClock, django_assert_max_num_queries: Any
) -> None:
    for n in range(rows):
        PriceList.objects.create(
            supplier=supplier,
            file_name=f"{n}.csv",
            digest=f"{n}",
            currency="GBP",
            at=still_clock.now + timedelta(n),
            person=owner,
        )
    with django_assert_max_num_queries(8):
        assert owner_client.get(reverse("inventory:price_lists", args=[supplier.pk])).status_code == 200


class TestAStop:
    """Asked for while a file is read or taken in, as a second page of the same person does."""

    @pytest.fixture
    def stopping(self, monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
        """Between the first batch of lines and the next somebody asks for a stop."""
        note = Waiting.note

        def noted(one: Waiting, what: str, value: dict[str, Any]) -> None:
            note(one, what, value)
            if what == "progress" and value["share"] > 0:
                one.ask_stop()

        monkeypatch.setattr("inventory.price_lists.reading.TICK_ROWS", 1)
        monkeypatch.setattr("inventory.services.price_lists.ROWS_A_STATEMENT", 1)
        monkeypatch.setattr(Waiting, "note", noted)
        return monkeypatch

    def test_ends_the_reading_and_the_file_waits_as_before(
        self, supplier: Supplier, counter_client: Client, stopping: pytest.MonkeyPatch, settings: Any
    ) -> None:
        send(counter_client, supplier)
        answer = confirm(counter_client, supplier)
        assert errors_of(answer)["__all__"] == ["The reading was stopped. No offer changed; the file waits as before."]
        assert not [one for one in waiting_files(settings)[0].iterdir() if one.is_dir()], "nothing of the trial is left"
        stopping.undo()
        assert confirm(counter_client, supplier).status_code == 302

    def test_ends_the_taking_in_and_nothing_of_it_is_kept(
        self, supplier: Supplier, counter_client: Client, request: pytest.FixtureRequest
    ) -> None:
        send(counter_client, supplier)
        confirm(counter_client, supplier)
        stopping = request.getfixturevalue("stopping")
        answer = take(counter_client, supplier)
        assert errors_of(answer)["__all__"] == ["The taking in was stopped. Nothing of it was kept; no offer changed."]
        assert (Offer.objects.count(), PriceList.objects.count()) == (0, 0)
        stopping.undo()
        assert take(counter_client, supplier).status_code == 302
        assert Offer.objects.count() == 3

    def test_is_a_button_on_the_suppliers_page_while_something_is_under_way(
        self, supplier: Supplier, counter_client: Client, settings: Any
    ) -> None:
        send(counter_client, supplier)
        page, stop = (
            reverse("inventory:price_lists", args=[supplier.pk]),
            reverse("inventory:price_list_stop", args=[supplier.pk]),
        )
        assert stop not in texts(counter_client.get(page))
        (folder,) = waiting_files(settings)
        (folder / "under_way.json").write_text("{}")
        assert "It is being read or taken in just now, on another page." in texts(counter_client.get(page))
        assert counter_client.post(stop).headers["Location"] == page
        assert (folder / "stop.json").exists()

    def test_changes_nothing_where_nothing_is_under_way(self, supplier: Supplier, counter_client: Client, settings: Any) -> None:
        assert post(counter_client, "inventory:price_list_stop", supplier.pk).status_code == 302
        send(counter_client, supplier)
        assert post(counter_client, "inventory:price_list_stop", supplier.pk).status_code == 302
        assert confirm(counter_client, supplier).status_code == 302

    def test_is_not_for_the_bench(self, supplier: Supplier, colleague_client: Client) -> None:
        assert post(colleague_client, "inventory:price_list_stop", supplier.pk).status_code == 403
