"""A claim on a supplier, and what happened with it."""

from django import forms

from inventory.forms.drawer import DrawerField
from inventory.forms.readings import CostField
from shop.web.forms import DayField, MoneyField, SeenForm, TradeForm


class SupplierClaimForm(TradeForm):
    count = forms.IntegerField(label="How many are claimed back")
    reason = forms.CharField(label="What is wrong with them", max_length=200, help_text="Printed in the letter to the supplier.")
    on = DayField(label="Claimed on")
    reference = forms.CharField(
        label="Job whose part failed", max_length=60, required=False, help_text="What comes back counts for this job."
    )
    late_why = forms.CharField(
        label="Why, though their cover is over", max_length=150, required=False, help_text="Needed only once it is over."
    )


class StepForm(SeenForm):
    """`seen` is how many steps stood on the page."""

    on = DayField(label="On")
    note = forms.CharField(label="Note", max_length=200, required=False)


class SentBackForm(StepForm):
    out_count = forms.IntegerField(
        label="Of these, out of a drawer",
        min_value=0,
        initial=0,
        help_text="Those leave the stock. Parts that came out of a set have left it already.",
    )
    out_of = DrawerField(label="Which drawer", required=False)

    field_order = ("on", "out_count", "out_of", "note")


class CreditForm(StepForm):
    amount = MoneyField(label="Came back", help_text="Without tax that you must pass on, in the shop's money.")

    field_order = ("on", "amount", "note")


class ReplacedForm(StepForm):
    count = forms.IntegerField(label="How many came")
    cost = CostField(label="Cost of one now", required=True, help_text="0 where they came for nothing.")
    drawer = DrawerField(help_text="Its code as on the label, such as A / 3.")
    date_code = forms.CharField(label="Date code", max_length=40, required=False)

    field_order = ("on", "count", "cost", "drawer", "date_code", "note")


class AnsweredForm(StepForm):
    note = forms.CharField(label="Why", max_length=200)
