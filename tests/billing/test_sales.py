"""The lawful sale of a set that nobody collected: what speaks against it, how its price is shared, what is left for the owner.

The arithmetic is that of the rules in `shop/jurisdictions/places`: costs first, then what was owed, the rest is the owner's
(Torts (Interference with Goods) Act 1977, section 12(5); New York Lien Law 204).
"""

from collections.abc import Callable
from datetime import timedelta

import pytest

from billing.models import Payment, PaymentKind, SurplusPayment, UncollectedSale
from billing.queries import account_of, money_words
from billing.queries.journal import SALE_HELD, journal_of
from billing.queries.periods import Period
from billing.queries.sales import sales, split_of
from billing.services import take_back
from billing.services.uncollected import PayOut, Sale, pay_out, sell
from billing.verification import books, uncollected_sales
from jobs.models import Stage
from jobs.queries.jobs import stage_line
from jobs.services import declining
from shop.acts import Refused
from shop.clock import now, today
from shop.models import Role
from tests.builders import a_job, a_profile, a_staff, announce_sale
from tests.shop.test_verify import behind_its_back

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still_clock")]


def test_a_sale_pays_what_was_owed_and_leaves_the_rest_to_the_owner() -> None:
    a_profile()
    job = a_job(Stage.SOLD)
    sale = sales().get()
    invoice = job.invoices.get()
    assert (sale.surplus_minor, sale.left) == (4_000, 4_000)
    assert sale.price_minor == sale.costs_minor + sale.owed_minor + sale.surplus_minor
    assert account_of(invoice).due_minor == 0
    assert Payment.objects.get().kind == PaymentKind.FROM_SALE
    assert "out of the sale of the set" in money_words(job)
    assert job.hand_over.received_by == "Orla Venn"
    assert UncollectedSale.objects.get().how == "Public auction: three offers asked"


@pytest.mark.parametrize(
    ("price", "costs", "owed", "shared"),
    [
        (30_000, 2_500, 20_300, (20_300, 7_200, 0)),  # costs 25.00 and 203.00 owed leave 72.00 of 300.00
        (10_000, 2_500, 20_300, (7_500, 0, 12_800)),
        (2_000, 2_500, 20_300, (0, 0, 20_300)),
        (30_000, 0, 0, (0, 30_000, 0)),
    ],
)
def test_costs_come_first_then_what_was_owed_and_the_rest_is_the_owners(
    price: int, costs: int, owed: int, shared: tuple[int, int, int]
) -> None:
    split = split_of(price, costs, owed)
    assert (split.paid_minor, split.surplus_minor, split.short_minor) == shared


def test_a_declined_set_that_is_back_is_sold_disabled_and_its_way_shows_the_decline() -> None:
    a_profile()
    ago, owner = now() - timedelta(days=120), a_staff("owner", Role.OWNER)
    job = a_job(Stage.DECLINED, at=ago)
    declining.let_go(job, at=ago)
    declining.is_back(job, person=a_staff(), at=ago)
    announce_sale(job)
    sale = Sale(today(), 1_000, "Orla Venn", "for parts, two dealers asked")
    with pytest.raises(Refused, match="The set isn't proven safe"):
        sell(job, sale, person=owner, at=now())
    sold = sell(job, Sale(today(), 1_000, "Orla Venn", "for parts", how_disabled="cord cut off"), person=owner, at=now())
    job.refresh_from_db()
    assert (job.hand_over.kind, sold.surplus_minor) == ("unsafe", 1_000)
    assert stage_line(job)[-2:] == [("Declined, to be put back", "done"), ("Sold uncollected", "now")]
    with pytest.raises(Refused, match="isn't ready to collect"):
        sell(job, sale, person=owner, at=now())


def test_only_the_owner_of_the_shop_sells_and_what_the_sale_paid_stays() -> None:
    a_profile()
    job = a_job(Stage.SOLD)
    with pytest.raises(Refused, match="Only the owner of the shop sells"):
        sell(a_job(Stage.READY), Sale(today(), 1_000, "Orla Venn", "asked"), person=a_staff(), at=now())
    with pytest.raises(Refused, match="stands with the sale"):
        take_back(job.invoices.get().payments.get(), "a slip", person=a_staff("owner", Role.OWNER), at=now())


def test_what_is_held_for_owners_is_what_the_journal_holds() -> None:
    a_profile()
    a_job(Stage.SOLD)
    pay_out(sales().get(), PayOut(1_500, "Iwona Brzask", "cash"), person=a_staff(), at=now())
    day = today()
    held = {row.account: row.credit_minor - row.debit_minor for row in journal_of(Period(day, day), "GBP").sums()}
    assert held[SALE_HELD] == sales().get().left == 2_500
    assert books().differences == uncollected_sales().differences == ()


BREAKS: list[tuple[Callable[[], object], str]] = [
    (lambda: UncollectedSale.objects.update(owed_minor=1, surplus_minor=0), "paid of what was owed"),
    (lambda: SurplusPayment.objects.update(amount_minor=9_000), "paid out 5000 more than was left"),
    (lambda: Payment.objects.filter(kind="from_sale").delete(), "paid of what was owed"),
]


@pytest.mark.parametrize(("break_it", "told"), BREAKS, ids=range(len(BREAKS)))
def test_a_sale_that_was_changed_behind_the_tills_back_is_found(break_it: Callable[[], object], told: str) -> None:
    a_profile()
    a_job(Stage.SOLD)
    pay_out(sales().get(), PayOut(1_500, "Iwona Brzask", "cash"), person=a_staff(), at=now())
    with behind_its_back():
        break_it()
    assert any(told in one for one in uncollected_sales().differences)
