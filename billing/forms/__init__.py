"""Forms of the till: deposits, payments, credit notes, the books' days, the hand-over."""

from billing.forms.credits import CreditForm, PartCreditForm
from billing.forms.hand_over import HandOverForm, UnsafeForm
from billing.forms.money import GiveBackForm, MoveForm, PayForm, TakeBackForm, TakeDepositForm
from billing.forms.periods import AsOfForm, DaysForm, PeriodForm
from billing.forms.uncollected import DisputeForm, PayOutForm, SaleForm, ServiceForm

__all__ = [
    "AsOfForm",
    "CreditForm",
    "DaysForm",
    "DisputeForm",
    "GiveBackForm",
    "HandOverForm",
    "MoveForm",
    "PartCreditForm",
    "PayForm",
    "PayOutForm",
    "PeriodForm",
    "SaleForm",
    "ServiceForm",
    "TakeBackForm",
    "TakeDepositForm",
    "UnsafeForm",
]
