"""A reprint of an issued invoice is the invoice as it was issued, whatever the shop has become since."""

import pytest

from billing import drawn
from billing.papers import invoice_paper
from shop.letterhead_of import letterhead
from shop.models import Customer, Profile
from shop.paper.leaves import leaves_of
from tests.builders import a_job, an_invoice


@pytest.mark.django_db
def test_a_reprint_names_the_shop_as_it_was() -> None:
    invoice = an_invoice(a_job("ready"))
    before = invoice_paper(invoice, letterhead())
    Profile.objects.update(name="Moved and Renamed", address="Elsewhere 1", tax_id="XX 999", terms="Other terms")
    assert invoice_paper(invoice, letterhead()) == before
    assert before.letterhead.shop_name != "Moved and Renamed"


@pytest.mark.django_db
def test_a_reprint_is_the_same_paper_to_the_last_byte() -> None:
    """Also on the sheet, in the money and in the way of writing days of the day of issue; the customer moved, too."""
    invoice = an_invoice(a_job("ready"))
    before = drawn.invoice(invoice.pk)
    Profile.objects.update(
        name="Moved", paper="Letter", locale="pl_PL", phone="1", email="a@b.example", iban="", registration="9"
    )
    Customer.objects.update(name="Renamed", address="Elsewhere 2", search="renamed")
    assert drawn.invoice(invoice.pk) == before
    assert leaves_of(before.content).pages[0].size_words == "A4"
