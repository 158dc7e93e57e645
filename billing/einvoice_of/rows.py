"""What a paper's rows say of tax: categories, reasons, and whose numbers are VAT numbers."""

import re
from decimal import Decimal
from functools import cache

from babel import Locale

from billing.einvoice.terms import Rate
from billing.models import Invoice, InvoiceLine
from shop.models import TaxCategory
from shop.paper.text import plain

PERCENT = Decimal(100)
# Two letters that the locale data names and ISO 3166-1 doesn't list as a country.
NO_COUNTRY = frozenset({"AC", "CP", "CQ", "DG", "EA", "EU", "EZ", "IC", "QO", "TA", "UN", "XA", "XB", "XK", "ZZ"})
# EN 16931, BR-CO-09: the country's letters in front; Greece may write EL. XI is Northern Ireland's.
ALSO_BEFORE_A_NUMBER = frozenset({"EL", "XI"})
VAT_ID = re.compile(r"(?!VAT)[A-Z]{2}(?=.*\d.*\d)[0-9A-Z+*]{2,13}")


@cache
def countries() -> frozenset[str]:
    known = (str(code) for code in Locale("en").territories)
    return frozenset(code for code in known if len(code) == 2 and code.isalpha()) - NO_COUNTRY


def vat_id_of(text: str) -> str:
    """A VAT number with its country's letters in front, as EN 16931 wants it; blank where the text isn't one."""
    number = re.sub(r"[\s.\-/]", "", text).upper()
    known = number[:2] in countries() | ALSO_BEFORE_A_NUMBER
    return number if known and VAT_ID.fullmatch(number) else ""


def rate_of(line: InvoiceLine) -> Rate:
    """The frozen category; a line from before it was kept, or one taxed at 0 %, is S or Z by its rate."""
    category = line.tax_category or TaxCategory.STANDARD
    if category in (TaxCategory.STANDARD, TaxCategory.ZERO):
        category = TaxCategory.STANDARD if line.tax_bp else TaxCategory.ZERO
    if category == TaxCategory.OUTSIDE:
        return Rate(str(category), None)
    return Rate(str(category), Decimal(line.tax_bp) / PERCENT)


def exempt_reason(paper: Invoice) -> str:
    kept = paper.tax_exempt_reason or (paper.credits.tax_exempt_reason if paper.credits else "")
    return plain(kept)
