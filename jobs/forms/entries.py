"""Forms of the change log: one entry each, always in sight of the last entry the person saw."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from inventory.components.roles import ROLES
from jobs.bench.worded import LABELS, labelled
from jobs.models import Decision, Verdict
from jobs.services.log import MOST_A_POSITION, Ambiguous, SetPrice
from shop.access import staff_of
from shop.acts import Refused
from shop.models import Role, Staff
from shop.web.chosen import READING, with_chosen_reading
from shop.web.forms import MoneyField, NotationField, SeenForm, TradeForm

_NOT_THEIRS = "That isn't {0}'s password. {0} types it here themselves."
_SHUT = (
    "Too many wrong passwords were typed for {0} on this computer, so none is taken for a quarter of an hour. Wait, let an owner "
    "let {0} in again, or ask somebody else to look."
)


class Remembering(TradeForm):
    """A form that keeps the refusal it got, so that the page can offer the way out (`refusal.code`)."""

    refusal: Refused | None = None

    def take_refusal(self, refused: Refused) -> None:
        self.refusal = refused
        super().take_refusal(refused)

    @property
    def is_over_ceiling(self) -> bool:
        return self.refusal is not None and self.refusal.code == "over_ceiling"


class Asking(Remembering):
    """A form that offers the readings of a value that can be read in more than one way."""

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(with_chosen_reading(data), *args, **kwargs)

    @property
    def readings(self) -> list[tuple[str, str, str]]:
        """(button name, reading, why) for each way an ambiguous value can be read."""
        if not isinstance(self.refusal, Ambiguous):
            return []
        return [(READING + self.refusal.field, text, why) for text, why in self.refusal.readings]


class EntryForm(Asking, SeenForm):
    """`corrects` is the entry that this one replaces; empty for a new one."""

    corrects = forms.IntegerField(required=False, widget=forms.HiddenInput(attrs={"id": False}))


def decisions() -> list[tuple[str, str]]:
    return [("", "choose"), *Decision.choices]


class FoundForm(EntryForm):
    found = NotationField(label="Found", max_length=300, help_text="What was really in there: a value, or words.")


# What was measured, by the kind of part; the first is what a reading is of when nothing is chosen.
QUANTITIES = {
    "capacitance": (
        ("", "its value"),
        ("leakage", "leakage current"),
        ("insulation", "insulation resistance"),
        ("esr", "series resistance (ESR)"),
    ),
    "winding": (("", "DC resistance"), ("insulation", "insulation to core or other winding")),
    "inductance": (("", "its value"), ("winding", "DC resistance")),
}
EVERY_QUANTITY = (("", "as written"), *((code, word) for code, word in LABELS.items()))


class ReadingForm(EntryForm):
    """A reading with what it is of. The log keeps both as one text, so that it can as well be typed: ESR 2.5 Ω."""

    quantity = forms.ChoiceField(label="Kind of reading", choices=EVERY_QUANTITY, required=False)

    def narrow(self, kind: str) -> None:
        """Offer what a part of this kind can be measured for; nothing to choose where that is one thing only."""
        choices = QUANTITIES.get(kind)
        if choices is None:
            del self.fields["quantity"]
        else:
            self.fields["quantity"].choices = choices  # type: ignore[attr-defined]

    @property
    def reading(self) -> str:
        """The reading as the log writes it; call it on a valid form."""
        return labelled(self.cleaned_data.get("quantity", ""), self.cleaned_data["measured"])


class MeasuredForm(ReadingForm):
    # Behind the reading: who types ESR 2.5 passes it by.
    field_order = ("measured", "quantity")
    measured = NotationField(
        label="Measured",
        max_length=300,
        help_text="The meter's reading: 0.09 µF, 61k, open, short, leaky. Of a capacitor also ESR 2.5 Ω, 2 MΩ or 0.3 mA; "
        "of a transformer insulation 5 MΩ; of a valve the tester's 72 %, or 4.2 of 5.5.",
    )
    in_circuit = forms.BooleanField(label="Measured in circuit", required=False)
    verdict = forms.ChoiceField(
        label="Verdict by hand",
        choices=[("", "from the reading"), *Verdict.choices],
        required=False,
        help_text="For what no meter shows: judged by ear, by hand, by another set.",
    )


class DecideForm(EntryForm):
    decision = forms.ChoiceField(label="Decision", choices=decisions)
    why = forms.CharField(label="Why", required=False, max_length=300)


class AmendForm(EntryForm):
    called = NotationField(label="Called for", help_text="The value as it should read in this job.")


class WiringForm(EntryForm):
    text = forms.CharField(label="Wired otherwise than the schematic", max_length=300)


class NoteForm(EntryForm):
    text = forms.CharField(label="Note", max_length=300)


class PolarityForm(EntryForm):
    note = forms.CharField(
        label="What you saw", required=False, max_length=300, help_text="Empty: the plus side is where the schematic has it."
    )


class RowForm(ReadingForm):
    """Found, measured and decision of one row of the sheet; whatever is filled in is written, in that order."""

    field_order = ("found", "measured", "quantity")
    found = NotationField(label="Found", required=False, max_length=300)
    measured = NotationField(label="Measured", required=False, max_length=300)
    in_circuit = forms.BooleanField(label="in circuit", required=False)
    decision = forms.ChoiceField(label="Decision", choices=decisions, required=False)
    why = forms.CharField(label="Why", required=False, max_length=300)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not any(cleaned.get(name) for name in ("found", "measured", "decision")):
            raise ValidationError("Nothing was filled in. Enter what was found or measured, or choose a decision.", code="empty")
        return cleaned


class OfferForm(EntryForm):
    """A part chosen from the offers: `offer` names lot and drawer as `lot:drawer`."""

    offer = forms.RegexField(
        r"^\d{1,18}:\d{1,18}$",
        widget=forms.HiddenInput,
        error_messages={"required": "Choose a part.", "invalid": "Choose a part."},
    )
    count = forms.IntegerField(label="How many", min_value=1, max_value=MOST_A_POSITION, initial=1)
    note = forms.CharField(label="Note", required=False, max_length=300)
    price = MoneyField(
        label="Another price each", required=False, help_text="Leave empty for the price that is offered or was planned."
    )
    price_reason = forms.CharField(
        label="Why another price", required=False, max_length=200, help_text="For the shop only; it is on no paper."
    )
    below_cost = forms.BooleanField(label="Yes, below what it cost", required=False)

    @property
    def asks_below_cost(self) -> bool:
        return self.refusal is not None and self.refusal.code == "below_cost"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("price_reason") and cleaned.get("price") is None and "price" not in self.errors:
            self.add_error("price", "There is a reason for another price here. Type the price too, or empty the reason.")
        return cleaned

    @property
    def set_price(self) -> SetPrice | None:
        """The price that was set by hand; call it on a valid form."""
        typed = self.cleaned_data
        return None if typed["price"] is None else SetPrice(typed["price"], typed["price_reason"], typed["below_cost"])


class FitForm(OfferForm):
    """Fitting against a refusal needs a reason and a second person, who proves with their own password that they stand there."""

    not_charged = forms.CharField(
        label="Not charged, because",
        required=False,
        max_length=200,
        help_text="Leave empty to charge it. The reason is printed on the bill.",
    )
    override_reason = forms.CharField(label="Why it must be fitted all the same", required=False, max_length=300)
    override_by = forms.ModelChoiceField(
        label="Second person", queryset=Staff.objects.none(), required=False, empty_label="nobody"
    )
    override_password = forms.CharField(
        label="Their password",
        required=False,
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        help_text="The second person types it here themselves.",
    )

    def __init__(self, data: Any = None, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(data, *args, **kwargs)
        self.request = request
        others = Staff.objects.filter(is_active=True, role__in=(Role.BENCH, Role.OWNER)).exclude(pk=staff_of(request).pk)
        self.fields["override_by"].queryset = others.order_by("username")  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        second = cleaned.get("override_by")
        if second is not None and not self._proved(second, cleaned.get("override_password", "")):
            self.add_error("override_password", _SHUT.format(second) if self._is_shut_out() else _NOT_THEIRS.format(second))
        return cleaned

    def _proved(self, second: Staff, password: str) -> bool:
        # By the same door as signing in, so that guessing a colleague's password is counted and locked as it is there.
        known = authenticate(self.request, username=second.get_username(), password=password)
        return known is not None and known.pk == second.pk

    def _is_shut_out(self) -> bool:
        return bool(getattr(self.request, "axes_locked_out", False))


class TakeOutForm(EntryForm):
    entry = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
    reason = forms.CharField(label="Why it comes out", max_length=200)
    where = forms.ChoiceField(
        label="Where it goes",
        choices=[("drawer", "back to its drawer, as good as it was"), ("scrap", "scrapped")],
        widget=forms.RadioSelect,
        initial="drawer",
    )


class WithdrawForm(EntryForm):
    entry = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
    why = forms.CharField(label="Why it is taken back", max_length=300)


class PositionForm(TradeForm):
    designator = forms.CharField(label="Position", max_length=16, help_text="As the service data names it: C12, R5, V3.")
    role = forms.ChoiceField(label="Role", choices=lambda: [(code, role.label) for code, role in ROLES.items()], initial="other")
    called = NotationField(label="Called for", required=False, help_text="Value, or type of valve, as the service data gives it.")
    note = forms.CharField(label="Note", required=False, max_length=160)
    keep_with_model = forms.BooleanField(
        label="Keep it with the model, so that its next set has it too", required=False, initial=True
    )


class JobNoteForm(Remembering):
    """A note or wiring finding that belongs to the set as a whole."""

    kind = forms.ChoiceField(label="What it is", choices=[("note", "Note"), ("wiring", "Wiring finding")], initial="note")
    text = forms.CharField(label="Text", max_length=300)
