"""Questions about money: what a list of lines comes to."""

from decimal import Decimal, localcontext
from typing import Any

from shop.asking.fields import Question
from shop.asking.refusals import Refusal
from shop.asking.verb import Verb
from shop.money import is_currency, minor_digits
from shop.totals import Line, TaxKey, Totals, total

MOST_LINES = 500
LARGEST = Decimal("1e12")
# Figures kept while reckoning: more than any product of two numbers that are let in can have.
FIGURES = 250


def _amount(row: Question, name: str, default: str | None = None) -> Decimal:
    if default is not None and row.raw(name) is None:
        return Decimal(default)
    value = row.number(name, "12.50")
    if abs(value) > LARGEST:
        raise Refusal("out_of_range", f"“{name}” is {value:.3g}; no bill holds more than {LARGEST:.0e}.")
    return value


def _percent(row: Question, name: str) -> Decimal:
    value = _amount(row, name, "0")
    if not 0 <= value <= 100:
        raise Refusal("out_of_range", f"“{name}” is {value:.6g}; a percentage here lies between 0 and 100.")
    return value


def _tax(row: Question) -> TaxKey:
    category = row.optional_text("tax_category", "S") or "S"
    if not (category.isascii() and category.isalpha() and len(category) <= 3):
        raise Refusal("unknown", "“tax_category” isn't a category code. Give one of UNCL 5305, such as S, Z, E, AE, K, G or O.")
    # normalised, so that 20 and 20.00 are one rate
    return TaxKey(category, (_percent(row, "tax_percent") * 100).normalize() + 0)


def _line(row: Question, scale: Decimal) -> Line:
    quantity, price = _amount(row, "quantity", "1"), _amount(row, "unit_price")
    if abs(quantity * price) > LARGEST:
        raise Refusal("out_of_range", f"A line comes to {quantity * price:.3g}; no bill holds more than {LARGEST:.0e}.")
    return Line(quantity, price * scale, _tax(row), _percent(row, "discount_percent") * 100)


def _change(row: Question, scale: Decimal, sign: int) -> Line:
    amount = _amount(row, "amount")
    if amount < 0:
        raise Refusal(
            "out_of_range", f"“amount” is {amount:.6g}. Give it as a positive sum; an allowance is taken off by itself."
        )
    return Line(Decimal(sign), amount * scale, _tax(row))


def _totals(question: Question) -> dict[str, Any]:
    with localcontext(prec=FIGURES):
        return _reckoned(question)


def _reckoned(question: Question) -> dict[str, Any]:
    currency = question.text("currency", "GBP")
    if not is_currency(currency):
        raise Refusal("unknown", "“currency” isn't a code of ISO 4217. Give one such as GBP, EUR, USD or JPY.")
    digits = minor_digits(currency)
    scale = Decimal(10) ** digits
    lines = [_line(row, scale) for row in question.rows("lines", MOST_LINES, required=True)]
    changes = [_change(row, scale, -1) for row in question.rows("allowances", MOST_LINES)]
    changes += [_change(row, scale, 1) for row in question.rows("charges", MOST_LINES)]
    found = total(
        [*lines, *changes],
        prices_include_tax=question.flag("prices_include_tax"),
        round_per_line=question.choice("rounding", ("line", "rate"), default="rate") == "line",
        prepaid_minor=_whole_minor(_amount(question, "prepaid", "0") * scale, currency),
    )
    return _result(found, len(lines), digits)


def _whole_minor(amount: Decimal, currency: str) -> int:
    if amount != amount.to_integral_value():
        text = f"“prepaid” is finer than the smallest unit of {currency}, which has {minor_digits(currency)} decimals."
        raise Refusal("out_of_range", text)
    return int(amount)


def _result(found: Totals, count: int, digits: int) -> dict[str, Any]:
    def text(minor: int) -> str:
        return f"{Decimal(minor).scaleb(-digits):.{digits}f}"

    return {
        "lines": [text(net) for net in found.line_net_minor[:count]],
        "tax": [
            {
                "tax_category": one.tax.category,
                "tax_percent": f"{(Decimal(one.tax.rate_bp) / 100).normalize():f}",
                "taxable": text(one.taxable_minor),
                "tax": text(one.tax_minor),
            }
            for one in found.taxes
        ],
        "net": text(found.net_minor),
        "tax_total": text(found.tax_minor),
        "gross": text(found.gross_minor),
        "due": text(found.due_minor),
    }


VERBS = (
    Verb(
        "totals",
        "currency, prices_include_tax, lines (quantity, unit_price, discount_percent, tax_category, tax_percent), allowances and "
        "charges (amount, tax_category, tax_percent), prepaid, rounding (line: tax rounded on each line; rate: once a rate)",
        "lines (net each), tax (per category and rate: taxable, tax), net, tax_total, gross, due; all as decimal strings",
        {
            "currency": "GBP",
            "prices_include_tax": False,
            "rounding": "rate",
            "lines": [{"quantity": "1.5", "unit_price": "48.00", "tax_category": "S", "tax_percent": "20"}],
            "prepaid": "20.00",
        },
        _totals,
    ),
)
