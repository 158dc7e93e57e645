"""A value that can be read in more than one way: the button that was pressed sends the form again with one reading."""

from typing import Any

from django.http import QueryDict

READING = "reading-"


def with_chosen_reading(data: Any) -> Any:
    """What was sent, with the field of a pressed button `reading-<field>` replaced by that reading written out in full."""
    if not isinstance(data, QueryDict):
        return data
    chosen = [name for name in data if name.startswith(READING)]
    if not chosen:
        return data
    copied = data.copy()
    for name in chosen:
        copied[name.removeprefix(READING)] = data.get(name, "")
    return copied
