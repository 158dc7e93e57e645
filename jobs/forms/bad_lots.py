"""Letters about a bad lot: that they went out, what was answered."""

from collections.abc import Sequence
from typing import Any

from django import forms

from jobs.queries.bad_lots import InSet
from jobs.services.bad_lot_letters import Told
from shop.web.forms import DayField, SeenForm


def _words(one: InSet) -> str:
    return f"{one.owner}: {one.job.radio}, {one.designator}, job {one.job.number} ({one.risk.word.lower()})"


class _ForSets(SeenForm):
    """`entries` are fitted parts by their keys; `seen` is the last row that the page showed."""

    on = DayField(label="On")
    how = forms.CharField(label="Sent by", max_length=80)
    entries = forms.TypedMultipleChoiceField(label="Whom it went to", coerce=int, widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args: Any, sets: Sequence[InSet], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = {one.entry.pk: one.entry for one in sets}
        choices: Any = [(one.entry.pk, _words(one)) for one in sets]
        self.fields["entries"].choices = choices  # type: ignore[attr-defined]

    def told(self) -> Told:
        typed = self.cleaned_data
        return Told([self.known[pk] for pk in typed["entries"]], typed["on"], typed["how"])


class LettersSentForm(_ForSets):
    how = forms.CharField(label="Sent by", max_length=80, help_text="Such as registered post, post, e-mail, by telephone.")

    field_order = ("on", "how", "entries")


class AnswerForm(_ForSets):
    on = DayField(label="Answered on")
    how = forms.CharField(label="How", max_length=80, required=False, help_text="Such as by telephone, at the counter.")
    entries = forms.TypedMultipleChoiceField(label="Whose answer", coerce=int, widget=forms.CheckboxSelectMultiple)
    answer = forms.CharField(label="What they answered", max_length=300, widget=forms.Textarea(attrs={"rows": 2}))

    field_order = ("on", "how", "answer", "entries")
