"""Forms of the customer's answer: written down at the counter, or given on the private page."""

from collections.abc import Sequence
from typing import Any

from django import forms

from jobs.models.estimate import ConsentAnswer, ConsentHow
from jobs.queries.alternatives import Choice
from shop.jurisdictions import Rules
from shop.money import show
from shop.web.forms import TradeForm

AT_THE_COUNTER = [(how.value, how.label.capitalize()) for how in ConsentHow if how != ConsentHow.LINK]


BEGIN = "They ask for work to begin before that time is over"
CHOOSE_ONE = "Choose which of the alternatives is agreed to."


def tier_field(label: str) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(label=label, coerce=int, required=False, widget=forms.RadioSelect)


def offer_choices(form: forms.Form, choices: Sequence[Choice], *, required: bool, locale: str = "en_GB") -> None:
    """One radio button an alternative, with the sum it runs up to; no such field where the estimate offers none."""
    if not choices:
        del form.fields["tier"]
        return
    field: Any = form.fields["tier"]
    field.choices = [(one.tier, f"{one.tier}. {one.alternative.name}, up to {_up_to(one, locale)}") for one in choices]
    field.required = required
    field.error_messages["required"] = field.error_messages["invalid_choice"] = CHOOSE_ONE


def offer_cancelling(form: forms.Form, rules: Rules) -> None:
    """The ticks about the right to cancel, where the place has one for what is agreed at a distance."""
    days = rules.cancellation.days
    if not days:
        for name in ("cancellation_told", "begin_at_once"):
            form.fields.pop(name, None)
    elif "cancellation_told" in form.fields:
        form.fields[
            "cancellation_told"
        ].help_text = f"Needed where it was not said in person: they may cancel within {days} days."
        form.fields["begin_at_once"].help_text = "Else work waits until that time is over."


def _up_to(one: Choice, locale: str) -> str:
    return show(one.high.gross_minor, one.alternative.estimate.currency, locale)


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
    tier = tier_field("Which alternative")
    cancellation_told = forms.BooleanField(label="They were told of the right to cancel", required=False)
    begin_at_once = forms.BooleanField(label=BEGIN, required=False)

    def __init__(self, *args: Any, rules: Rules, choices: Sequence[Choice] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_choices(self, choices, required=False)
        if "own_words" in rules.consent.codes:
            self.fields["note"].help_text = "Wanted by the rules the shop works by."
        offer_cancelling(self, rules)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("answer") == ConsentAnswer.AGREED and "tier" in self.fields and not data.get("tier"):
            self.add_error("tier", CHOOSE_ONE)
        return data


class ApprovalForm(TradeForm):
    """What the private page sends. Agreeing needs the tick as well as the name."""

    digest = forms.CharField(widget=forms.HiddenInput(attrs={"id": False}))
    answer = forms.ChoiceField(choices=ConsentAnswer, widget=forms.HiddenInput(attrs={"id": False}))
    who = forms.CharField(
        label="Your name", max_length=120, error_messages={"required": "Please type your name: it stands for your signature."}
    )


class AgreeForm(ApprovalForm):
    tier = tier_field("Which do you choose?")
    tick = forms.BooleanField(error_messages={"required": "Please tick the box to show that you agree."})
    begin_at_once = forms.BooleanField(required=False)
    field_order = ("tier", "who", "tick", "begin_at_once")

    def __init__(
        self, *args: Any, rules: Rules, up_to: str = "", choices: Sequence[Choice] = (), locale: str = "en_GB", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        offer_cancelling(self, rules)
        if "begin_at_once" in self.fields:
            self.fields["begin_at_once"].label = (
                "Please begin before the time for cancelling is over. I know that I then pay for what was done until I cancel, "
                "and can't cancel any more once all is done"
            )
        offer_choices(self, choices, required=True, locale=locale)
        whole = f"I agree to this estimate, up to {up_to}" if up_to else "I agree to this estimate"
        self.fields["tick"].label = "I agree to the one I chose, up to its sum" if choices else whole


class DeclineForm(ApprovalForm):
    note = forms.CharField(label="Why, if you like to say", max_length=300, required=False, widget=forms.Textarea)
