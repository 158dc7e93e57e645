"""What an import checker can't see: a foreign key named by a string, and column types that lose money."""

from collections.abc import Iterator

from django.apps import apps
from django.contrib.contenttypes.fields import GenericForeignKey
from django.db import models

LADDER = ("shop", "inventory", "jobs", "billing")


def our_models() -> Iterator[type[models.Model]]:
    for label in LADDER:
        yield from apps.get_app_config(label).get_models()


def test_foreign_keys_point_down_the_ladder() -> None:
    upward = [
        f"{model._meta.label}.{field.name} -> {field.related_model._meta.label}"
        for model in our_models()
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey | models.ManyToManyField) and points_up(model, field.related_model)
    ]
    assert upward == []


def points_up(model: type[models.Model], target: type[models.Model]) -> bool:
    """The framework's own apps lie below all of ours."""
    place = target._meta.app_label
    return place in LADDER and LADDER.index(place) > LADDER.index(model._meta.app_label)


def test_no_column_is_a_decimal_as_sqlite_would_keep_a_float() -> None:
    assert [
        f"{model._meta.label}.{field.name}"
        for model in our_models()
        for field in model._meta.get_fields()
        if isinstance(field, models.DecimalField)
    ] == []


def test_no_key_points_to_anything_at_all() -> None:
    assert [
        f"{model._meta.label}.{field.name}"
        for model in our_models()
        for field in model._meta.private_fields
        if isinstance(field, GenericForeignKey)
    ] == []


def test_money_is_whole_minor_units() -> None:
    wrong = [
        f"{model._meta.label}.{field.name}"
        for model in our_models()
        for field in model._meta.get_fields()
        if field.name.endswith(("_minor", "_milli", "_bp")) and not isinstance(field, models.IntegerField)
    ]
    assert wrong == []
