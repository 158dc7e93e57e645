"""After somebody else was faster: what stands now, beside what this person typed."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.forms.boundfield import BoundField


def standing_now(form: forms.Form, values: Mapping[str, Any]) -> list[tuple[str, str]]:
    """(label, what stands now) of the fields that are typed otherwise. `values` are the form's initial values, read anew."""
    return [
        (str(bound.label), _shown(bound, values.get(bound.name)))
        for bound in form.visible_fields()
        if bound.name in values and bound.field.has_changed(values[bound.name], bound.data)
    ]


def _shown(bound: BoundField, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    choices = dict(getattr(bound.field, "choices", ()))
    return str(choices.get(value, bound.field.prepare_value(value)) or "nothing")
