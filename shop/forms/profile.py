"""The terms that the shop works under, in groups. What the groups leave untouched is said beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from babel import Locale, UnknownLocaleError
from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from stdnum import iban

from shop.models import CapacitanceStyle, Paper, Profile, TaxCategory, TaxRounding, TaxScheme, WarrantyStart
from shop.money import is_currency
from shop.web.forms import MoneyField, PercentField, SeenForm

MOST_DAYS = 3650
MOST_RULES = 12
LONGEST_RULE = 280


def _whole(label: str, least: int, most: int, **kwargs: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most, **kwargs)


class ProfileForm(SeenForm):
    """`practices` are (code, label) of the safety practices; `currency` is the one the sums were typed in.

    `law`: what the law of the place says beside the warranty; `usual_void`: what ends the cover where the shop says nothing.
    """

    name = forms.CharField(label="Shop name", max_length=120)
    address = forms.CharField(label="Address", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 3}))
    phone = forms.CharField(label="Telephone", max_length=40, required=False)
    email = forms.EmailField(label="E-mail", required=False)
    registration = forms.CharField(label="Registration number", max_length=60, required=False)
    tax_id = forms.CharField(label="Tax number", max_length=60, required=False)
    iban = forms.CharField(label="Account to pay into (IBAN)", max_length=42, required=False)

    country = forms.CharField(label="Country", max_length=2, help_text="Two letters, such as GB or US.")
    currency = forms.CharField(label="Currency", max_length=3, help_text="Three letters, such as GBP or USD.")
    locale = forms.CharField(label="How figures are written", max_length=20, help_text="Language and country: en_GB, de_DE.")
    paper = forms.ChoiceField(label="Paper", choices=Paper.choices)
    line_volts = _whole("Line voltage", 50, 480)
    line_hertz = _whole("Line frequency", 16, 400)

    hour_rate_minor = MoneyField(label="Labour rate per hour")
    hour_cost_minor = MoneyField(
        label="What an hour of work costs the shop",
        required=False,
        help_text="Wages, rent, heating and tools, by the hour worked. 0: profit is shown before the cost of work.",
    )
    minute_step = _whole("Labour is charged in steps of", 1, 120)
    inspection_fee_minor = MoneyField(label="Inspection fee")
    allowance_bp = PercentField(
        label="Written allowance above the agreed sum",
        help_text="0 where nothing above the agreed sum may be charged. The rules of your place may set a limit.",
    )

    in_the_hour_below_minor = MoneyField(
        label="Parts that sell below this are folded into the hour",
        required=False,
        help_text="They stand on the bill as not charged. 0: every part is charged, but those whose card says otherwise.",
    )

    minimum_fee_minor = MoneyField(
        label="Minimum bench fee", required=False, help_text="Offered at intake; credited to the repair. 0: none."
    )
    decline_fee_minor = MoneyField(
        label="Fee where the estimate is declined",
        required=False,
        help_text="Offered at intake: due only where it was agreed to.",
    )

    tax_scheme = forms.ChoiceField(label="Kind of tax", choices=TaxScheme.choices)
    parts_tax_category = forms.ChoiceField(label="Parts are", choices=TaxCategory.choices)
    labour_tax_category = forms.ChoiceField(label="Labour is", choices=TaxCategory.choices)
    tax_exempt_reason = forms.CharField(
        label="Why no tax is charged",
        max_length=200,
        required=False,
        help_text="As invoices must say it, such as the small traders' exemption and its paragraph. Needed where some is exempt.",
    )
    prices_include_tax = forms.BooleanField(label="Prices include tax", required=False)
    parts_tax_bp = PercentField(label="Tax on parts")
    labour_tax_bp = PercentField(label="Tax on labour")
    tax_rounding = forms.ChoiceField(label="Tax is rounded", choices=TaxRounding.choices)

    payment_days = _whole("Days to pay", 0, MOST_DAYS)
    estimate_days = _whole("Days an estimate stands", 1, MOST_DAYS)

    labour_warranty_days = _whole("Work is covered for", 0, MOST_DAYS, help_text="0, here and below: not covered.")
    warranty_days = _whole("New parts are covered for", 0, MOST_DAYS)
    used_part_warranty_days = _whole("Used or rebuilt parts are covered for", 0, MOST_DAYS)
    valve_warranty_days = _whole("New and unused valves and transistors are covered for", 0, MOST_DAYS)
    used_valve_warranty_days = _whole("Used valves and transistors are covered for", 0, MOST_DAYS)
    own_part_warranty_days = _whole(
        "Parts that the customer brought are covered for",
        0,
        MOST_DAYS,
        help_text="Usually 0: the work of fitting them is covered as work.",
    )
    warranty_starts = forms.ChoiceField(label="The warranty runs from", choices=WarrantyStart.choices)
    warranty_transfers = forms.BooleanField(label="The warranty goes with the set to a new owner", required=False)
    warranty_void = forms.CharField(
        label="What ends the cover",
        max_length=3600,
        required=False,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="One a line. Empty: the usual ones.",
    )

    safety_practice = forms.ChoiceField(
        label="Electrical safety practice",
        help_text="Published limits, not a permit: local codes and a licensed person's judgement come first.",
    )
    capacitance_style = forms.ChoiceField(
        label="Capacitance is written in",
        choices=CapacitanceStyle.choices,
        help_text="Where the program writes one. What somebody typed stays as it was typed, and every way is read.",
    )
    soak_hours = _whole("Soak", 0, 500)
    tolerance_percent = _whole("Drift accepted where the sheet gives no tolerance", 0, 100)

    terms = forms.CharField(
        label="Terms printed on estimates and invoices", max_length=8000, required=False, widget=forms.Textarea(attrs={"rows": 8})
    )

    def __init__(
        self, *args: Any, practices: Sequence[tuple[str, str]], law: str = "", usual_void: Sequence[str] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.law = law
        if usual_void:
            self.fields["warranty_void"].help_text = f"One a line. Empty: the usual ones. {' '.join(usual_void)}"
        self.fields["safety_practice"].choices = list(practices)  # type: ignore[attr-defined]

    def clean_country(self) -> str:
        typed = str(self.cleaned_data["country"]).upper()
        if len(typed) != 2 or not (typed.isascii() and typed.isalpha()):
            raise ValidationError(f"“{typed}” isn't a country code. Use two letters, such as GB or US.")
        return typed

    def clean_currency(self) -> str:
        typed = str(self.cleaned_data["currency"]).upper()
        if not is_currency(typed):
            raise ValidationError(f"“{typed}” isn't a currency code of ISO 4217. Use three letters, such as GBP or USD.")
        return typed

    def clean_locale(self) -> str:
        typed = str(self.cleaned_data["locale"]).replace("-", "_")
        try:
            Locale.parse(typed)
        except (UnknownLocaleError, ValueError) as error:
            raise ValidationError(f"“{typed}” isn't known. Use language and country, such as en_GB or de_DE.") from error
        return typed

    def clean_iban(self) -> str:
        typed = str(self.cleaned_data["iban"])
        if typed and not iban.is_valid(typed):
            raise ValidationError("This account number doesn't add up. Compare it with your bank's paper, or leave it empty.")
        return iban.compact(typed)

    def clean_warranty_void(self) -> str:
        rules = [" ".join(line.split()) for line in str(self.cleaned_data["warranty_void"]).splitlines() if line.strip()]
        long = next((rule for rule in rules if len(rule) > LONGEST_RULE), "")
        if long:
            raise ValidationError(f"“{long[:40]}…” is longer than {LONGEST_RULE} characters. Make two lines of it.")
        if len(rules) > MOST_RULES:
            raise ValidationError(f"{len(rules)} are more than the record has room for. Keep it to {MOST_RULES}.")
        return "\n".join(rules)

    def clean_hour_cost_minor(self) -> int:
        return self.cleaned_data["hour_cost_minor"] or 0

    def clean_minimum_fee_minor(self) -> int:
        return self.cleaned_data["minimum_fee_minor"] or 0

    def clean_decline_fee_minor(self) -> int:
        return self.cleaned_data["decline_fee_minor"] or 0

    def clean_in_the_hour_below_minor(self) -> int:
        return self.cleaned_data["in_the_hour_below_minor"] or 0

    def profile_values(self) -> dict[str, object]:
        return {name: self.cleaned_data[name] for name in FIELDS}

    @property
    def groups(self) -> "list[Group]":
        return [
            Group(
                title,
                note,
                [(self[name], UNITS.get(name, ""), name in WIDE) for name in names],
                self.law if "warranty_days" in names else "",
            )
            for title, note, names in GROUPS
        ]


@dataclass(frozen=True, slots=True)
class Group:
    """`note` says what a change here leaves as it was; `fields` are (field, unit, whether it takes the whole width).

    `law` is what the law of the place says to it.
    """

    title: str
    note: str
    fields: list[tuple[BoundField, str, bool]]
    law: str = ""


GROUPS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (
        "Who the shop is",
        "Heads every paper drawn from now on, also fresh copies of old ones. What those say below the heading stays.",
        ("name", "phone", "email", "registration", "tax_id", "iban", "address"),
    ),
    (
        "Where it works",
        "Estimates sent and invoices issued keep their currency. Safety checks recorded keep what they were judged by.",
        ("country", "currency", "locale", "paper", "line_volts", "line_hertz"),
    ),
    (
        "What work costs",
        "Labour logged keeps the rate it was logged at, parts fitted their price. "
        "An estimate sent keeps its sums, and a consent its allowance. "
        "What an hour costs the shop is for your own pages: profit of past jobs is reckoned with it anew.",
        (
            "hour_rate_minor",
            "hour_cost_minor",
            "minute_step",
            "inspection_fee_minor",
            "minimum_fee_minor",
            "decline_fee_minor",
            "in_the_hour_below_minor",
            "allowance_bp",
        ),
    ),
    (
        "Tax",
        "Estimates sent and invoices issued keep their rates. Open jobs are billed with the new ones, agreed to or not.",
        (
            "tax_scheme",
            "parts_tax_category",
            "parts_tax_bp",
            "labour_tax_category",
            "labour_tax_bp",
            "tax_exempt_reason",
            "tax_rounding",
            "prices_include_tax",
        ),
    ),
    ("Deadlines", "Estimates sent and invoices issued keep their dates.", ("payment_days", "estimate_days")),
    (
        "Warranty",
        "Warranties given keep the terms of the day they began. What was left in a set as it was is never covered.",
        (
            "labour_warranty_days",
            "warranty_days",
            "used_part_warranty_days",
            "valve_warranty_days",
            "used_valve_warranty_days",
            "own_part_warranty_days",
            "warranty_starts",
            "warranty_transfers",
            "warranty_void",
        ),
    ),
    (
        "At the bench",
        "Verdicts and safety checks that are recorded stay as they were judged, and papers as they were written.",
        ("safety_practice", "soak_hours", "tolerance_percent", "capacitance_style"),
    ),
    ("Terms", "Invoices issued keep the terms they were issued with.", ("terms",)),
)
WIDE = ("address", "safety_practice", "tax_exempt_reason", "warranty_void", "terms")
FIELDS = tuple(name for _, _, names in GROUPS for name in names)
UNITS = {
    "line_volts": "V rms",
    "line_hertz": "Hz",
    "minute_step": "min",
    "payment_days": "days",
    "estimate_days": "days",
    "labour_warranty_days": "days",
    "warranty_days": "days",
    "used_part_warranty_days": "days",
    "valve_warranty_days": "days",
    "used_valve_warranty_days": "days",
    "own_part_warranty_days": "days",
    "soak_hours": "h",
    "tolerance_percent": "%",
}


def values_of(profile: Profile) -> dict[str, Any]:
    """What the form starts with."""
    return {name: getattr(profile, name) for name in FIELDS}
