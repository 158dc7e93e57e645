"""The first page of the day: what is promised, waits, is ready, runs, is owed, runs out; from each line the way to its act."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Kind, Order, OrderLine, Part
from jobs.models import Claim, Estimate, Job, SoakRun, Stage, Warranty
from jobs.queries.collection import DEFER
from jobs.services import stages
from jobs.services.collection import Notice, record_notice
from jobs.services.labour import start_clock
from shop.clock import now, today
from shop.models import Profile, Role, Staff
from shop.views.day import LONGEST, ORDER, SUBJECTS, Section, sections
from shop.views.day_lines import Desk, Line
from shop.views.day_lists import counts
from shop.views.day_ways import Ways, Wish
from tests.builders import (
    a_bench,
    a_customer,
    a_job,
    a_lot,
    a_part,
    a_profile,
    a_set,
    a_staff,
    a_supplier,
    an_invoice,
    drawer_of,
    pay,
)
from tests.conftest import MONDAY, StillClock, signed_in
from tests.inventory.orders import a_sent_order, draft_line, line_of
from tests.jobs.copies import copies_of
from tests.words import words_of

pytestmark = pytest.mark.django_db
TODAY = MONDAY.date()


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> StillClock:
    a_profile()
    return still_clock


def promised(days: int | None, stage: str = Stage.TAKEN_IN, serial: str = "") -> Job:
    job = a_job(stage, radio=a_set(serial=serial or f"S{days}"))
    job.promised_on = None if days is None else TODAY + timedelta(days=days)
    job.save(update_fields=["promised_on"])
    return job


def an_order(part: Part, count: int = 10, **more: Any) -> Order:
    return a_sent_order(draft_line(part, count, **more), supplier=a_supplier(part.marking))


def desk(person: Staff) -> Desk:
    return Desk(person, now(), Profile.current(), Ways(person))


def section(person: Staff, key: str) -> Section | None:
    return next((one for one in sections(desk(person))[0] if one.subject.key == key), None)


def lines(person: Staff, key: str) -> list[Line]:
    found = section(person, key)
    return found.lines if found else []


def only(person: Staff, key: str) -> Line:
    (line,) = lines(person, key)
    return line


def tags(person: Staff, key: str) -> list[str]:
    return [line.tag for line in lines(person, key)]


def ways(line: Line) -> dict[str, str]:
    return {way.label: way.address for way in line.ways}


def at(name: str, *args: object) -> str:
    return reverse(name, args=args)


class TestTheDayInOneSentence:
    def test_sums_what_is_due_late_awaited_and_ready(self, owner_client: Client) -> None:
        for days in (0, 0, -1, 5, None):
            promised(days, serial=f"d{days}{Job.objects.count()}")
        a_job(Stage.AWAITING_CONSENT, radio=a_set(serial="a"))
        promised(-4, Stage.READY, serial="r")
        said = "2 sets promised today, 1 overdue, 1 waits for an answer, 1 ready to collect."
        assert counts(TODAY).sentence == said
        assert said in words_of(owner_client.get(at("today")))

    def test_says_so_where_nothing_is_due(self) -> None:
        a_job()
        assert counts(TODAY).sentence == "Nothing is due today, and nobody is waited for."

    def test_an_empty_workshop_is_told_what_will_stand_here(self, counter_client: Client, colleague_client: Client) -> None:
        page = words_of(counter_client.get(at("today")))
        assert "Nothing stands in the workshop" in page
        assert "Take the first set in" in page
        assert "Take the first set in" not in words_of(colleague_client.get(at("today")))
        assert "Estimates running out An estimate with the customer whose standing days end within the week." in page


class TestPromises:
    def test_stand_apart_by_late_today_and_the_week_the_earliest_first(self, owner: Staff) -> None:
        late, later, soon, now_due, _, _ = (promised(days) for days in (-3, -1, 5, 0, 8, None))
        promised(-9, Stage.READY, serial="kept")
        assert tags(owner, "overdue") == [late.number, later.number]
        assert tags(owner, "today") == [now_due.number]
        assert tags(owner, "week") == [soon.number]
        assert only(owner, "week").marks == (("open", "In 5 days"),)

    def test_lead_the_bench_on_and_the_counter_to_the_promise(self, owner: Staff, colleague: Staff, counter: Staff) -> None:
        job = promised(-1, Stage.REPAIRING)
        change = {"Change the promise": at("jobs:job_change", job.pk) + "#id_promised_on"}
        go_on = {"Open the change log": at("jobs:change_log", job.pk)}
        assert ways(only(colleague, "overdue")) == go_on
        assert ways(only(counter, "overdue")) == change
        assert ways(only(owner, "overdue")) == go_on | change
        line = only(owner, "overdue")
        assert (line.marks, line.words) == ((("no", "Overdue 1 day"),), "for 1 Mar 2026; On the bench")


class TestWaiting:
    def test_for_an_answer_leads_to_recording_it(self, counter: Staff, colleague: Staff) -> None:
        job = a_job(Stage.AWAITING_CONSENT, at=MONDAY - timedelta(days=3))
        sent = Estimate.objects.get(job=job)
        line = only(counter, "approval")
        assert line.words == "since 27 Feb 2026, 3 days"
        assert line.marks == (("open", "Stands 27 days more"),)
        assert ways(line) == {"Record the answer": at("jobs:consent", sent.pk), "Send it again": at("jobs:estimate", job.pk)}
        assert ways(only(colleague, "approval")) == {}

    def test_for_a_part_leads_to_the_order_that_brings_it_or_to_the_buy_list(self, colleague: Staff) -> None:
        job, other = a_job(), a_job()
        for one in (job, other):
            stages.wait_for(one, "part", "EL41", at=now() - timedelta(days=2))
        order = an_order(a_part("EL41", Kind.VALVE), for_what=f"stock, {job.number}")
        first, second = lines(colleague, "part")
        here = "Say that it is here"
        assert list(ways(first)) == [f"Receive {order.number}", here]
        assert ways(first)[f"Receive {order.number}"] == at("inventory:order_receive", order.pk)
        assert first.words.startswith(f"EL41; since 28 Feb 2026, 2 days; on order {order.number} from ")
        assert ways(second) == {"See what to buy": at("shop:buy_list"), here: at("jobs:job", other.pk) + "#wait"}

    def test_for_payment_and_for_somebody(self, counter: Staff, colleague: Staff) -> None:
        pays, asks = a_job(), a_job()
        stages.wait_for(pays, "payment", "", at=now())
        stages.wait_for(asks, "person", "his sister", at=now())
        assert ways(only(counter, "payment")) == {"Take the payment": at("billing:job_money", pays.pk)}
        assert only(counter, "somebody").words == "his sister; since 2 Mar 2026, today"
        assert "payment" not in ORDER[Role.BENCH]

    def test_for_the_soak_says_when_its_hours_are_over(self, colleague: Staff, counter: Staff, shop: StillClock) -> None:
        """The shop soaks for four hours unless it says otherwise."""
        job = a_job(Stage.SOAKING)
        SoakRun.objects.filter(job=job).update(started_at=now(), ended_at=None)
        shop.forward(hours=3, minutes=30)
        assert only(colleague, "soak").marks == (("wait", "30 min to go"),)
        shop.forward(hours=1)
        line = only(colleague, "soak")
        assert line.marks == (("warn", "Its hours are over"),)
        assert ways(line) == {"End the soak": at("jobs:soak", job.pk)}
        assert ways(only(counter, "soak")) == {}


class TestReady:
    def test_says_since_when_and_what_the_place_lets_the_shop_do(self, counter: Staff, shop: StillClock) -> None:
        """England: Torts (Interference with Goods) Act 1977, schedule 1; the figures are the place's own file's."""
        job = a_job(Stage.READY, customer=a_customer("Odo Pelt", phone="01632 960 777"))
        shop.forward(days=5)
        line = only(counter, "ready")
        assert line.marks == (("open", "No notice yet"),)
        assert line.words.startswith("since 2 Mar 2026, 5 days; +44 1632 960777. Send a notice that the set is ready")
        assert DEFER in words_of(signed_in(counter).get(at("today")))
        assert "By these rules it may be sold on " in line.words
        assert ways(line) == {
            "Hand it over": at("billing:hand_over", job.pk),
            "Write a notice down": at("billing:notice_new", job.pk),
            "Proof, disputes, sale": at("billing:collecting", job.pk),
        }

    def test_names_the_day_that_a_notice_named(self, counter: Staff, shop: StillClock) -> None:
        job = a_job(Stage.READY)
        record_notice(job, Notice("collect", today(), "letter", "Iwona Brzask"), person=counter, at=now())
        assert "No notice" not in only(counter, "ready").marks[0][1]
        assert "at the earliest" in only(counter, "ready").words

    def test_shows_the_bench_the_set_and_no_more(self, colleague: Staff) -> None:
        a_job(Stage.READY)
        assert DEFER not in words_of(signed_in(colleague).get(at("today")))
        line = only(colleague, "ready")
        assert (line.words, line.ways, line.marks) == ("since 2 Mar 2026, today", (), ())


def test_an_estimate_that_runs_out_is_named_before_and_after_its_last_day(counter: Staff, shop: StillClock) -> None:
    job = a_job(Stage.AWAITING_CONSENT)
    sent = Estimate.objects.get(job=job)
    assert lines(counter, "estimates") == []
    for left, mark in (
        (6, ("warn", "Stands 6 days more")),
        (0, ("warn", "Stands until today")),
        (-1, ("no", "Ran out 1 Mar 2026")),
    ):
        Estimate.objects.filter(pk=sent.pk).update(stands_until_on=TODAY + timedelta(days=left))
        line = only(counter, "estimates")
        assert line.marks == (mark,)
        assert "Send it again" in ways(line)


class TestClocks:
    def test_of_everybody_are_shown_and_ones_own_is_stopped(self, colleague: Staff, counter: Staff, owner: Staff) -> None:
        job, other = a_job(Stage.REPAIRING), a_job()
        stages.put_on_bench(job, a_bench(), at=now())
        start_clock(job, "repair", person=colleague, at=now() - timedelta(minutes=50))
        third = start_clock(other, "cleaning", person=a_staff("third", shown_name="Ottilie Vane"), at=now())
        mine, theirs = lines(colleague, "clocks")
        assert mine.words == "your clock, repair at Bench 1, 50 min so far"
        assert ways(mine) == {"Stop it": at("jobs:labour", job.pk) + "#clock"}
        assert theirs.words == "Ottilie Vane, cleaning, 0 min so far"
        assert ways(theirs) == {}
        assert ways(lines(owner, "clocks")[1]) == {"Stop it, and say what was worked": at("jobs:clock_end", third.pk)}
        assert [ways(line) for line in lines(counter, "clocks")] == [{}, {}]

    def test_one_that_ran_over_night_is_marked_and_asks_what_was_worked(self, colleague: Staff) -> None:
        clock = start_clock(a_job(), "repair", person=colleague, at=now() - timedelta(hours=15))
        line = only(colleague, "clocks")
        assert line.marks == (("warn", "Ran over night"),)
        assert ways(line) == {"Stop it, and say what was worked": at("jobs:clock_end", clock.pk)}


class TestDrawers:
    def test_a_part_runs_out_when_fewer_are_free_than_are_to_be_kept(self, owner: Staff) -> None:
        lot = a_lot(a_part(minimum=10), count=10)
        assert lines(owner, "low") == []
        Part.objects.filter(pk=lot.part_id).update(minimum=11)
        line = only(owner, "low")
        assert (line.words, line.marks) == ("10 free, 11 to be kept", (("warn", "Low"),))
        assert ways(line)["Buy it"].startswith(at("shop:buy_list") + "#count-")
        Part.objects.filter(pk=lot.part_id).update(in_use=False)
        assert lines(owner, "low") == []

    def test_what_is_on_its_way_needs_no_buying(self, owner: Staff) -> None:
        part = a_part(minimum=10)
        an_order(part, count=20)
        line = only(owner, "low")
        assert (line.words, line.marks) == ("0 free, 10 to be kept; 20 on the way", (("wait", "Ordered"),))
        assert ways(line) == {"See the orders": at("inventory:orders")}

    def test_a_return_window_that_ends_this_week_is_named_while_parts_are_left(self, colleague: Staff, counter: Staff) -> None:
        ends = a_lot(supplier=a_supplier(return_days=7))
        a_lot(a_part("1 µF 63 V"), supplier=a_supplier("Ohm & Sons", return_days=30))
        line = only(colleague, "returns")
        assert line.words == "10 lie unused in A / 1; Ferrule & Daughters takes them back until 9 Mar 2026"
        assert ways(line) == {"Write the return": at("inventory:send_back", ends.pk, drawer_of(ends).pk)}
        assert ways(only(counter, "returns")) == {}

    def test_an_untested_valve_is_tested_before_its_window_ends(self, colleague: Staff) -> None:
        lot = a_lot(a_part("EL84", Kind.VALVE), count=2, supplier=a_supplier(return_days=1))
        line = only(colleague, "returns")
        assert line.marks == (("warn", "1 day left"),)
        assert line.words.startswith("2 lie untested in A / 1; ")
        assert ways(line)["Set apart and test"] == at("inventory:set_apart", lot.pk, drawer_of(lot).pk)

    def test_what_is_late_from_a_supplier_is_received_or_expected_later(self, counter: Staff) -> None:
        order = an_order(a_part(), count=5)
        line = line_of(order)
        OrderLine.objects.filter(pk=line.pk).update(expected_on=TODAY)
        assert lines(counter, "late") == []
        OrderLine.objects.filter(pk=line.pk).update(expected_on=TODAY - timedelta(days=3))
        late = only(counter, "late")
        assert late.marks == (("no", "Late 3 days"),)
        assert ways(late) == {
            "Receive it": at("inventory:order_receive", order.pk),
            "Expect it on another day": at("inventory:order_line_expected", line.pk),
        }


class TestMoney:
    def test_an_invoice_is_owed_until_it_is_paid(self, counter: Staff) -> None:
        invoice = an_invoice(a_job(Stage.READY))
        line = only(counter, "unpaid")
        assert line.head == invoice.number
        assert ways(line) == {"Take the payment": at("billing:pay", invoice.pk)}
        pay(invoice, invoice.gross_minor - 20)
        assert only(counter, "unpaid").text.endswith(", £0.20")
        pay(invoice)
        assert lines(counter, "unpaid") == []

    def test_the_bench_sees_none(self, colleague_client: Client, counter_client: Client) -> None:
        invoice = an_invoice(a_job(Stage.READY))
        assert invoice.number in words_of(counter_client.get(at("today")))
        assert invoice.number not in words_of(colleague_client.get(at("today")))
        answer = colleague_client.get(at("today"), {"list": "unpaid"})
        assert invoice.number not in words_of(answer)


class TestTheWholeOfAList:
    def test_is_one_click_away_where_the_page_holds_less(self, owner_client: Client) -> None:
        copies_of(promised(-1), LONGEST)
        last = f"-{LONGEST - 1}"
        page = owner_client.get(at("today"))
        assert "?list=overdue" in page.content.decode()
        assert f"The first {LONGEST} stand here." in words_of(page)
        assert last not in words_of(page)
        assert last in words_of(owner_client.get(at("today"), {"list": "overdue"}))

    def test_opens_for_every_list_while_it_is_empty(self, owner_client: Client) -> None:
        for key, subject in SUBJECTS.items():
            page = words_of(owner_client.get(at("today"), {"list": key}))
            assert subject.title in page
            # An empty shop has no copy yet, which is the one thing to say there.
            assert ("Backups" if key == "backups" else "Nothing stands here now.") in page

    def test_a_bent_address_gives_a_page(self, owner_client: Client) -> None:
        for asked in ({"list": "gold"}, {"list": "overdue", "page": "x"}, {"list": "overdue", "page": "99"}):
            assert owner_client.get(at("today"), asked).status_code == 200


def test_each_role_has_an_order_of_its_own_and_the_owner_every_list() -> None:
    assert set(ORDER[Role.OWNER]) == set(SUBJECTS) == set(ORDER[Role.COUNTER]) | {"keeping", "backups"}
    assert set(ORDER[Role.BENCH]) == set(SUBJECTS) - {"keeping", "backups", "unpaid", "estimates", "payment"}
    assert len({order[:5] for order in ORDER.values()}) == 3
    assert all(len(set(order)) == len(order) for order in ORDER.values())


def test_a_way_is_offered_only_to_whoever_may_go_it(colleague: Staff, owner: Staff) -> None:
    wish = Wish("Books", "billing:books")
    assert Ways(colleague).of([wish]) == ()
    assert Ways(owner).of([wish])[0].address == at("billing:books")


def test_a_stranger_signs_in_first(stranger_client: Client) -> None:
    assert stranger_client.get(at("today"))["Location"].startswith(at("login"))


def fill(first: int, last: int) -> None:
    """Rows in every list, one a number."""
    customer = a_customer("Tomislav Feld")
    for n in range(first, last):
        for days in (-1, 0, 3):
            promised(days, serial=f"P{n}{days}")
        for what in ("part", "payment", "person", "soak"):
            stages.wait_for(a_job(radio=a_set(customer, serial=f"{what}{n}")), what, "", at=now())
        sent = a_job(Stage.AWAITING_CONSENT, radio=a_set(customer, serial=f"F{n}"))
        Estimate.objects.filter(job=sent).update(stands_until_on=TODAY)
        start_clock(sent, "repair", person=a_staff(f"bench{n}"), at=now())
        part = a_part(f"{n + 10} pF 500 V", minimum=99, technology="mica")
        a_lot(part, supplier=a_supplier(f"Supplier {n}", return_days=3))
        an_order(part)
        back = a_job(radio=a_set(customer, serial=f"back{n}"))
        warranty = Warranty.objects.create(job=back, starts_on=TODAY)
        Claim.objects.create(job=back, warranty=warranty, claimed_on=TODAY, at=now(), person=a_staff())
        Job.objects.filter(pk=back.pk).update(warranty_of=back)
    OrderLine.objects.update(expected_on=date(2026, 2, 1))


def test_the_page_asks_as_often_for_fifty_rows_as_for_one(owner_client: Client, django_assert_max_num_queries: Any) -> None:
    def queries() -> int:
        with django_assert_max_num_queries(35) as seen:
            assert owner_client.get(at("today")).status_code == 200
        return len(seen.captured_queries)

    an_invoice(a_job(Stage.READY))
    fill(0, 1)
    one = queries()
    fill(1, 3)
    for job in Job.objects.all():
        copies_of(job, 50)
    an_invoice(a_job(Stage.READY, radio=a_set(serial="R2")))
    assert queries() == one


def test_the_page_opens_for_every_role(owner: Staff, counter: Staff, colleague: Staff) -> None:
    fill(0, 1)
    for person in (owner, counter, colleague):
        assert signed_in(person).get(at("today")).status_code == 200
