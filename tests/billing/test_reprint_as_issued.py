"""A reprint of an issued invoice is the invoice as it was issued, whatever the shop has become since."""

import pytest

from billing.papers import invoice_paper
from shop.letterhead_of import letterhead
from shop.models import Profile
from tests.builders import a_job, an_invoice


@pytest.mark.django_db
def test_a_reprint_names_the_shop_as_it_was() -> None:
    invoice = an_invoice(a_job("ready"))
    before = invoice_paper(invoice, letterhead())
    Profile.objects.update(name="Moved and Renamed", address="Elsewhere 1", tax_id="XX 999", terms="Other terms")
    assert invoice_paper(invoice, letterhead()) == before
    assert before.letterhead.shop_name != "Moved and Renamed"
