"""The card of a part. Its marking is typed as the trade writes it and read; what is typed apart from it wins."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.components.notation import NotationError, Spec, read_notation
from inventory.components.safety_classes import class_rules
from inventory.forms.readings import RatingField, ToleranceField
from inventory.models import Kind, Part, Technology
from inventory.queries.doubts import ways_to_read
from inventory.queries.parts import QUANTITIES
from inventory.services import PartFacts
from shop.web.chosen import READING, with_chosen_reading
from shop.web.forms import MoneyField, NotationField, SeenForm, TradeForm

MOST_WANTED = 100_000
POLARITIES = [("", "as usual: electrolytics are"), ("yes", "has a plus and a minus side"), ("no", "either way round")]


class PartFields(TradeForm):
    """What is on the card. `readings` offers the ways out of a marking that can be read in several."""

    kind = forms.ChoiceField(label="Kind", choices=[("", "choose"), *Kind.choices])
    marking = NotationField(
        label="Value or type, as marked",
        help_text="As the trade writes it: 0.047 µF 630 V, 470K 1/2W 10%, 12SK7. Ratings in it are read too.",
    )
    technology = forms.ChoiceField(label="Made as", choices=Technology.choices, required=False)
    description = forms.CharField(
        label="Description", max_length=160, required=False, help_text="What tells it from its like: axial, 22 mm long, 85 °C."
    )
    volts = RatingField(label="Rated voltage", quantity="voltage")
    watts = RatingField(label="Rated power", quantity="power")
    tolerance = ToleranceField(label="Tolerance", help_text="10, or -20/+80.")
    safety_class = forms.CharField(
        label="Safety class", max_length=8, required=False, help_text="For parts on the line: X1, X2, Y1, Y2, X1/Y2 …"
    )
    polarised = forms.ChoiceField(label="Polarity", choices=POLARITIES, required=False)
    list_price = MoneyField(
        label="List price", required=False, help_text="Empty: cost of the lot times the rung of the shop's markup ladder."
    )
    in_the_hour = forms.BooleanField(
        label="Folded into the hour",
        required=False,
        help_text="A minor part that the hour pays for: fitted, it is on the bill as not charged.",
    )
    minimum = forms.IntegerField(label="Order when fewer than", min_value=0, max_value=MOST_WANTED, required=False)

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        self.readings: list[tuple[str, str, str]] = []
        self.spec: Spec | None = None
        super().__init__(with_chosen_reading(data), *args, **kwargs)

    def clean_safety_class(self) -> str:
        typed = str(self.cleaned_data["safety_class"]).upper().replace(" ", "")
        unknown = [code for code in typed.split("/") if code not in class_rules()] if typed else []
        if unknown:
            raise ValidationError(
                f"“{unknown[0]}” is no safety class. Known are {', '.join(class_rules())}, and two joined: X1/Y2."
            )
        return typed

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        kind, marking = cleaned.get("kind"), cleaned.get("marking")
        if kind in QUANTITIES and marking:
            self._read(marking, kind)
        return cleaned

    def _read(self, marking: str, kind: str) -> None:
        try:
            self.spec = read_notation(marking, kind)
        except NotationError as error:
            message, readings = ways_to_read(error)
            self.add_error("marking", message)
            self.readings = [(f"{READING}marking", written, why) for written, why in readings]

    def part_facts(self, in_use: bool = True) -> PartFacts:
        """What is typed apart wins over what the marking carries."""
        typed, spec = self.cleaned_data, self.spec
        low, high = typed["tolerance"] or (spec and spec.tolerance_percent) or (None, None)
        return PartFacts(
            kind=typed["kind"],
            marking=typed["marking"],
            technology=typed["technology"],
            description=typed["description"],
            value_si=float(spec.value) if spec else None,
            volts=typed["volts"] or (_bare(spec.volts) if spec else None),
            watts=typed["watts"] or (_bare(spec.watts) if spec else None),
            tolerance_low=_bare(low),
            tolerance_high=_bare(high),
            safety_class=typed["safety_class"] or (spec.safety_class if spec else "") or "",
            polarised=self._polarised(),
            list_price_minor=typed["list_price"],
            minimum=typed["minimum"] or 0,
            in_the_hour=typed["in_the_hour"],
            in_use=in_use,
        )

    def _polarised(self) -> bool:
        typed = self.cleaned_data["polarised"]
        return typed == "yes" if typed else self.cleaned_data["technology"] == Technology.ELECTROLYTIC


def _bare(number: Any) -> float | None:
    return None if number is None else float(number)


class PartForm(PartFields):
    pass


class PartChangeForm(PartFields, SeenForm):
    """`moved`: parts of it have been in drawers and sets, so a new marking must be meant as a correction."""

    in_use = forms.BooleanField(label="Kept in this shop", required=False, help_text="Off: no longer offered for fitting.")
    is_correction = forms.BooleanField(
        label="It is a correction: the parts were always this, only the card was wrong",
        required=False,
        help_text="For parts that really are another kind, write a new card instead.",
    )

    def __init__(self, data: Any = None, *args: Any, part: Part, moved: bool, **kwargs: Any) -> None:
        self.part = part
        super().__init__(data, *args, **kwargs)
        self.moved = moved
        if not moved:
            del self.fields["is_correction"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        anew = any(cleaned.get(name) not in (None, getattr(self.part, name)) for name in ("kind", "marking", "technology"))
        if self.moved and anew and not cleaned.get("is_correction"):
            self.add_error(
                "is_correction",
                "Parts with this card have moved already. Tick this if only the card was wrong, or write a new card.",
            )
        return cleaned


def values_of(part: Part) -> dict[str, Any]:
    """What the form starts with. A rating that the marking carries stays empty: it would win over a corrected marking."""
    names = ("kind", "marking", "technology", "description", "minimum", "in_the_hour", "in_use")
    carried = _carried(part)
    ratings = {
        "volts": part.volts,
        "watts": part.watts,
        "safety_class": part.safety_class,
        "tolerance": _band(part.tolerance_low, part.tolerance_high),
    }
    usual = part.polarised == (part.technology == Technology.ELECTROLYTIC)
    return (
        {name: getattr(part, name) for name in names}
        | {name: None if carried.get(name) == value else value for name, value in ratings.items()}
        | {"polarised": "" if usual else "yes" if part.polarised else "no", "list_price": part.list_price_minor}
    )


def _band(low: Any, high: Any) -> tuple[float, float] | None:
    return None if low is None or high is None else (float(low), float(high))


def _carried(part: Part) -> dict[str, Any]:
    """The ratings in a marking; none where it can't be read, or in more ways than one."""
    try:
        spec = read_notation(part.marking, part.kind) if part.kind in QUANTITIES else None
    except NotationError:
        spec = None
    if spec is None:
        return {}
    return {
        "volts": _bare(spec.volts),
        "watts": _bare(spec.watts),
        "safety_class": spec.safety_class or "",
        "tolerance": _band(*(spec.tolerance_percent or (None, None))),
    }
