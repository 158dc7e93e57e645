"""Forms of photos: many added at once, what was written with one corrected, one set aside."""

from collections.abc import Sequence
from typing import Any

from django import forms

from jobs.forms.intake import photo_consent_field
from jobs.models import Job, Moment, Photo, PhotoConsent, Position
from jobs.queries.photos import state_of
from shop.web.forms import PhotoField, SeenForm, TradeForm

CLOSED = "The found state is locked, so a photo shows the set during the work, or when it was done. Choose one of the two."


def _moments(opened: Sequence[str]) -> list[tuple[str, str]]:
    return [(one, Moment(one).label) for one in opened]


def position_field() -> forms.ModelChoiceField:
    """Which of the set's positions a photo shows, if it is one; the form fills in the choices."""
    return forms.ModelChoiceField(
        Position.objects.none(),
        label="Position shown",
        required=False,
        empty_label="the set as a whole",
        error_messages={"invalid_choice": "That position is none of this set's. Choose one from the list."},
    )


class PhotosForm(TradeForm):
    """`opened` are the moments that a photo taken now may show, the likeliest first."""

    photos = PhotoField(
        label="Photos",
        help_text="Several at once; the caption can be put right afterwards.",
        error_messages={"required": "Choose at least one photo."},
    )
    moment = forms.ChoiceField(label="They show the set", required=False, error_messages={"invalid_choice": CLOSED})
    position = position_field()
    caption = forms.CharField(
        label="Caption", max_length=160, required=False, help_text="For all of these: underside, from the cord's side."
    )
    proves = forms.BooleanField(
        label="The proof of the work needs them",
        required=False,
        help_text="Asked as the customer wants no other photos. The set as it was found and what shows a position need no tick.",
    )

    def __init__(self, *args: Any, job: Job, opened: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.opened = opened
        self.fields["position"].queryset = Position.objects.filter(job=job)  # type: ignore[attr-defined]
        self.fields["moment"].choices = _moments(opened)  # type: ignore[attr-defined]
        if job.photo_consent != PhotoConsent.NONE:
            del self.fields["proves"]

    @property
    def refusals(self) -> list[str]:
        """Every refusal in a line of its own, for the script that sends one photo at a time."""
        return [str(fault) for faults in self.errors.values() for fault in faults]


class PhotoChangeForm(SeenForm):
    caption = forms.CharField(label="Caption", max_length=160, required=False)
    moment = forms.ChoiceField(label="It shows the set", required=False, error_messages={"invalid_choice": CLOSED})
    position = position_field()

    def __init__(self, *args: Any, photo: Photo, opened: Sequence[str], **kwargs: Any) -> None:
        written = {"caption": photo.caption, "moment": photo.moment, "position": photo.position_id, "seen": state_of(photo)}
        super().__init__(*args, initial=written, auto_id="photo_%s", **kwargs)
        self.fields["position"].queryset = Position.objects.filter(job=photo.job_id)  # type: ignore[attr-defined]
        unsaid = [] if photo.moment else [("", "not said")]
        self.fields["moment"].choices = [*unsaid, *_moments(opened)]  # type: ignore[attr-defined]


class AsideForm(SeenForm):
    why = forms.CharField(
        label="Why it is set aside",
        max_length=200,
        error_messages={"required": "Say why the photo is set aside: another set, a blurred one."},
        help_text="It stays with the job, with this reason.",
    )

    def __init__(self, *args: Any, photo: Photo, **kwargs: Any) -> None:
        super().__init__(*args, initial={"seen": state_of(photo)}, auto_id="aside_%s", **kwargs)


class PhotoConsentForm(SeenForm):
    photo_consent = photo_consent_field()

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, initial={"photo_consent": job.photo_consent, "seen": job.version}, **kwargs)
