"""Which tables belong to the shop and are taken along, and why others are not. Every model is in exactly one place."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.db import models

OWN_APPS = ("shop", "inventory", "jobs", "billing")

# Tables of the shop's own apps that stay behind.
LEFT_OUT: dict[str, str] = {
    "shop.longwork": "work in the background and its results are kept for days only, and can be asked for again",
    "shop.signedin": "whoever is signed in signs in again",
    "shop.tally": "what was counted of the house for a page is counted again",
    "shop.tallyleaf": "what was counted of the house for a page is counted again",
    "shop.staff_groups": "a member of staff has a role; groups are not used",
    "shop.staff_user_permissions": "a member of staff has a role; single permissions are not used",
}

# Tables of the libraries that the program is built on.
OF_LIBRARIES: dict[str, str] = {
    "sessions": "whoever is signed in signs in again",
    "axes": "counts of wrong passwords start anew; what they led to is among the events of access",
    "auth": "groups and permissions are not used",
    "contenttypes": "made by the program itself",
}


def is_taken(model: type[models.Model]) -> bool:
    meta = model._meta
    return meta.app_label in OWN_APPS and meta.managed and not meta.proxy and meta.label_lower not in LEFT_OUT


def taken(apps: Any) -> list[type[models.Model]]:
    """The models that an archive holds, those referred to before those that refer: of the program, or of an older state of it."""
    found = [model for app in OWN_APPS for model in _models_of(apps, app) if is_taken(model)]
    return list(_in_order(sorted(found, key=lambda model: model._meta.label_lower)))


def _models_of(apps: Any, app: str) -> Iterable[type[models.Model]]:
    models_of: Iterable[type[models.Model]] = apps.get_app_config(app).get_models(include_auto_created=True)
    return models_of


def referred(model: type[models.Model]) -> set[str]:
    """Labels of other models that rows of this one refer to."""
    found = {one.related_model._meta.label_lower for one in model._meta.concrete_fields if one.is_relation}  # type: ignore[union-attr]
    return found - {model._meta.label_lower}


def _in_order(left: list[type[models.Model]]) -> Iterator[type[models.Model]]:
    """Always the same order. Where models refer to each other in a ring, the first by name goes first."""
    labels = {model._meta.label_lower for model in left}
    while left:
        free = [model for model in left if not referred(model) & labels]
        one = (free or left)[0]
        yield one
        left.remove(one)
        labels.remove(one._meta.label_lower)
