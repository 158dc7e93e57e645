"""What a link to the calendar is told apart by."""

from django import forms

from shop.web.forms import TradeForm


class CalendarLinkForm(TradeForm):
    name = forms.CharField(
        label="What will read it",
        max_length=80,
        help_text="Such as “my telephone” or “the PC at the counter”: so that you know which one to revoke.",
        error_messages={"required": "Write which device or program will read it, so that you can tell the links apart."},
    )
