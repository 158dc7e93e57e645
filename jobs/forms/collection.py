"""A notice to the owner of a set that nobody collects, as it went out."""

from typing import Any

from django import forms

from jobs.models import NoticeKind
from shop.jurisdictions.codes import LETTER, SENT_BY
from shop.jurisdictions.rules import Uncollected
from shop.web.forms import DayField, SeenForm


class NoticeForm(SeenForm):
    """`seen` is how many notices stood on the page."""

    kind = forms.ChoiceField(label="What it said", choices=NoticeKind.choices, widget=forms.RadioSelect)
    sent_on = DayField(label="Sent on")
    how = forms.CharField(label="Sent by", max_length=80)
    to_whom = forms.CharField(label="To whom: name and address", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))
    names_day_on = DayField(
        label="Day it names", required=False, help_text="For the intention to sell: the set isn't sold before this day."
    )
    undisputed = forms.BooleanField(label="Nobody disputes what is owed", required=False)
    checked = forms.BooleanField(label="I looked at the current text of the law", required=False)
    note = forms.CharField(label="Note", max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, rule: Uncollected, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ways = ", ".join(SENT_BY[way] for way in rule.sent_by)
        self.fields["how"].help_text = f"The rules want: {ways}." if ways else ""
        wanted = [LETTER[code] for code in rule.letter.codes if code in ("time_and_place", "value")]
        if wanted:
            self.fields["note"].help_text = f"Printed in a notice of sale, which says, too: {', '.join(wanted)}."
        if not rule.disputed_stops:
            del self.fields["undisputed"]
        if rule.source.origin != "memory":
            del self.fields["checked"]
