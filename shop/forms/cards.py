"""Address cards: the file or the pasted text; and what of them is written down."""

import json
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from shop.address_cards.reading import Card, Read, card_from_json, read_cards
from shop.address_cards.splitting import MOST_BYTES, MOST_CARDS, CardsRefused, as_text
from shop.web.forms import TradeForm

LONGEST_PASTED = 500_000
NO_CARDS = "What was read got lost on the way. Send the file again."


class CardsForm(TradeForm):
    """Cleans to `read`; it writes nothing."""

    file = forms.FileField(
        label="File of address cards",
        required=False,
        allow_empty_file=True,
        help_text="A .vcf file, as telephones and address books export it; one card or many.",
        widget=forms.FileInput(attrs={"accept": ".vcf,text/vcard,text/x-vcard"}),
    )
    text = forms.CharField(
        label="Or the cards themselves, pasted",
        required=False,
        max_length=LONGEST_PASTED,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "class": "notation"}),
    )

    def clean_file(self) -> UploadedFile | None:
        upload: UploadedFile | None = self.cleaned_data["file"]
        if upload and (upload.size or 0) > MOST_BYTES:
            raise ValidationError(f"The file is larger than {MOST_BYTES // 1_000_000} MB. Export the cards without pictures.")
        return upload

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        if self.errors:
            return typed
        field = "file" if typed.get("file") else "text"
        try:
            typed["read"] = read_cards(as_text(typed["file"].read()) if field == "file" else typed.get("text", ""))
        except CardsRefused as refused:
            self.add_error(field, refused.message)
        return typed

    def read(self) -> Read:
        return self.cleaned_data["read"]  # type: ignore[no-any-return]


class WriteCardsForm(TradeForm):
    """`cards`: all that were read, carried through the page; `take`: the numbers of those that are wanted."""

    cards = forms.CharField(widget=forms.HiddenInput(attrs={"id": False}), error_messages={"required": NO_CARDS})
    take = forms.TypedMultipleChoiceField(label="Cards", coerce=int, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.read: list[Card] = []
        field: Any = self.fields["take"]
        field.choices = [(number, str(number)) for number in range(MOST_CARDS)]

    def clean_cards(self) -> str:
        text: str = self.cleaned_data["cards"]
        try:
            kept = json.loads(text)
            self.read = [card_from_json(one) for one in kept[:MOST_CARDS]]
        except (ValueError, TypeError, RecursionError) as fault:
            raise ValidationError(NO_CARDS) from fault
        return text

    def clean(self) -> dict[str, Any]:
        typed: dict[str, Any] = super().clean() or {}
        if self.read and "take" in typed and not self.chosen():
            self.add_error("take", "Choose at least one card, or leave the book as it is.")
        return typed

    def chosen(self) -> list[Card]:
        return [card for number, card in enumerate(self.read) if number in self.cleaned_data.get("take", ())]


def carried(cards: tuple[Card, ...] | list[Card]) -> str:
    return json.dumps([card.as_json() for card in cards], ensure_ascii=False)
