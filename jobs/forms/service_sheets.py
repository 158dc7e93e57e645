"""Forms on a model's service sheet: a page sent in, what is written about it, which page of a PDF, where a position stands."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from jobs.models import WHOLE, SheetPage
from jobs.queries.service_sheets import Named
from jobs.services.service_sheets import LAST_ORDER, PageFacts, Where
from shop.web.fields import INCOMPLETE
from shop.web.forms import PercentField, SeenForm, TradeForm

TAKEN = "image/jpeg,image/png,image/webp,application/pdf,.pdf"


class DrawingField(forms.FileField):
    """A picture or a PDF; what it holds is judged where it is read."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            **{"allow_empty_file": True, "max_length": 255, "widget": forms.FileInput(attrs={"accept": TAKEN}), **kwargs},
            error_messages={
                "required": "Choose the picture or the PDF of the page.",
                "max_length": "The file's name is too long. Give it a shorter one and send it again.",
            },
        )


class PageForm(TradeForm):
    """A further page."""

    file = DrawingField(label="The page", help_text="JPEG, PNG, WebP or PDF. Of a PDF with several pages you choose one next.")
    title = forms.CharField(label="Title", max_length=80, help_text="Circuit, chassis from below, dial cord.")
    source = forms.CharField(
        label="Where it is from",
        max_length=160,
        required=False,
        help_text="Only papers that the shop owns or has drawn itself: our folder 7, traced from the set of March.",
    )

    def facts(self) -> PageFacts:
        return PageFacts(self.cleaned_data["title"], self.cleaned_data["source"])


class PageChangeForm(SeenForm):
    title = forms.CharField(label="Title", max_length=80)
    source = forms.CharField(label="Where it is from", max_length=160, required=False)
    order = forms.IntegerField(
        label="Place among the pages", min_value=0, max_value=LAST_ORDER, help_text="The lowest comes first."
    )

    def facts(self) -> PageFacts:
        return PageFacts(self.cleaned_data["title"], self.cleaned_data["source"], self.cleaned_data["order"])


def page_values(page: SheetPage) -> dict[str, object]:
    return {"title": page.title, "source": page.source, "order": page.order, "seen": page.version}


class PictureForm(SeenForm):
    """Another picture for a page that stands."""

    file = DrawingField(
        label="The new picture", help_text="It should show the same cut of the sheet: the places stay where they are."
    )


class ChosenPageForm(TradeForm):
    """Which page of a PDF: one of those that are shown, or any by its number."""

    choice = forms.IntegerField(required=False, min_value=1)
    page = forms.IntegerField(label="Or its number", required=False, min_value=1)

    def __init__(self, *args: Any, count: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.count = count
        self.fields["page"].help_text = f"The PDF has {count} pages."

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        chosen = data.get("page") or data.get("choice")
        if chosen is None:
            self.add_error("page", "Choose the page that is wanted, or type its number.")
        elif chosen > self.count:
            self.add_error("page", f"The PDF has no page {chosen}: it has {self.count}.")
        data["number"] = chosen
        return data


class PlaceForm(SeenForm):
    """Where a position stands: typed in per cent, or tapped on the drawing, which sends `at.x` and `at.y` in its own pixels."""

    position = forms.CharField(label="Position", max_length=16, widget=forms.Select)
    across = PercentField(label="From the left", required=False)
    down = PercentField(label="From the top", required=False)
    wide = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}), required=False, min_value=1, max_value=20_000)
    high = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}), required=False, min_value=1, max_value=20_000)

    def __init__(self, *args: Any, named: Sequence[Named], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = {one.designator for one in named}
        widget = self.fields["position"].widget
        widget.choices = [("", "Choose a position"), *((one.designator, one.words) for one in named)]  # type: ignore[attr-defined]

    def clean_position(self) -> str:
        name = str(self.cleaned_data["position"]).upper()
        if name not in self.known:
            raise ValidationError("That position isn't on this model's list any more. Choose another.")
        return name

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "at.x" in self.data or "at.y" in self.data:
            data["where"] = self._tapped(data)
            for field in ("across", "down"):
                self.errors.pop(field, None)  # what stands in the fields wasn't meant
        elif not self.errors:
            data["where"] = self._typed(data)
        return data

    def _typed(self, data: dict[str, Any]) -> Where | None:
        for field in ("across", "down"):
            if data.get(field) is None:
                self.add_error(field, "Tap on the drawing, or type how far from this edge the position stands.")
        return None if self.errors else Where(data["across"], data["down"])

    def _tapped(self, data: dict[str, Any]) -> Where | None:
        """A drawing that is entered by the keyboard sends 0, 0: nobody pointed at anything."""
        x, y = (str(self.data.get(f"at.{axis}", "")) for axis in "xy")
        wide, high = data.get("wide"), data.get("high")
        if not (x.isdecimal() and y.isdecimal() and len(x + y) < 12 and wide and high):
            raise ValidationError(INCOMPLETE)
        if int(x) == 0 and int(y) == 0:
            raise ValidationError("Tap where the position stands, or type how far from the left and from the top it is.")
        return Where(min(WHOLE, round(int(x) * WHOLE / wide)), min(WHOLE, round(int(y) * WHOLE / high)))


class RemoveForm(SeenForm):
    """Which position's place goes."""

    position = forms.CharField(max_length=16)


def uploaded(file: UploadedFile, most_bytes: int) -> tuple[bytes, str]:
    """The bytes of a sent file, one more than the shop takes at most, and a name to speak of it."""
    return file.read(most_bytes + 1), f"“{(file.name or '').strip()[:60] or 'the file'}”"
