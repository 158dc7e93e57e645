"""Forms of the till: deposits, payments, credit notes, the books' days, the hand-over."""

from billing.forms.credits import CreditForm, PartCreditForm
from billing.forms.hand_over import HandOverForm, UnsafeForm
from billing.forms.money import GiveBackForm, MoveForm, PayForm, TakeBackForm, TakeDepositForm
from billing.forms.periods import AsOfForm, DaysForm, PeriodForm

__all__ = [
    "AsOfForm",
    "CreditForm",
    "DaysForm",
    "GiveBackForm",
    "HandOverForm",
    "MoveForm",
    "PartCreditForm",
    "PayForm",
    "PeriodForm",
    "TakeBackForm",
    "TakeDepositForm",
    "UnsafeForm",
]
