"""The plan of copies, and the password that is asked before one is taken out of the house."""

from typing import Any

from django import forms

from shop.forms.own_password import OwnPasswordForm
from shop.models import BackupPlan
from shop.web.forms import SeenForm

LONGEST_DAYS, MOST_WEEKS, MOST_MONTHS, MOST_YEARS, LATEST_HOURS = 400, 520, 240, 50, 24 * 30
FIELDS = ("hour", "second_place", "late_hours", "keep_days", "keep_weeks", "keep_months", "keep_years")


def _kept(label: str, least: int, most: int) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=least, max_value=most)


class PlanForm(SeenForm):
    hour = forms.IntegerField(
        label="Made each day at, hour", min_value=0, max_value=23, help_text="0 to 23. If nobody serves then, at the next start."
    )
    second_place = forms.CharField(
        label="Second place",
        max_length=400,
        required=False,
        help_text="A folder on another disk, a stick or another machine, whole path. Copies are carried there and checked there.",
    )
    late_hours = forms.IntegerField(label="Warn when the last good one is older than, hours", min_value=2, max_value=LATEST_HOURS)
    keep_days = _kept("Days that keep one", 2, LONGEST_DAYS)
    keep_weeks = _kept("Weeks that keep one", 0, MOST_WEEKS)
    keep_months = _kept("Months that keep one", 0, MOST_MONTHS)
    keep_years = _kept("Years that keep one", 0, MOST_YEARS)


def values_of(plan: BackupPlan) -> dict[str, Any]:
    return {name: getattr(plan, name) for name in FIELDS}


class TakeForm(OwnPasswordForm):
    help_text = "The file holds all that the shop knows of its customers, and its key."
