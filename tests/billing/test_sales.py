"""The lawful sale of a set that nobody collected: what speaks against it, how its price is shared, what is left for the owner.

The arithmetic is that of the rules in `shop/jurisdictions/places`: costs first, then what was owed, the rest is the owner's
(Torts (Interference with Goods) Act 1977, section 12(5); New York Lien Law 204).
"""

import pytest

from billing.models import Payment, PaymentKind, UncollectedSale
from billing.queries import account_of, money_words
from billing.queries.sales import sales
from jobs.models import Stage
from tests.builders import a_job, a_profile

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
