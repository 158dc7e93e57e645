"""How a set leaves the demo's shop: billed and handed over, returned unrepaired, or sold as nobody came for it."""

from random import Random

from billing.models import Invoice, PaymentKind
from billing.queries import account_of
from billing.release import Signature, hand_over, return_unsafe
from billing.services import Money, PartOf, credit, credit_part, issue_invoice, record_payment
from jobs.models import Job
from jobs.services.labour import Work, log_work
from shop.demo import uncollected
from shop.demo.hand import Hand
from shop.demo.models import task_named
from shop.demo.people import Cast
from shop.demo.plans import Calendar, Plan
from shop.models import Customer


class Leaving:
    """The last steps of a story."""

    plan: Plan
    cast: Cast
    calendar: Calendar
    customer: Customer
    rng: Random
    job: Job
    hand: Hand

    def _has(self, turn: str) -> bool:
        return turn in self.plan.turns

    def _flat(self, name: str) -> None:
        task, at = task_named(name), self.calendar.later(minutes=4)
        log_work(self.job, Work(self.hand.person, task.step, at.date(), task=task), person=self.hand.person, at=at)

    def _bill(self) -> Invoice:
        return issue_invoice(self.job, person=self.cast.counter, at=self.calendar.later(minutes=10))

    def _hand_over(self) -> None:
        self._settle(self._bill_twice() if self._has("credit") else self._bill())
        hand_over(self.job, Signature(self.customer.name), person=self.cast.counter, at=self.calendar.later(minutes=9))
        if self._has("credit_part"):
            self._give_way()

    def _give_way(self) -> None:
        """The owner takes something off a bill that is paid already, and pays it back."""
        bill = self.job.invoices.get()  # type: ignore[attr-defined]
        line = bill.lines.filter(kind="labour", charged=True).order_by("-amount_minor")[0]
        part = PartOf(line, sum_minor=line.amount_minor // 4)
        why = "the set stood a week longer than promised"
        credit_part(bill, [part], why, person=self.cast.owner, at=self.calendar.later(minutes=20))
        self._money(bill, PaymentKind.REFUND, -account_of(bill).due_minor, "transfer")

    def _bill_twice(self) -> Invoice:
        first = self._bill()
        credit(
            first,
            "made out before the customer's address was corrected",
            person=self.cast.owner,
            at=self.calendar.later(minutes=30),
        )
        self.job.refresh_from_db()
        return self._bill()

    def _settle(self, invoice: Invoice) -> None:
        due = account_of(invoice).due_minor
        if due < 0:
            self._money(invoice, PaymentKind.REFUND, -due, "cash")
        elif self._has("waive"):
            self._money(invoice, PaymentKind.PAID, due // 2, "card")
            self._money(invoice, PaymentKind.WAIVED, due - due // 2, note="half for the stage, as promised")
        elif self._has("part_paid"):
            self._money(invoice, PaymentKind.PAID, due // 3, "cash")
            self._money(invoice, PaymentKind.PAID, due - due // 3, "transfer")
        elif due:
            self._money(invoice, PaymentKind.PAID, due, self.rng.choice(("cash", "card", "card", "transfer")))

    def _money(self, invoice: Invoice, kind: str, amount_minor: int, how: str = "", note: str = "") -> None:
        person = self.cast.owner if kind == PaymentKind.WAIVED else self.cast.counter
        record_payment(invoice, Money(kind, amount_minor, how, note), person=person, at=self.calendar.later(minutes=6))

    def _return(self) -> None:
        """Declined: the inspection is billed as agreed at intake, and the set goes back disabled."""
        self._flat("Inspection and estimate")
        self._settle(self._bill())
        signature = Signature(self.customer.name, "line cord cut off and kept with the set")
        return_unsafe(self.job, signature, person=self.cast.counter, at=self.calendar.later(minutes=10))

    # A set that nobody comes for.

    def _call(self) -> None:
        uncollected.call(self.job, person=self.cast.counter, at=self.calendar.at)

    def _warn(self) -> None:
        uncollected.warn(self.job, person=self.cast.counter, at=self.calendar.at)

    def _sell(self) -> None:
        uncollected.sell_it(self.job, person=self.cast.owner, at=self.calendar.at)
