"""The form of one practice: for which role and goal, and how far below and above the called-for value."""

from typing import Any

from django import forms

from inventory.components.roles import ROLES
from jobs.models import Goal, TolerancePractice
from jobs.services.practices import MOST_BP, PracticeFacts
from shop.web.forms import PercentField, SeenForm, TradeForm

MEASURED_KINDS = ("resistance", "capacitance", "inductance", "winding")


def _roles() -> list[tuple[str, str]]:
    return [("", "any role"), *((code, role.label) for code, role in ROLES.items() if role.kind in MEASURED_KINDS)]


class PracticeForm(TradeForm):
    role = forms.ChoiceField(label="Role", choices=_roles, required=False)
    goal = forms.ChoiceField(label="Customer's goal", choices=[("", "any goal"), *Goal.choices], required=False)
    below = PercentField(label="Allowed below", most_bp=10_000)
    above = PercentField(label="Allowed above", most_bp=MOST_BP)
    why = forms.CharField(label="Why", required=False, max_length=200, help_text="For whoever reads it next year.")

    def facts(self) -> PracticeFacts:
        typed = self.cleaned_data
        return PracticeFacts(typed["role"], typed["goal"], -typed["below"], typed["above"], typed["why"])


class PracticeChangeForm(PracticeForm, SeenForm):
    pass


class PracticeRemoveForm(SeenForm):
    """Taking one out needs nothing but what the person saw."""


def practice_values(practice: TolerancePractice) -> dict[str, Any]:
    return {
        "role": practice.role,
        "goal": practice.goal,
        "below": -practice.low_bp,
        "above": practice.high_bp,
        "why": practice.why,
    }
