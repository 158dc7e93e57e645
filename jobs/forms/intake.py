"""The questions asked at the counter, in the order they are asked; later corrections ask the same ones."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from jobs.models import CameWith, Goal, Job, PhotoConsent, RadioModel, RadioSet, SupplyKind
from jobs.models.estimate import PayBy
from jobs.queries.known import KnownSet, model_called
from jobs.services.intake import EARLIEST_YEAR, JobFacts, SetFacts
from shop.customers import CustomerFacts
from shop.forms.customer import CustomerFields
from shop.jurisdictions import Rules
from shop.models import Customer
from shop.search_text import fold
from shop.web.forms import DayField, MoneyField, PhotoField, SeenForm, TradeForm

COUNTED = ("knobs", "back", "screws", "valves")
FREE_LINES = 4
LATEST_YEAR = 2100
NEW_SET = "new"
PARTS_BACK = {
    "returned": "They go back unless the customer doesn't want them: ask now",
    "asked": "Ask before the work: they go back where the customer says so",
    "unsaid": "Ask before the work",
}


class SetFields(TradeForm):
    """Maker and model are asked for by the acts, as a known set needs neither."""

    maker = forms.CharField(label="Maker", max_length=80, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    model = forms.CharField(label="Model", max_length=80, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    serial = forms.CharField(
        label="Serial number", max_length=60, required=False, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    year = forms.IntegerField(
        label="Year made",
        min_value=EARLIEST_YEAR,
        max_value=LATEST_YEAR,
        required=False,
        error_messages={"invalid": "Write the year in four figures, such as 1951, or leave it empty."},
    )
    supply_kind = forms.ChoiceField(label="Supply", choices=[("", "Choose…"), *SupplyKind.choices], required=False)
    lineup = forms.CharField(
        label="Valve or transistor line-up",
        max_length=300,
        required=False,
        help_text="As far as it can be seen: ECH42, EF41, EBC41, …",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.wants_set():
            self._check_supply(data)
        return data

    def wants_set(self) -> bool:
        return True

    def _check_supply(self, data: dict[str, Any]) -> None:
        if "supply_kind" in self.errors:
            return
        known = model_called(data.get("maker", ""), data.get("model", ""))
        if not data.get("supply_kind"):
            self.add_error("supply_kind", "Choose how the set is supplied; it decides which cautions and checks apply.")
        elif known and known.supply_kind != data["supply_kind"]:
            self.add_error("supply_kind", _other_supply(known))

    def set_facts(self) -> SetFacts:
        data = self.cleaned_data
        return SetFacts(data["maker"], data["model"], data["supply_kind"], data["serial"], data["year"], data["lineup"])


def _other_supply(known: RadioModel) -> str:
    kind = known.get_supply_kind_display()
    return f"{known} is kept here as “{kind}”. Choose that, or give this set the model name it really has."


def count_field(label: str) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=999, required=False)


class CameWithFields(TradeForm):
    """What came with the set, counted: the usual things, and free lines."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for what in COUNTED:
            self.fields[f"count_{what}"] = count_field(what.capitalize())
        self.lines = range(1, self._line_count() + 1)
        for line in self.lines:
            self.fields[f"thing_{line}"] = forms.CharField(label=f"What else, line {line}", max_length=80, required=False)
            self.fields[f"thing_count_{line}"] = count_field(f"How many, line {line}")

    def _line_count(self) -> int:
        """As many free lines as arrived or stand already, and never fewer than the usual number."""
        names = (*(self.data or ()), *(self.initial or ()))
        numbers = [int(name[6:]) for name in names if name.startswith("thing_") and name[6:].isdecimal() and len(name) < 9]
        return max(FREE_LINES, *numbers, 0)

    def counted_fields(self) -> list[Any]:
        return [self[f"count_{what}"] for what in COUNTED]

    def free_lines(self) -> list[tuple[Any, Any]]:
        return [(self[f"thing_{line}"], self[f"thing_count_{line}"]) for line in self.lines]

    def came_with(self) -> tuple[tuple[str, int], ...]:
        data = self.cleaned_data
        usual = [(what, data.get(f"count_{what}") or 0) for what in COUNTED]
        free = [(data.get(f"thing_{line}", ""), data.get(f"thing_count_{line}")) for line in self.lines]
        listed = usual + [(what, 1 if count is None else count) for what, count in free if what]
        return tuple((what, count) for what, count in listed if count)


def came_with_values(things: Sequence[CameWith]) -> dict[str, object]:
    """The counted things as initial values, with two free lines to spare."""
    usual = {f"count_{thing.what}": thing.count for thing in things if thing.what in COUNTED}
    free = [(thing.what, thing.count) for thing in things if thing.what not in COUNTED] + [("", None), ("", None)]
    lines: dict[str, object] = {}
    for line, (what, count) in enumerate(free, 1):
        lines |= {f"thing_{line}": what, f"thing_count_{line}": count}
    return {**usual, **lines}


def photo_consent_field() -> forms.ChoiceField:
    """Asked plainly and with no answer set for them: GDPR article 7. The proof of the work needs no consent (article 6(1)(b))."""
    return forms.ChoiceField(
        label="Agreed about photos",
        choices=PhotoConsent.choices,
        required=False,
        help_text="What the customer agrees to. They may take it back at any time, on the job's page.",
        error_messages={"invalid_choice": "Choose what the customer agreed to from the list."},
    )


class JobFields(CameWithFields):
    fault = forms.CharField(
        label="The fault, in the customer's own words",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write the fault in the customer's own words."},
    )
    goal = forms.ChoiceField(label="What it shall become", choices=Goal.choices, initial=Goal.WORKING, widget=forms.RadioSelect)
    cabinet = forms.CharField(
        label="Cabinet condition", max_length=300, required=False, help_text="Scratches, cracks, missing trim, smell of smoke."
    )
    may_drill = forms.BooleanField(label="drill the chassis or cabinet", required=False)
    may_rewire = forms.BooleanField(label="rewire", required=False)
    may_fit_polarised_plug = forms.BooleanField(label="fit a polarised plug", required=False)
    may_fit_fuse = forms.BooleanField(label="add a fuse", required=False)
    old_parts_back = forms.BooleanField(label="Old parts wanted back", required=False)
    photo_consent = photo_consent_field()
    stands_at = forms.CharField(
        label="Where it stands", max_length=80, required=False, help_text="Shelf or cabinet: A3, by the door."
    )
    promised_on = DayField(label="Promised for", required=False)

    def permissions(self) -> list[Any]:
        return [self[name] for name in ("may_drill", "may_rewire", "may_fit_polarised_plug", "may_fit_fuse")]

    def job_facts(self, warranty_of: Job | None = None) -> JobFacts:
        data = self.cleaned_data
        plain = ("fault", "goal", "cabinet", "may_drill", "may_rewire", "may_fit_polarised_plug", "may_fit_fuse")
        more = ("old_parts_back", "photo_consent", "promised_on", "stands_at")
        return JobFacts(came_with=self.came_with(), warranty_of=warranty_of, **{name: data[name] for name in plain + more})


def job_values(job: Job) -> dict[str, object]:
    names = [name for name in JobFields.base_fields if name != "once"]
    return {**{name: getattr(job, name) for name in names}, **came_with_values(list(job.came_with.all())), "seen": job.version}  # type: ignore[attr-defined]


class IntakeForm(CustomerFields, SetFields, JobFields):
    """The whole intake. `radios` are the chosen customer's sets; without a customer a new card is written."""

    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, widget=forms.HiddenInput(attrs={"id": False}))
    somebody_else = forms.CharField(required=False, max_length=600, widget=forms.HiddenInput(attrs={"id": False}))
    who = forms.CharField(label="Known already? Name, telephone or e-mail", max_length=200, required=False)
    radio = forms.ChoiceField(label="Which set", required=False, widget=forms.RadioSelect)
    came_back = forms.BooleanField(label="It came back under warranty", required=False)
    inspection_fee = MoneyField(label="Inspection fee agreed", required=False)
    minimum_fee = MoneyField(
        label="Minimum bench fee agreed",
        required=False,
        help_text="The least for the bench; credited to the work.",
    )
    decline_fee = MoneyField(
        label="Agreed if they decline", required=False, help_text="Due beside the work done, should the estimate be declined."
    )
    deposit = MoneyField(label="Deposit", required=False)
    deposit_how = forms.ChoiceField(label="Paid by", choices=[("", "Choose…"), *PayBy.choices], required=False)
    photos = PhotoField(
        label="Photos",
        required=False,
        help_text="As the set comes in, several at once. On a poor network add them afterwards on the job's page for photos, "
        "where each is sent by itself.",
    )

    def __init__(self, *args: Any, radios: Sequence[RadioSet] = (), rules: Rules | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if rules is not None:
            self.fields[
                "old_parts_back"
            ].help_text = f"{PARTS_BACK[rules.parts_return.way]} ({rules.parts_return.source.citation})."
            self.initial.setdefault("old_parts_back", rules.parts_return.way == "returned")
        self.radios = list(radios)
        known = [(str(radio.pk), str(radio)) for radio in self.radios]
        self.fields["radio"].choices = [*known, (NEW_SET, "Another set")]  # type: ignore[attr-defined]

    def wants_set(self) -> bool:
        return self.cleaned_data.get("radio") in ("", NEW_SET, None)

    def set_choices(self, known: Sequence[KnownSet]) -> list[tuple[Any, KnownSet | None]]:
        """The radio buttons, each with what is known of its set; the last one is for another set."""
        return list(zip(self["radio"].subwidgets, [*known, None], strict=True))

    def chosen_radio(self) -> RadioSet | None:
        return self.radio_named(self.cleaned_data.get("radio"))

    def radio_named(self, value: object) -> RadioSet | None:
        return next((radio for radio in self.radios if str(radio.pk) == str(value)), None)

    def clean_deposit_how(self) -> str:
        how = self.cleaned_data["deposit_how"]
        if self.cleaned_data.get("deposit") and not how:
            raise ValidationError("Choose how the deposit was paid.")
        return how

    def clean_radio(self) -> str:
        if self.radios and not self.cleaned_data["radio"]:
            raise ValidationError("Choose which set it is, or “Another set”.")
        return self.cleaned_data["radio"]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if not self.wants_set() and (data.get("maker") or data.get("model")):
            self.add_error(
                "radio", "A known set is chosen, but a maker or model is typed too. Choose “Another set”, or empty those fields."
            )
        return data


def alike_key(facts: CustomerFacts) -> str:
    """Names the typed person, so that “it's somebody else” holds for this one only."""
    return fold(f"{facts.name}|{facts.phone}|{facts.email}")


def kept(data: QueryDict, changes: Mapping[str, object]) -> dict[str, object]:
    """What was typed, as the initial values of a form that is not judged yet, with some values set."""
    typed = {name: data[name] for name in data if name != "csrfmiddlewaretoken"}
    unticked = {
        name: False
        for name, field in IntakeForm.base_fields.items()
        if isinstance(field, forms.BooleanField) and name not in data
    }
    return {**typed, **unticked, **changes}


class JobChangeForm(JobFields, SeenForm):
    pass


class SetChangeForm(SetFields, SeenForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("maker", "model"):
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = f"Write the {name}; “unknown” will do."
        self.fields["supply_kind"].help_text = "Kept with the model, for all its sets."


def set_values(radio: RadioSet) -> dict[str, object]:
    model = radio.model
    return {
        "maker": model.maker,
        "model": model.name,
        "serial": radio.serial,
        "year": radio.year,
        "supply_kind": model.supply_kind,
        "lineup": radio.lineup,
        "seen": radio.version,
    }
