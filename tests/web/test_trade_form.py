"""What forms keep, refuse and say."""

import io
import uuid

import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.datastructures import MultiValueDict
from PIL import Image

from shop.acts import Refused
from shop.web.forms import MinutesField, MoneyField, NotationField, PercentField, PhotoField, SeenForm, TradeForm


class PriceForm(TradeForm):
    price = MoneyField(required=False)
    value = NotationField(required=False)


class PhotoForm(TradeForm):
    photos = PhotoField(required=False, most=2)


def sent(**data: str) -> dict[str, str]:
    return {"once": str(uuid.uuid4()), **data}


def picture(name: str = "back.png") -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.new("RGB", (8, 8)).save(file, "PNG")
    return SimpleUploadedFile(name, file.getvalue())


def with_photos(*files: SimpleUploadedFile) -> PhotoForm:
    return PhotoForm(sent(), MultiValueDict({"photos": list(files)}))


def test_the_token_stays_while_a_form_is_refused() -> None:
    data = sent(price="twelve")
    form = PriceForm(data, currency="GBP")
    assert not form.is_valid()
    assert data["once"] in str(form["once"])


def test_two_fresh_forms_have_two_tokens() -> None:
    assert str(PriceForm(currency="GBP")["once"]) != str(PriceForm(currency="GBP")["once"])


@pytest.mark.parametrize("token", ["", "seventeen"])
def test_a_form_without_a_readable_token_is_refused_and_given_one(token: str) -> None:
    form = PriceForm({"once": token, "price": "1"}, currency="GBP")
    assert form.errors == {"once": ["This form was incomplete when it arrived. Check it and send it again."]}
    shown = str(form["once"]).split('value="')[1].split('"')[0]
    assert uuid.UUID(shown)


def test_money_cleans_to_minor_units_of_its_currency() -> None:
    assert PriceForm(sent(price="12,50"), currency="EUR").is_valid()
    for currency, minor in (("EUR", 1250), ("KWD", 12_500)):
        form = PriceForm(sent(price="12.50"), currency=currency)
        assert form.is_valid()
        assert form.cleaned_data["price"] == minor


def test_money_left_empty_is_none() -> None:
    form = PriceForm(sent(), currency="GBP")
    assert form.is_valid()
    assert form.cleaned_data["price"] is None


@pytest.mark.parametrize("typed", ["twelve", "12,3,4", "1e9", "-3"])
def test_refused_money_keeps_what_was_typed(typed: str) -> None:
    form = PriceForm(sent(price=typed), currency="GBP")
    assert not form.is_valid()
    assert f'value="{typed}"' in str(form["price"])
    assert 'aria-describedby="id_price_error"' in str(form["price"])


def test_money_shows_an_initial_sum_as_it_would_be_typed() -> None:
    form = PriceForm(initial={"price": 1250}, currency="GBP")
    assert 'value="12.50"' in str(form["price"])
    assert not PriceForm(sent(price="12.50"), initial={"price": 1250}, currency="GBP").fields["price"].has_changed(1250, "12.50")


@pytest.mark.django_db
def test_the_currency_is_the_shop_s_unless_given() -> None:
    price = PriceForm().fields["price"]
    assert isinstance(price, MoneyField)
    assert price.currency == "GBP"


def test_a_refusal_stands_at_its_field_or_above_the_form() -> None:
    form = PriceForm(sent(price="1"), currency="GBP")
    assert form.is_valid()
    assert form.status == 200
    form.take_refusal(Refused("Too dear.", field="price"))
    form.take_refusal(Refused("The set was handed over.", field="no_such_field"))
    assert form.errors == {"price": ["Too dear."], "__all__": ["The set was handed over."]}
    assert form.status == 422


def test_seeing_a_newer_version_keeps_what_is_typed() -> None:
    class EditForm(SeenForm):
        note = forms.CharField()

    form = EditForm(sent(seen="3", note="hum at 100 Hz"))
    form.see(4)
    assert 'value="4"' in str(form["seen"])
    assert "hum at 100 Hz" in str(form["note"])


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [("45", 45), ("45 min", 45), ("1:30", 90), ("1 h 30", 90), ("1h30m", 90), ("1.5 h", 90), ("1,5h", 90), ("2 hours", 120)],
)
def test_working_time_is_read_as_people_type_it(typed: str, minutes: int) -> None:
    assert MinutesField().clean(typed) == minutes


@pytest.mark.parametrize("typed", ["1.5", "1:75", "soon", "-5", "0", "99999", "1:30:20"])
def test_other_times_are_refused(typed: str) -> None:
    with pytest.raises(ValidationError):
        MinutesField().clean(typed)


@pytest.mark.parametrize(("typed", "bp"), [("20", 2000), ("17.5 %", 1750), ("0,25", 25), ("0", 0)])
def test_a_percentage_cleans_to_basis_points(typed: str, bp: int) -> None:
    assert PercentField().clean(typed) == bp


@pytest.mark.parametrize("typed", ["101", "-1", "1.234", "NaN", "Infinity", "1e400", "half"])
def test_other_percentages_are_refused(typed: str) -> None:
    with pytest.raises(ValidationError):
        PercentField().clean(typed)


def test_several_pictures_are_taken_and_stand_at_their_beginning() -> None:
    form = with_photos(picture(), picture("front.png"))
    assert form.is_valid()
    assert [(photo.name, photo.tell()) for photo in form.cleaned_data["photos"]] == [("back.png", 0), ("front.png", 0)]


def test_what_is_no_picture_is_named() -> None:
    form = with_photos(picture(), SimpleUploadedFile("bill.pdf", b"%PDF-1.7"))
    assert form.errors == {"photos": ["“bill.pdf” is no picture we can read. JPEG, PNG and WebP are taken."]}
    assert form.lost_files


def test_a_cut_off_picture_is_refused() -> None:
    whole = picture().read()
    assert not with_photos(SimpleUploadedFile("cut.png", whole[:40])).is_valid()


def test_a_picture_too_large_is_refused(settings) -> None:
    settings.PHOTO_MAX_BYTES = 50
    assert "is larger than" in str(with_photos(picture()).errors)


def test_too_many_pictures_are_refused() -> None:
    assert with_photos(picture(), picture(), picture()).errors == {"photos": ["Choose up to 2 photos at a time."]}
