"""What EN 16931 wants of a paper and its rows don't hold: said in words, with where to mend it for the next one."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from billing.einvoice.terms import MOST_DIGITS, NotTold
from billing.einvoice_of.rows import countries, exempt_reason, rate_of, vat_id_of
from billing.models import Invoice, InvoiceLine
from shop.models import TaxCategory, TaxScheme
from shop.money import minor_digits
from shop.paper.text import plain

TERMS = "Write it into the shop's terms (Owner, The shop and its terms)"
NEXT = "the next invoice will carry it, this one stays as it was issued."


@dataclass(frozen=True)
class Rows:
    """A paper's rows, asked for what EN 16931 wants and doesn't find."""

    paper: Invoice
    lines: Sequence[InvoiceLine]

    @property
    def seller(self) -> dict[str, Any]:
        return self.paper.seller  # type: ignore[no-any-return]

    @property
    def categories(self) -> set[str]:
        return {rate_of(line).category for line in self.lines}

    def refuse(self) -> None:
        reasons = [*self._never(), *self._seller_missing(), *self._buyer_missing(), *self._reason_missing()]
        if reasons:
            raise NotTold(reasons)

    def _never(self) -> Iterable[str]:
        """What no correction can mend."""
        paper = self.paper
        if paper.tax_scheme != TaxScheme.VAT:
            yield (
                f"It was issued under “{paper.get_tax_scheme_display()}”. EN 16931 knows value added tax only; "
                "told as that, it would say what isn't so. Give the printed paper."
            )
        if minor_digits(paper.currency) > MOST_DIGITS:
            yield f"EN 16931 has two decimals, and {paper.currency} has {minor_digits(paper.currency)}. Give the printed paper."
        if TaxCategory.OUTSIDE in self.categories and len(self.categories) > 1:
            yield (
                "Some of its lines are outside the tax and others are not; EN 16931 wants these on papers of their own "
                "(BR-O-11). Give the printed paper."
            )
        if not self.lines:
            yield "It has no line, and EN 16931 wants at least one (BR-16)."

    def _seller_missing(self) -> Iterable[str]:
        number, registration = self.seller.get("tax_id", ""), self.seller.get("registration", "")
        if not plain(self.seller.get("shop_name", "")):
            yield f"The shop's name isn't on it. {TERMS}; {NEXT}"
        if self.seller.get("country", "") not in countries():
            yield f"The shop's country (two letters, such as DE) isn't on it. {TERMS}; {NEXT}"
        if TaxCategory.STANDARD in self.categories and not vat_id_of(number):
            number = "VAT number, with its country's letters in front (such as DE123456789),"
            yield f"The shop's {number} isn't on it. {TERMS}; {NEXT}"
        elif not plain(number) and self.categories != {TaxCategory.OUTSIDE}:
            yield f"The shop's tax number isn't on it. {TERMS}; {NEXT}"
        elif not plain(number) and not plain(registration):
            yield f"Neither a tax number nor a registration number of the shop is on it. {TERMS}; {NEXT}"

    def _buyer_missing(self) -> Iterable[str]:
        if not plain(self.paper.buyer_name):
            yield f"The customer's name isn't on it. Write it on the customer's card; {NEXT}"
        if self.paper.buyer_country and self.paper.buyer_country not in countries():
            yield f"The customer's country isn't a country's two letters. Write it on the customer's card; {NEXT}"

    def _reason_missing(self) -> Iterable[str]:
        if self.categories & {TaxCategory.EXEMPT, TaxCategory.OUTSIDE} and not exempt_reason(self.paper):
            yield f"It charges no tax and doesn't say why. {TERMS}; {NEXT}"
