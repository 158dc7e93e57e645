"""Every figure on a bill or an estimate is a figure of its data, and every figure of its data is there."""

import re
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from typing import Any

import pytest
from moneyed import Money

from billing.documents import credit_note, invoice
from jobs.documents import estimate, summary
from shop.money import show_money
from shop.paper.wording import show_sum
from tests.paper import samples
from tests.paper.papers import on_letterhead, text_of


def sums_in(data: Any) -> set[Money]:
    if isinstance(data, Money):
        return {data}
    if isinstance(data, tuple):
        return set().union(*map(sums_in, data)) if data else set()
    if is_dataclass(data):
        return set().union(*(sums_in(getattr(data, f.name)) for f in fields(data)))
    return set()


def pounds_on(text: str) -> set[str]:
    return set(re.findall(r"£[\d,]+\.\d\d", text))


def as_shown(sums: set[Money]) -> set[str]:
    return {show_money(abs(money), "en_GB") for money in sums}


@pytest.mark.parametrize("parts", [0, 4, 200])
def test_the_invoice_shows_exactly_the_sums_of_its_data(parts: int) -> None:
    data = samples.invoice(parts)
    assert pounds_on(text_of(invoice.draw(replace(data, consent="")))) == as_shown(sums_in(replace(data, consent="")))


def test_the_credit_note_shows_exactly_the_sums_of_its_data() -> None:
    data = samples.credit_note()
    assert pounds_on(text_of(credit_note.draw(data))) == as_shown(sums_in(data))


def test_the_estimate_shows_exactly_the_sums_of_its_data() -> None:
    data = samples.estimate()
    assert pounds_on(text_of(estimate.draw(data))) == as_shown(sums_in(data))


def test_invoice_and_summary_print_the_same_parts_total() -> None:
    total = samples.gbp("12.75")
    bill = text_of(invoice.draw(replace(samples.invoice(), parts_total=total)))
    told = text_of(summary.draw(replace(samples.summary(), parts_total=total)))
    assert "Parts total £12.75" in bill
    assert "Parts total £12.75" in told


def in_currency(data: Any, currency: str, digits: int) -> Any:
    """The same data with the digits of its sums kept and their currency changed."""
    if isinstance(data, Money):
        return Money((data.amount * 100).scaleb(-digits), currency)
    if isinstance(data, tuple):
        return tuple(in_currency(item, currency, digits) for item in data)
    if is_dataclass(data) and not isinstance(data, type):
        return replace(data, **{f.name: in_currency(getattr(data, f.name), currency, digits) for f in fields(data)})
    return data


@pytest.mark.parametrize(("currency", "digits", "due"), [("JPY", 0, "24,932"), ("KWD", 3, "24.932"), ("EUR", 2, "249.32")])
def test_sums_have_the_decimals_of_their_currency(currency: str, digits: int, due: str) -> None:
    """Decimals by ISO 4217: yen 0, Kuwaiti dinar 3, euro 2."""
    text = text_of(invoice.draw(in_currency(samples.invoice(), currency, digits)))
    assert re.search(rf"Still due \D+{re.escape(due)}(?![\d.,])", text)


def test_large_sums_of_a_comma_place_are_written_its_way() -> None:
    due = Money(Decimal("1234567.89"), "PLN")
    text = text_of(invoice.draw(on_letterhead(replace(samples.invoice(), due=due), locale="pl_PL")))
    assert "1 234 567,89" in text.replace("\u00a0", " ")


@pytest.mark.parametrize(("locale", "currency", "shown"), [("ja_JP", "JPY", "JP¥1,250"), ("ar_KW", "KWD", "KWD1,250.000")])
def test_sums_in_letters_that_the_fonts_lack_are_written_in_letters_they_have(locale: str, currency: str, shown: str) -> None:
    assert "".join(show_sum(Money(1250, currency), locale).split()) == shown


def test_a_bill_of_prices_with_tax_shows_both() -> None:
    line = replace(samples.bill_lines(1)[0], amount=samples.gbp("2.22"), net=samples.gbp("1.85"))
    text = text_of(invoice.draw(replace(samples.invoice(), lines=(line,), prices_include_tax=True)))
    assert "Prices hold the tax." in text
    assert "£2.22 20 % £1.85" in text
