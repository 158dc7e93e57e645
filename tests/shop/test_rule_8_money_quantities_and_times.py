"""Rule 8: money is `Decimal` with a currency; electrical quantities have units (pint) at every boundary; times are aware."""

import ast
from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, cast

import pint
import pytest
from django.apps import apps
from django.conf import settings
from django.db import models
from django.utils import timezone
from moneyed import Money

from billing.papers import invoice_paper
from inventory.components.notation import read_notation
from inventory.components.quantities import UnknownUnit, as_quantity, convert
from inventory.models import Part
from jobs.models import LogEntry, Stage
from jobs.queries.papers_out import estimate_paper, summary_paper
from shop.letterhead_of import letterhead
from shop.money import as_minor, as_money, read_amount
from tests.builders import a_job, a_measurement, a_part

ROOT = Path(__file__).resolve().parents[2]
OURS = ("shop", "inventory", "jobs", "billing")
MONEY_CODE = (
    "shop/money.py",
    "shop/totals.py",
    "inventory/pricing.py",
    "billing",
    "jobs/queries/exposure.py",
    "jobs/services/labour.py",
)


ELECTRICAL = {
    *("value_si", "volts", "watts", "tolerance_low", "tolerance_high"),
    *("farads", "rated_volts", "series_ohms", "leak_amps"),
    *("volts_rms", "frequency_hz", "source_ohms", "choke_h", "choke_ohms", "load_amps"),
}


def _models() -> Iterator[type[models.Model]]:
    for app in OURS:
        yield from apps.get_app_config(app).get_models()


def _fields() -> Iterator[tuple[str, "models.Field[Any, Any]"]]:
    for model in _models():
        for field in model._meta.get_fields():
            if isinstance(field, models.Field):
                yield f"{model.__name__}.{field.name}", field


def test_every_sum_is_kept_as_a_whole_number_of_minor_units() -> None:
    """SQLite keeps a decimal column as a float: 10,000 times 0.1 came to 1000.00000000016 there."""
    kept = [(name, field) for name, field in _fields() if name.endswith(("_minor", "_milli", "_bp"))]
    assert len(kept) > 30
    assert not [name for name, field in kept if not isinstance(field, models.IntegerField)]
    assert not [name for name, field in _fields() if isinstance(field, models.DecimalField)]


def test_only_electrical_figures_are_floats() -> None:
    floats = {name for name, field in _fields() if isinstance(field, models.FloatField)}
    assert {name.split(".")[1] for name in floats} <= ELECTRICAL


def _sources() -> Iterator[Path]:
    for place in MONEY_CODE:
        path = ROOT / place
        yield from path.rglob("*.py") if path.is_dir() else [path]


def _floats_in(tree: ast.AST) -> Iterator[int]:
    for node in ast.walk(tree):
        is_number = isinstance(node, ast.Constant) and isinstance(node.value, float)
        is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float"
        if is_number or is_call:
            yield node.lineno  # type: ignore[attr-defined]


def test_code_that_reckons_with_money_holds_no_float() -> None:
    drawn = ("documents", "migrations")
    places = [path for path in _sources() if not set(drawn) & set(path.parts)]
    assert len(places) > 8
    found = [f"{path.relative_to(ROOT)}:{line}" for path in places for line in _floats_in(ast.parse(path.read_text("utf-8")))]
    assert not found


def test_money_is_a_decimal_with_its_currency_and_currencies_never_mix() -> None:
    price = as_money(1999, "GBP")
    assert isinstance(price.amount, Decimal)
    assert (price.amount, price.currency.code) == (Decimal("19.99"), "GBP")
    with pytest.raises(TypeError):
        price + as_money(1999, "USD")


# Minor units by ISO 4217, amendment list of the maintenance agency (from memory): JPY 0, GBP 2, KWD 3 decimals.
@pytest.mark.parametrize(("currency", "text", "minor"), [("JPY", "1250", 1250), ("GBP", "12.50", 1250), ("KWD", "1.250", 1250)])
def test_what_is_typed_comes_back_exactly(currency: str, text: str, minor: int) -> None:
    assert read_amount(text, currency) == minor
    assert as_minor(as_money(minor, currency)) == minor
    assert as_money(minor, currency) == Money(text, currency)


def _moneys(thing: Any) -> Iterator[Money]:
    if isinstance(thing, Money):
        yield thing
    elif isinstance(thing, tuple):
        for one in thing:
            yield from _moneys(one)
    elif hasattr(thing, "__dataclass_fields__"):
        for name in thing.__dataclass_fields__:
            yield from _moneys(getattr(thing, name))


def _floats(thing: Any) -> Iterator[float]:
    if isinstance(thing, float):
        yield thing
    elif isinstance(thing, tuple):
        for one in thing:
            yield from _floats(one)
    elif hasattr(thing, "__dataclass_fields__"):
        for name in thing.__dataclass_fields__:
            yield from _floats(getattr(thing, name))


@pytest.mark.django_db
def test_every_sum_on_a_paper_is_money_in_the_shops_currency() -> None:
    job, head = a_job(Stage.HANDED_OVER), letterhead()
    papers = (
        estimate_paper(job.estimates.get(), head),
        invoice_paper(job.invoices.get(), head),
        summary_paper(job, head, written_on=timezone.localdate()),
    )
    for paper in papers:
        sums = list(_moneys(paper))
        assert len(sums) >= 2
        assert {money.currency.code for money in sums} == {"GBP"}
        assert not list(_floats(paper))


# The reference for units is pint's own table of SI prefixes and units.
@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("4.7K", "resistance", "4.7 kiloohm"),
        ("2M2", "resistance", "2.2 megaohm"),
        (".01 MFD", "capacitance", "0.01 microfarad"),
        ("250 MMF", "capacitance", "250 picofarad"),
        ("10 H", "inductance", "10 henry"),
        ("455 KC", "frequency", "455 kilohertz"),
    ],
)
def test_a_quantity_crosses_the_boundary_with_its_unit(text: str, kind: str, said: str) -> None:
    units: pint.UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
    ours, reference = as_quantity(read_notation(text, kind)), cast(Any, units.Quantity(said))
    assert str(ours.units) == str(reference.to_base_units().to(str(ours.units)).units)
    assert ours.magnitude == reference.to(str(ours.units)).magnitude


def test_quantities_of_two_kinds_are_never_added_and_unknown_units_never_read() -> None:
    with pytest.raises(pint.DimensionalityError):
        as_quantity(read_notation("0.1 µF", "capacitance")) + as_quantity(read_notation("470K", "resistance"))
    assert convert(Decimal("0.047"), "microfarad", "picofarad") == 47000
    with pytest.raises(UnknownUnit):
        convert(Decimal(1), "k", "ohm")


@pytest.mark.django_db
def test_what_is_kept_for_searching_is_the_value_in_its_si_base_unit() -> None:
    part = a_part("0.047 µF 630 V")
    reading = a_measurement(a_job(Stage.REPAIRING), "R1", "260K")
    assert Part.objects.get(pk=part.pk).value_si == pytest.approx(4.7e-8, rel=1e-12)
    assert LogEntry.objects.get(pk=reading.pk).value_si == 260_000


def test_a_time_is_a_datetime_named_at_and_a_day_a_date_named_on() -> None:
    """`DateTimeField` is a kind of `DateField`, so the type itself is compared. What the framework's accounts bring is theirs."""
    given = {"Staff.last_login", "Staff.date_joined"}
    times = {name for name, field in _fields() if type(field) is models.DateTimeField} - given
    days = {name for name, field in _fields() if type(field) is models.DateField}
    assert all(name.endswith((".at", "_at")) for name in times), times
    assert all(name.endswith((".on", "_on")) for name in days), days


@pytest.mark.django_db
@pytest.mark.filterwarnings("error:.*received a naive datetime.*:RuntimeWarning")
def test_every_time_that_a_whole_job_leaves_behind_is_aware() -> None:
    assert settings.USE_TZ
    a_job(Stage.HANDED_OVER)
    seen = 0
    for model in _models():
        names = [field.name for field in model._meta.fields if isinstance(field, models.DateTimeField)]
        for row in model._default_manager.values_list(*names) if names else ():
            moments = [moment for moment in row if moment is not None]
            assert all(isinstance(moment, datetime) and timezone.is_aware(moment) for moment in moments), model
            seen += len(moments)
    assert seen > 30
