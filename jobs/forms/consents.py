"""Forms of the customer's answer: written down at the counter, or given on the private page."""

from django import forms

from jobs.models.estimate import ConsentAnswer, ConsentHow
from shop.web.forms import TradeForm

AT_THE_COUNTER = [(how.value, how.label.capitalize()) for how in ConsentHow if how != ConsentHow.LINK]


class ConsentForm(TradeForm):
    """`digest` says which figures the person had before them."""

    digest = forms.CharField(widget=forms.HiddenInput(attrs={"id": False}))
    answer = forms.ChoiceField(label="The customer", choices=ConsentAnswer, widget=forms.RadioSelect)
    how = forms.ChoiceField(label="How it was said", choices=AT_THE_COUNTER, widget=forms.RadioSelect)
    who = forms.CharField(label="Who said so", max_length=120)
    number_called = forms.CharField(
        label="Number called", max_length=40, required=False, help_text="Needed for an answer by telephone."
    )
    answered_at = forms.DateTimeField(
        label="When",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"],
        error_messages={"invalid": "That is no moment we can read. Type it like 2025-03-14 09:30."},
        help_text="Empty: just now.",
    )
    note = forms.CharField(label="In their words", max_length=300, required=False, widget=forms.Textarea)


class ApprovalForm(TradeForm):
    """What the private page sends. Agreeing needs the tick as well as the name."""

    digest = forms.CharField(widget=forms.HiddenInput(attrs={"id": False}))
    answer = forms.ChoiceField(choices=ConsentAnswer, widget=forms.HiddenInput(attrs={"id": False}))
    who = forms.CharField(
        label="Your name", max_length=120, error_messages={"required": "Please type your name: it stands for your signature."}
    )


class AgreeForm(ApprovalForm):
    tick = forms.BooleanField(error_messages={"required": "Please tick the box to show that you agree."})

    def __init__(self, *args: object, up_to: str = "", **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["tick"].label = f"I agree to this estimate, up to {up_to}" if up_to else "I agree to this estimate"


class DeclineForm(ApprovalForm):
    note = forms.CharField(label="Why, if you like to say", max_length=300, required=False, widget=forms.Textarea)
