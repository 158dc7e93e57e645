"""Too much money, money moved, money lost, and slips: the account tells each of them right, and the door out knows them."""

import threading
import uuid
from typing import Any

import pytest
from django.db import connections, transaction
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from billing.models import Invoice, OpenAccount, Payment, PaymentKind
from billing.queries import account_of, kept_minor, money_missing, money_words, steps_of, with_account, with_history
from billing.services import credit, credit_part, move_credit, take_back
from billing.services.open_accounts import keep_all
from jobs.models import Job
from shop.acts import Refused, Stale
from shop.clock import now
from tests.billing.histories import ACTS, a_bill, book, boss, play, whole_lines
from tests.builders import a_customer, a_staff
from tests.conftest import MONDAY

FULL = 7_416  # 1.80 of parts and 60.00 of labour, 20 % tax on both


def due(invoice: Invoice) -> int:
    """From the account, from the database, and from all steps: one figure."""
    summed, asked = account_of(Invoice.objects.get(pk=invoice.pk)), with_account(Invoice.objects.filter(pk=invoice.pk)).get()
    account = summed.due_minor
    assert (account_of(asked), asked.due) == (summed, account)  # type: ignore[attr-defined]
    walked = steps_of(with_history(Invoice.objects.filter(pk=invoice.pk)).get())
    assert sum(step.due_minor for step in walked) == account
    assert all(sum(minor for _, minor in step.parts()) == step.due_minor for step in walked)
    return account


@pytest.mark.django_db
class TestTooMuch:
    def test_is_taken_only_where_the_customer_leaves_the_rest(self) -> None:
        invoice = a_bill()
        with pytest.raises(Refused) as refused:
            book(invoice, PaymentKind.PAID, 8_000)
        assert refused.value.message == (
            f"£74.16 is due on {invoice.number}; £80.00 is more. "
            "Correct the sum, or tick that the customer leaves the rest with the shop."
        )
        book(invoice, PaymentKind.PAID, 8_000, keep=True)
        assert due(invoice) == FULL - 8_000

    def test_holds_no_set_while_it_is_left_here(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 8_000, keep=True)
        assert money_missing(invoice.job) == []
        assert "£5.84 left with the shop by the customer" in money_words(invoice.job)

    def test_what_a_credit_owes_holds_the_set_beside_it(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 8_000, keep=True)
        credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
        assert money_missing(invoice.job) == [f"the refund that invoice {invoice.number} still owes the customer"]
        book(invoice, PaymentKind.REFUND, 144)
        assert (due(invoice), kept_minor(invoice)) == (-584, 440)

    def test_is_given_back_and_no_more(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 8_000, keep=True)
        with pytest.raises(Refused, match="There is £5.84 to give back"):
            book(invoice, PaymentKind.REFUND, 585)
        book(invoice, PaymentKind.REFUND, 584)
        assert (due(invoice), kept_minor(invoice), money_missing(invoice.job)) == (0, 0, [])


@pytest.mark.django_db
class TestMoved:
    def test_pays_another_invoice_by_one_pair_of_lines(self) -> None:
        who = a_customer()
        first, second = a_bill(who), a_bill(who)
        book(first, PaymentKind.PAID, FULL + 5_000, keep=True)
        line = move_credit(first, second, 5_000, person=boss(), at=now())
        assert (due(first), due(second)) == (0, FULL - 5_000)
        assert (line.kind, line.counterpart.kind, line.counterpart.invoice) == ("moved_in", "moved_out", first)
        assert line.amount_minor == line.counterpart.amount_minor == 5_000

    @pytest.mark.parametrize(
        ("minor", "told"),
        [(5_001, "There is £50.00 to give back"), (0, "must be above nothing")],
    )
    def test_not_more_than_there_is(self, minor: int, told: str) -> None:
        who = a_customer()
        first, second = a_bill(who), a_bill(who)
        book(first, PaymentKind.PAID, FULL + 5_000, keep=True)
        with pytest.raises(Refused, match=told):
            move_credit(first, second, minor, person=boss(), at=now())

    def test_not_more_than_the_other_owes_nor_to_others(self) -> None:
        who = a_customer()
        first, second, strange = a_bill(who), a_bill(who), a_bill(a_customer("Somebody Else"))
        book(first, PaymentKind.PAID, FULL + 9_000, keep=True)
        with pytest.raises(Refused, match=f"£74.16 is due on {second.number}; £90.00 is more."):
            move_credit(first, second, 9_000, person=boss(), at=now())
        with pytest.raises(Refused, match="one customer and one currency only"):
            move_credit(first, strange, 100, person=boss(), at=now())
        with pytest.raises(Refused, match="Choose another invoice"):
            move_credit(first, first, 100, person=boss(), at=now())
        assert not Payment.objects.filter(kind__in=("moved_in", "moved_out")).exists()

    def test_from_a_credited_invoice_too(self) -> None:
        who = a_customer()
        first, second = a_bill(who), a_bill(who)
        book(first, PaymentKind.PAID, FULL)
        credit(first, "wrong", person=boss(), at=now())
        move_credit(first, second, FULL, person=boss(), at=now())
        assert (due(first), due(second)) == (0, 0)
        assert money_missing(second.job) == []

    def test_is_moved_back_as_a_slip_once(self) -> None:
        who = a_customer()
        first, second = a_bill(who), a_bill(who)
        book(first, PaymentKind.PAID, FULL + 5_000, keep=True)
        line = move_credit(first, second, 5_000, person=boss(), at=now())
        take_back(Payment.objects.get(kind=PaymentKind.MOVED_OUT), "wrong invoice", person=boss(), at=now())
        assert (due(first), due(second)) == (-5_000, FULL)
        with pytest.raises(Stale, match="taken back already"):
            take_back(line, "again", person=boss(), at=now())


@pytest.mark.django_db
class TestLost:
    def test_is_written_off_by_the_owner_with_a_reason_and_frees_the_set(self) -> None:
        invoice = a_bill()
        with pytest.raises(Refused, match="Say why the sum is written off as lost."):
            book(invoice, PaymentKind.WRITTEN_OFF, FULL, note=" ")
        book(invoice, PaymentKind.WRITTEN_OFF, FULL, note="moved away, no address")
        assert (due(invoice), money_missing(invoice.job)) == (0, [])
        assert "£74.16 written off as lost" in money_words(invoice.job)

    def test_a_late_payment_lowers_the_loss(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.WRITTEN_OFF, FULL)
        book(invoice, PaymentKind.PAID, 2_000)
        account = account_of(invoice)
        assert (due(invoice), account.lost_minor, account.paid_minor) == (0, FULL - 2_000, 2_000)
        with pytest.raises(Refused, match="is more"):
            book(invoice, PaymentKind.PAID, FULL - 1_999)

    def test_a_payment_lowers_the_loss_before_the_waiver(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.WAIVED, 1_000)
        book(invoice, PaymentKind.WRITTEN_OFF, FULL - 1_000)
        book(invoice, PaymentKind.PAID, FULL - 1_000)
        account = account_of(invoice)
        assert (account.lost_minor, account.waived_minor, due(invoice)) == (0, 1_000, 0)

    def test_only_the_owner_lets_money_go_or_takes_that_back(self) -> None:
        invoice, till = a_bill(), a_staff()
        lost = book(invoice, PaymentKind.WRITTEN_OFF, FULL)
        with pytest.raises(Refused, match="Only the owner writes money off."):
            take_back(lost, "he came by", person=till, at=now())
        take_back(lost, "he came by", person=boss(), at=now())
        assert due(invoice) == FULL

    def test_a_credit_needs_less_of_a_waiver_and_gives_nothing_back(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.WAIVED, FULL)
        credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
        assert (due(invoice), account_of(invoice).waived_minor) == (0, FULL - 144)


@pytest.mark.django_db
class TestASlip:
    def test_is_taken_back_by_a_line_of_its_own(self) -> None:
        invoice = a_bill()
        paid = book(invoice, PaymentKind.PAID, FULL)
        back = take_back(paid, "the cheque came back", person=boss(), at=now())
        assert (back.kind, back.amount_minor, back.how, back.note) == ("refund", FULL, "cash", "the cheque came back")
        assert due(invoice) == FULL
        assert money_missing(invoice.job) == [f"payment of invoice {invoice.number}, or the owner's waiver"]

    def test_each_line_once_and_no_line_that_takes_back(self) -> None:
        invoice = a_bill()
        paid = book(invoice, PaymentKind.PAID, 100)
        back = take_back(paid, "a slip", person=boss(), at=now())
        with pytest.raises(Stale, match="This was taken back already."):
            take_back(paid, "again", person=boss(), at=now())
        with pytest.raises(Refused, match="book the money anew instead"):
            take_back(back, "after all", person=boss(), at=now())
        with pytest.raises(Refused, match="Say why this is taken back."):
            take_back(book(invoice, PaymentKind.PAID, 100), " ", person=boss(), at=now())

    def test_a_refund_that_was_never_given_is_owed_again(self) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, FULL)
        credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
        refund = book(invoice, PaymentKind.REFUND, 144)
        assert due(invoice) == 0
        take_back(refund, "the drawer was empty", person=boss(), at=now())
        assert (due(invoice), kept_minor(invoice)) == (-144, 0)


@pytest.mark.django_db
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(steps=st.lists(st.tuples(st.sampled_from(ACTS), st.integers(0, 1), st.integers(0, 9_000)), min_size=3, max_size=9))
def test_any_history_has_one_due(two_bills: list[Invoice], steps: list[tuple[str, int, int]]) -> None:
    with transaction.atomic():
        play(two_bills, steps, MONDAY)
        total = sum(due(one) for one in two_bills)
        owed = [with_account(Invoice.objects.filter(pk=one.pk)).get() for one in two_bills]
        assert sum(one.due for one in owed) == total  # type: ignore[attr-defined]
        kept = dict(OpenAccount.objects.values_list("invoice", "due_minor"))
        assert kept == {one.pk: due(one) for one in two_bills if due(one)}
        keep_all()
        assert dict(OpenAccount.objects.values_list("invoice", "due_minor")) == kept
        transaction.set_rollback(True)


@pytest.fixture
def two_bills(db: None, still_clock: Any) -> list[Invoice]:
    who = a_customer()
    return [a_bill(who, deposit_minor=1_000), a_bill(who)]


@pytest.mark.django_db(transaction=True)
def test_two_tills_give_the_same_money_away_once() -> None:
    """One moves what the customer left, the other gives it back: there is enough for one of them, and neither waits forever."""
    who, person = a_customer(), boss()
    first, second = a_bill(who), a_bill(who)
    book(first, PaymentKind.PAID, FULL + 5_000, keep=True)
    book(second, PaymentKind.PAID, FULL - 5_000)
    acts: list[Any] = [
        lambda: move_credit(first, second, 5_000, person=person, at=now()),
        lambda: book(first, PaymentKind.REFUND, 5_000),
    ] * 2
    answers = at_once(acts)
    assert sorted(answers) == ["done", "refused", "refused", "refused"]
    assert account_of(Invoice.objects.get(pk=first.pk)).due_minor == 0


@pytest.mark.django_db(transaction=True)
def test_moves_that_cross_never_wait_for_each_other() -> None:
    who, person = a_customer(), boss()
    first, second = a_bill(who), a_bill(who)
    book(first, PaymentKind.PAID, FULL + 5_000, keep=True)
    acts: list[Any] = [
        lambda: move_credit(first, second, 1_000, person=person, at=now()),
        lambda: move_credit(second, first, 1_000, person=person, at=now()),
    ] * 2
    assert sorted(at_once(acts)) == ["done", "done", "refused", "refused"]


@pytest.mark.django_db(transaction=True)
def test_two_tills_book_the_same_bill_paid_once() -> None:
    invoice, _ = a_bill(), boss()
    assert sorted(at_once([lambda: book(invoice, PaymentKind.PAID, FULL)] * 3)) == ["done", "refused", "refused"]
    assert Payment.objects.count() == 1


def at_once(acts: list[Any]) -> list[str]:
    gate, answers = threading.Barrier(len(acts)), []

    def run(act: Any) -> None:
        gate.wait()
        try:
            act()
            answers.append("done")
        except Refused:
            answers.append("refused")
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def once() -> str:
    return str(uuid.uuid4())


@pytest.mark.django_db
class TestPages:
    def test_too_much_is_refused_until_it_is_ticked(self, counter_client: Client) -> None:
        invoice = a_bill()
        address = f"/money/papers/{invoice.pk}/pay/"
        form = {"once": once(), "kind": "paid", "amount": "80.00", "how": "card"}
        answer = counter_client.post(address, form)
        assert answer.status_code == 422
        assert "or tick that the customer leaves the rest with the shop" in answer.content.decode()
        assert counter_client.post(address, {**form, "keep": "on"}).status_code == 302
        page = counter_client.get(f"/money/papers/{invoice.pk}/").content.decode()
        assert "Money to give back" in page
        assert f"/money/papers/{invoice.pk}/move/" in page

    def test_the_counter_is_not_offered_to_let_money_go(self, counter_client: Client, owner_client: Client) -> None:
        address = f"/money/papers/{a_bill().pk}/pay/"
        assert "Written off as lost" not in counter_client.get(address).content.decode()
        assert "Written off as lost" in owner_client.get(address).content.decode()
        form = {"once": once(), "kind": "lost", "amount": "74.16", "note": "moved away"}
        assert counter_client.post(address, form).status_code == 422
        assert owner_client.post(address, form).status_code == 302
        assert "lowers the loss" in owner_client.get(address).content.decode()

    def test_money_is_moved_once(self, counter_client: Client) -> None:
        who = a_customer()
        first, second = a_bill(who), a_bill(who)
        address = f"/money/papers/{first.pk}/move/"
        assert counter_client.get(address).status_code == 409
        book(first, PaymentKind.PAID, FULL + 5_000, keep=True)
        page = counter_client.get(address).content.decode()
        assert f"{second.number}, £74.16 due" in page
        assert 'value="50.00"' in page
        form = {"once": once(), "goal": second.pk, "amount": "50.00"}
        assert counter_client.post(address, {**form, "amount": "50.01"}).status_code == 422
        assert counter_client.post(address, {**form, "goal": ""}).status_code == 422
        for _ in range(2):
            assert counter_client.post(address, form).status_code == 302
        assert due(second) == FULL - 5_000
        assert f"Moved from {first.number}" in counter_client.get(f"/money/papers/{second.pk}/").content.decode()
        assert f"Moved to {second.number}" in counter_client.get(f"/money/papers/{first.pk}/").content.decode()

    def test_with_nowhere_to_move_it_the_page_says_what_to_do(self, counter_client: Client) -> None:
        invoice = a_bill()
        book(invoice, PaymentKind.PAID, 8_000, keep=True)
        page = counter_client.get(f"/money/papers/{invoice.pk}/move/").content.decode()
        assert "has no other invoice with something due" in page

    def test_a_slip_is_taken_back_once(self, counter_client: Client) -> None:
        invoice = a_bill()
        line = book(invoice, PaymentKind.PAID, 1_000)
        address = f"/money/payments/{line.pk}/back/"
        assert address in counter_client.get(f"/money/papers/{invoice.pk}/").content.decode()
        assert "£10.00" in counter_client.get(address).content.decode()
        form = {"once": once(), "reason": "booked on the wrong invoice"}
        assert counter_client.post(address, {**form, "reason": ""}).status_code == 422
        for _ in range(2):
            assert counter_client.post(address, form).status_code == 302
        assert Payment.objects.count() == 2
        assert counter_client.get(address).status_code == 409
        again = counter_client.post(address, {**form, "once": once()})
        assert again.status_code == 422
        assert "This was taken back already." in again.content.decode()
        page = counter_client.get(f"/money/papers/{invoice.pk}/").content.decode()
        assert "taken back" in page
        assert "booked on the wrong invoice" in page

    def test_strangers_sign_in_and_the_bench_stays_out(self, stranger_client: Client, colleague_client: Client) -> None:
        invoice = a_bill()
        line = book(invoice, PaymentKind.PAID, 1_000)
        for address in (f"/money/papers/{invoice.pk}/move/", f"/money/payments/{line.pk}/back/"):
            assert stranger_client.get(address).status_code == 302
            assert colleague_client.get(address).status_code == 403
            assert colleague_client.post(address).status_code == 403

    def test_today_lists_what_is_still_due_and_nothing_let_go(self, counter_client: Client) -> None:
        lost, part = a_bill(), a_bill()
        book(lost, PaymentKind.WRITTEN_OFF, FULL)
        credit_part(part, whole_lines(part, 0), "goodwill", person=boss(), at=now())
        page = counter_client.get("/").content.decode()
        assert lost.number not in page
        assert part.number in page
        assert "£72.72" in page
        assert Job.objects.filter(billed=True).count() == 2
