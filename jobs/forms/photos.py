"""Photos added to a job: many at once, one caption, perhaps one position."""

from typing import Any

from django import forms

from jobs.models import Job, Position
from shop.web.forms import PhotoField, TradeForm


class PhotosForm(TradeForm):
    photos = PhotoField(
        label="Photos",
        help_text="Several at once; a telephone offers its camera.",
        error_messages={"required": "Choose at least one photo."},
    )
    caption = forms.CharField(label="Caption", max_length=160, required=False, help_text="For all of these: underside as found.")
    position = forms.ModelChoiceField(
        Position.objects.none(), label="Position shown", required=False, empty_label="the set as a whole"
    )

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["position"].queryset = Position.objects.filter(job=job)  # type: ignore[attr-defined]
