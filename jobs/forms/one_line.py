"""The form of the one line: what was typed, where the line stood, who typed it, and which earlier line it takes the place of."""

from dataclasses import replace

from django import forms

from jobs.bench.one_line import LONGEST, Line, write_line
from jobs.forms.entries import Asking
from jobs.services.log import Ambiguous
from shop.acts import Refused
from shop.web.chosen import READING
from shop.web.fields import TYPED_VERBATIM
from shop.web.forms import SeenForm

_HIDDEN = {"id": False}


class LineForm(Asking, SeenForm):
    """`at` is the position where the line stands. `seen` is the last entry of the whole job that the page shows.

    `writer` is who the page was drawn for: a line that waited for the network is never written under another name.
    `instead` is the token of a line that this one replaces, where nobody knows whether that one arrived.
    """

    line = forms.CharField(
        label="Line",
        required=False,
        max_length=LONGEST,
        widget=forms.TextInput(
            attrs={**TYPED_VERBATIM, "class": "notation line-field", "autocorrect": "off", "enterkeyhint": "send"}
        ),
    )
    at = forms.IntegerField(required=False, widget=forms.HiddenInput(attrs=_HIDDEN))
    writer = forms.CharField(required=False, max_length=150, widget=forms.HiddenInput(attrs=_HIDDEN))
    instead = forms.UUIDField(required=False, widget=forms.HiddenInput(attrs=_HIDDEN))

    read: Line | None = None
    designators: tuple[str, ...] = ()

    def take_refusal(self, refused: Refused) -> None:
        self.refusal = refused
        self.add_error("line", refused.message)

    @property
    def choices(self) -> list[tuple[str, str, str, str]]:
        """(button name, whole line, reading, why) for each way the doubtful value of the line can be read."""
        if not isinstance(self.refusal, Ambiguous) or self.read is None:
            return []
        put_in = _put_found if self.refusal.field == "found" else _put_reading
        lines = [write_line(put_in(self.read, text), self.designators) for text, _ in self.refusal.readings]
        return [(f"{READING}line", line, *asked) for line, asked in zip(lines, self.refusal.readings, strict=True)]


def _put_found(line: Line, text: str) -> Line:
    return replace(line, found=text, found_as_called=False)


def _put_reading(line: Line, text: str) -> Line:
    return replace(line, reading=text, reads_as_called=False)
