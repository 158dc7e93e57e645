"""Sets that nobody collects: proof of a notice, a dispute, the sale, and what it leaves."""

from typing import Any

from django import forms

from jobs.models import ServiceKind
from jobs.models.estimate import PayBy
from shop.web.forms import DayField, MoneyField, SeenForm


class ServiceForm(SeenForm):
    """`seen` is how many proofs stood on the page."""

    kind = forms.ChoiceField(label="What happened to it", choices=ServiceKind.choices, widget=forms.RadioSelect)
    on = DayField(label="Day")
    proof = forms.CharField(
        label="Proof",
        max_length=160,
        help_text="The number of the receipt, who signed, or the paper and page it was published in. Keep the slip itself, too.",
    )


class DisputeForm(SeenForm):
    """`seen` is how many steps stood on the page."""

    text = forms.CharField(label="What is disputed", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))
    on = DayField(label="Day")

    def __init__(self, *args: Any, opens: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not opens:
            self.fields["text"].label = "How it was settled"


class SaleForm(SeenForm):
    """`seen` is the job's version. A set that isn't proven safe is sold disabled, and the buyer signs for that."""

    sold_on = DayField(label="Sold on")
    price = MoneyField(label="Price")
    to_whom = forms.CharField(label="Buyer: name and address", max_length=120)
    auctioned = forms.BooleanField(label="Sold at a public auction", required=False)
    how = forms.CharField(
        label="How it was sold",
        max_length=180,
        help_text="So that the price is seen to be a fair one: the auctioneer, offers that were asked, where it was shown.",
    )
    costs = MoneyField(label="Costs of the sale", required=False)
    costs_text = forms.CharField(label="What these costs were", max_length=200, required=False)
    how_disabled = forms.CharField(
        label="How the set was disabled", max_length=200, help_text="For example: line cord cut off and kept."
    )
    told = forms.BooleanField(
        label="The buyer was told, and signed, that the set is unproven and not for use",
        error_messages={"required": "An unproven set is sold only with a signature under that warning."},
    )
    checked = forms.BooleanField(label="I looked at the current text of the law", required=False)

    def __init__(self, *args: Any, unproven: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not unproven:
            del self.fields["how_disabled"], self.fields["told"]


class PayOutForm(SeenForm):
    """Prefilled with all that is left; `seen` is what was left, in minor units."""

    amount = MoneyField(label="Sum")
    to_whom = forms.CharField(label="Paid to", max_length=160)
    how = forms.ChoiceField(label="By", choices=PayBy)
    note = forms.CharField(label="Note", max_length=200, required=False)
