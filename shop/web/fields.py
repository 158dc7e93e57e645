"""Form fields of the trade: money, notation, percent, working time, days, photos. Each keeps what was typed when it refuses."""

import re
import uuid
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.money import AmountError, plain, read_amount
from shop.pictures import fault_of

LONGEST_MINUTES = 7 * 24 * 60
INCOMPLETE = "This form was incomplete when it arrived. Check it and send it again."
TYPED_VERBATIM = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}


class OnceField(forms.UUIDField):
    """The hidden token that lets a form act once. It stays the same while the form is refused and shown again."""

    widget = forms.HiddenInput

    def __init__(self) -> None:
        super().__init__(initial=uuid.uuid4, error_messages={"required": INCOMPLETE, "invalid": INCOMPLETE})
        self.widget.attrs["id"] = False  # several forms on a page would share the id

    def bound_data(self, data: Any, initial: Any) -> Any:
        try:
            return uuid.UUID(str(data))
        except ValueError:
            return uuid.uuid4()


class MoneyField(forms.CharField):
    """A sum in the shop's currency; cleans to minor units (int), or None where left empty. `TradeForm` sets the currency."""

    def __init__(self, *, currency: str = "", negative: bool = False, **kwargs: Any) -> None:
        self.currency = currency
        self.negative = negative
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs, empty_value="")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "inputmode": "decimal", "class": "sum", "autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "":
            return None
        try:
            minor = read_amount(text, self.currency)
        except AmountError as error:
            raise ValidationError(str(error), code="unreadable") from error
        if minor < 0 and not self.negative:
            raise ValidationError("A sum can't be below zero here.", code="negative")
        return minor

    def prepare_value(self, value: Any) -> Any:
        return plain(value, self.currency) if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return str(self.prepare_value(initial) or "") != str(data or "").strip()


class NotationField(forms.CharField):
    """A value as the trade writes it (`0.05 µF 600 V`, `4k7`); cleans to the text. The caller reads it and adds its errors."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 80)
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), **TYPED_VERBATIM, "class": "notation"}


class PercentField(forms.CharField):
    """A percentage with up to two decimals; cleans to basis points (int, 17.5 % -> 1750), or None where left empty."""

    def __init__(self, *, most_bp: int = 10_000, **kwargs: Any) -> None:
        self.most_bp = most_bp
        super().__init__(**{"max_length": 12, **kwargs}, empty_value="")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "inputmode": "decimal", "class": "sum", "autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "":
            return None
        try:
            points = Decimal(text.rstrip("% ").replace(",", ".")) * 100
        except InvalidOperation as error:
            raise ValidationError(f"“{text}” can't be read as a percentage. Type it like 17.5.", code="unreadable") from error
        if not points.is_finite() or points != points.to_integral_value():
            raise ValidationError("A percentage has two decimals at most.", code="unreadable")
        if not 0 <= points <= self.most_bp:
            raise ValidationError(f"Type a percentage from 0 to {self.most_bp // 100}.", code="out_of_range")
        return int(points)

    def prepare_value(self, value: Any) -> Any:
        return f"{Decimal(value) / 100:f}" if isinstance(value, int) else value


class MinutesField(forms.CharField):
    """Working time as people type it: `45`, `45 min`, `1:30`, `1 h 30`, `1.5 h`; cleans to minutes (int > 0), None if empty."""

    _clock = re.compile(r"(\d{1,3})\s*(?::|h)\s*(\d{1,2})\s*(?:m|min)?", re.I)
    _hours = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?)\s*(?:h|hr|hrs|hours?)", re.I)
    _minutes = re.compile(r"(\d{1,4})\s*(?:m|min|minutes?)?", re.I)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": 20, **kwargs}, empty_value="")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "class": "sum", "autocomplete": "off"}

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "":
            return None
        minutes = self.read(text)
        if not 0 < minutes <= LONGEST_MINUTES:
            raise ValidationError("Type a time of at least a minute and at most a week.", code="out_of_range")
        return minutes

    def read(self, text: str) -> int:
        if found := self._clock.fullmatch(text):
            hours, minutes = int(found[1]), int(found[2])
            if minutes < 60:
                return hours * 60 + minutes
        elif found := self._hours.fullmatch(text):
            return int(Decimal(found[1].replace(",", ".")) * 60)
        elif found := self._minutes.fullmatch(text):
            return int(found[1])
        raise ValidationError(
            f"“{text}” can't be read as a time. Type minutes (45) or hours and minutes (1:30).", code="unreadable"
        )

    def prepare_value(self, value: Any) -> Any:
        return f"{value // 60}:{value % 60:02d}" if isinstance(value, int) else value


class DayField(forms.DateField):
    """A date with the browser's own picker; cleans to `date`."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        kwargs.setdefault("error_messages", {"invalid": "That is no date we can read. Type it like 2025-03-14."})
        super().__init__(**kwargs)


class PicturesInput(forms.FileInput):
    """Two inputs of one name: choose many, or take one now. Some telephones offer their camera for the second only."""

    allow_multiple_selected = True

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        chosen = super().render(name, value, attrs, renderer)
        own = {key: word for key, word in self.build_attrs(self.attrs, attrs).items() if key not in ("multiple", "required")}
        own["id"] = f"{own.get('id') or f'id_{name}'}_camera"
        taken = super().render(name, value, own | {"multiple": False, "capture": "environment"}, renderer)
        return format_html(
            '<div class="pictures">{}<label class="camera">or take one with the camera {}</label></div>', chosen, taken
        )

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[UploadedFile]:
        return list(files.getlist(name)) if hasattr(files, "getlist") else [files[name]] if name in files else []


class PhotoField(forms.Field):
    """Any number of pictures; cleans to a list of uploaded files, each opened once to see that it is a picture."""

    widget = PicturesInput

    def __init__(self, *, most: int = 20, **kwargs: Any) -> None:
        self.most = most
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"accept": "image/jpeg,image/png,image/webp", "multiple": True}

    def clean(self, value: Sequence[UploadedFile]) -> list[UploadedFile]:
        if self.required and not value:
            raise ValidationError(self.error_messages["required"], code="required")
        if len(value) > self.most:
            raise ValidationError(f"Choose up to {self.most} photos at a time.", code="too_many")
        faults = [fault for upload in value if (fault := fault_of(upload, str(upload.name), settings.PHOTO_MAX_BYTES))]
        if faults:
            raise ValidationError(faults)
        return list(value)
