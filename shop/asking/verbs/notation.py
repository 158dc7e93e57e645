"""Questions about what is written on parts and sheets: notation, colours, preferred values."""

from typing import Any

from inventory.components.colours.reading import read_colours
from inventory.components.notation import NotationError, read_notation
from inventory.components.preferred import nearest, series_names
from inventory.components.specs import KINDS, Spec
from shop.asking.fields import Question
from shop.asking.refusals import Refusal
from shop.asking.verb import Verb

MOST_COLOURS = 12
SCHEMES = ("iec60062", "body_end_dot", "mica_3_dot", "mica_6_dot")


def number(value: Any) -> float | None:
    return None if value is None else float(value)


def as_result(spec: Spec) -> dict[str, Any]:
    """A value with its ratings, in SI base units."""
    band = spec.tolerance_percent
    said: dict[str, Any] = {
        "kind": spec.kind,
        "value": float(spec.value),
        "unit": spec.unit,
        "tolerance_percent": None if band is None else [float(band[0]), float(band[1])],
        "volts": number(spec.volts),
        "watts": number(spec.watts),
        "safety_class": spec.safety_class,
    }
    if spec.sections:
        said["sections"] = [float(one) for one in spec.sections]
    return said


def ambiguous(error: Any) -> Refusal:
    """A refusal with every reading as a full result, each with why it may be meant."""
    return Refusal(error.code, error.message, [{**as_result(one.spec), "why": one.why} for one in error.readings])


def kind_of(question: Question) -> str | None:
    return question.choice("kind", KINDS) if question.raw("kind") is not None else None


def _read_notation(question: Question) -> dict[str, Any]:
    text, kind = question.text("text", "0.05 MFD 600 V", longest=100_000), kind_of(question)
    try:
        return as_result(read_notation(text, kind))
    except NotationError as error:
        raise ambiguous(error) from error


def _read_colours(question: Question) -> dict[str, Any]:
    scheme = question.text("scheme", "iec60062")
    colours = question.texts("colours", '["yellow", "violet", "orange", "gold"]', MOST_COLOURS)
    try:
        return as_result(read_colours(scheme, colours))
    except ValueError as error:
        if getattr(error, "readings", ()):
            raise ambiguous(error) from error
        raise


def _preferred(question: Question) -> dict[str, Any]:
    series = question.choice("series", series_names())
    found = nearest(series, question.number("value", "4700"))
    return {
        "below": float(found.below),
        "nearest": float(found.nearest),
        "above": float(found.above),
        "deviation_percent": round(float(found.deviation_percent), 6),
    }


VERBS = (
    Verb(
        "read_notation",
        f"text; optional kind ({', '.join(KINDS)})",
        "kind, value (SI base unit), unit, tolerance_percent [low, high] or null, volts, watts, safety_class; sections of a can",
        {"text": "0.05 MFD 600 V"},
        _read_notation,
    ),
    Verb(
        "read_colours",
        f"scheme ({', '.join(SCHEMES)}), colours in the order they are read, null or none for one that is missing",
        "the same as read_notation",
        {"scheme": "iec60062", "colours": ["yellow", "violet", "orange", "gold"]},
        _read_colours,
    ),
    Verb(
        "preferred",
        f"series ({', '.join(series_names())}), value",
        "below, nearest (by ratio), above, deviation_percent of the nearest",
        {"series": "E12", "value": 5000},
        _preferred,
    ),
)
