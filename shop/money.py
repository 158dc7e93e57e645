"""Money: integer minor units in the database, `moneyed.Money` (a Decimal with its currency) everywhere else."""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, InvalidOperation
from functools import cache, lru_cache

from babel.core import UnknownLocaleError
from babel.numbers import format_currency, get_currency_symbol, get_decimal_symbol, get_group_symbol
from moneyed import CurrencyDoesNotExist, Money, add_currency, get_currency

LARGEST_MINOR = 10**13
DEFAULT_LOCALE = "en_GB"
# In ISO 4217's list one and not in the library's: code, coins to the whole, name.
NEWER = (("XCG", 100, "Caribbean guilder"), ("XAD", 100, "Arab Accounting Dinar"))
for _code, _coins, _name in NEWER:
    add_currency(_code, None, _coins, _name)


class AmountError(ValueError):
    """A sum that can't be read; the text says what would be accepted."""


@cache
def minor_digits(currency: str) -> int:
    """Digits behind the decimal sign by ISO 4217: 0 for JPY, 2 for EUR, 3 for KWD."""
    return len(str(get_currency(currency).sub_unit)) - 1


def is_currency(code: str) -> bool:
    try:
        get_currency(code)
    except CurrencyDoesNotExist:
        return False
    return True


def as_money(minor: int, currency: str) -> Money:
    return Money(Decimal(minor).scaleb(-minor_digits(currency)), currency)


def amount(minor: int, currency: str) -> Decimal:
    """The bare sum, for tables that name the currency in a column of its own."""
    return Decimal(as_money(minor, currency).amount)


def as_minor(money: Money) -> int:
    """The exact number of minor units; raises AmountError where the sum has a finer part."""
    scaled = money.amount.scaleb(minor_digits(money.currency.code))
    if scaled != scaled.to_integral_value():
        raise AmountError(f"{money.amount} {money.currency.code} is finer than the currency's smallest unit.")
    return int(scaled)


def round_minor(value: Decimal) -> int:
    """Half away from zero, as tax and price tables of the trade round."""
    return int(value.quantize(Decimal(1), rounding=ROUND_HALF_UP))


@dataclass(frozen=True, slots=True)
class _Signs:
    """How sums of a currency are written in a locale: asked of the locale's data once, as asking costs more than writing."""

    symbol: str
    group: str
    decimal: str
    digits: int

    def written(self, minor: int) -> str:
        whole, rest = divmod(abs(minor), 10**self.digits)
        parts = (
            "-" if minor < 0 else "",
            self.symbol,
            f"{whole:,}".replace(",", self.group) if whole >= 1000 else str(whole),
            f"{self.decimal}{rest:0{self.digits}}" if self.digits else "",
        )
        return "".join(parts)


@lru_cache(maxsize=256)
def _signs(currency: str, locale: str) -> _Signs:
    """Raises what the locale's data raises for one that nobody knows."""
    try:
        return _Signs(
            get_currency_symbol(currency, locale), get_group_symbol(locale), get_decimal_symbol(locale), minor_digits(currency)
        )
    except UnknownLocaleError:
        return _signs(currency, DEFAULT_LOCALE)


def show_money(money: Money, locale: str = DEFAULT_LOCALE) -> str:
    """The sum to its smallest coin; a finer one is rounded to the even coin."""
    code = money.currency.code
    coins = money.amount.scaleb(minor_digits(code)).quantize(Decimal(1), rounding=ROUND_HALF_EVEN)
    return show(int(coins), code, locale)


def show(minor: int, currency: str, locale: str = DEFAULT_LOCALE) -> str:
    return _signs(currency, locale).written(minor)


def show_fine(milli: int, currency: str, locale: str = DEFAULT_LOCALE) -> str:
    """Thousandths of a minor unit, as small parts cost less than a coin: `£0.20`, `£0.0125`."""
    minor, rest = divmod(milli, 1000)
    if not rest:
        return show(minor, currency, locale)
    digits = minor_digits(currency)
    pattern = f"¤#,##0.{'0' * digits}###"
    amount = Decimal(milli).scaleb(-digits - 3)
    return format_currency(amount, currency, pattern, locale=locale, currency_digits=False)


def fine_amount(milli: int, currency: str) -> Decimal:
    """Thousandths of a minor unit as a bare sum, with no more figures than it needs."""
    exact = Decimal(milli).scaleb(-minor_digits(currency) - 3)
    coins = exact.quantize(Decimal(1).scaleb(-minor_digits(currency)))
    return coins if coins == exact else exact.normalize()


def plain(minor: int, currency: str) -> str:
    """What `read_amount` reads back: digits and a point, no sign of the currency."""
    return f"{as_money(minor, currency).amount:f}"


def read_amount(text: str, currency: str) -> int:
    """Minor units of a sum as people type it: `12`, `12.50`, `12,50`, `1 250.00`, `1,250.00`, `£12`.

    A lone comma with three digits behind it (`1,250`) is thousands in a currency with fewer than three decimals. A lone
    point (`12.345`) may be a slip of the finger as well as a continental thousand, so it is refused, never guessed.
    """
    digits = minor_digits(currency)
    cleaned = _strip(text, currency)
    whole, fraction = _split(cleaned, digits, text)
    if len(fraction) > digits:
        raise AmountError(f"“{text.strip()[:40]}” has more than {digits} decimals; {currency} has {digits}.")
    try:
        minor = int(Decimal(f"{whole}.{fraction or '0'}").scaleb(digits))
    except InvalidOperation as error:
        raise _unreadable(text, currency) from error
    if abs(minor) > LARGEST_MINOR:
        raise AmountError(f"“{text.strip()[:40]}” is larger than any sum this shop can book.")
    return minor


def _unreadable(text: str, currency: str) -> AmountError:
    example = plain(1250 * 10 ** minor_digits(currency) // 100, currency)
    return AmountError(f"“{text.strip()[:40]}” can't be read as a sum. Type it like {example}.")


def _strip(text: str, currency: str) -> str:
    cleaned = text.strip().replace(currency, "").replace("\u00a0", "").replace("\u202f", "").replace(" ", "").replace("'", "")
    symbol = format_currency(0, currency, "¤", locale=DEFAULT_LOCALE)
    cleaned = cleaned.replace(symbol, "").replace("£", "").replace("€", "").replace("$", "")
    body = cleaned[1:] if cleaned[:1] in ("-", "+") else cleaned
    if not body or len(body) > 30 or not all("0" <= c <= "9" or c in ".," for c in body):
        raise _unreadable(text, currency)
    return cleaned


def _split(cleaned: str, digits: int, text: str) -> tuple[str, str]:
    last = max(cleaned.rfind("."), cleaned.rfind(","))
    if last < 0:
        return cleaned, ""
    sign, other = cleaned[last], "," if cleaned[last] == "." else "."
    groups = cleaned.lstrip("+-").split(sign)
    behind = cleaned[last + 1 :]
    thousands_only = all(len(group) == 3 for group in groups[1:]) and 0 < len(groups[0]) <= 3 and groups[0] != "0"
    if other not in cleaned and thousands_only and (len(groups) > 2 or (digits != 3 and sign == ",")):
        return cleaned.replace(sign, ""), ""
    if len(groups) > 2:
        raise AmountError(f"“{text.strip()[:40]}” has two decimal signs.")
    return cleaned[:last].replace(other, "") or "0", behind
