"""Which of our cards a supplier's description may mean. Two queries for a whole page of offers; a person decides."""

from collections.abc import Iterable, Sequence
from functools import reduce
from operator import or_

from django.db.models import Q, Value
from django.db.models.functions import Replace, Upper

from inventory.models import Kind, Offer, Part
from inventory.price_lists.descriptions import Said, read_description

MOST = 3
HAIR = 1e-6
_TYPED = (Kind.VALVE, Kind.TRANSISTOR, Kind.LAMP)


def suggest_parts(offers: Iterable[Offer]) -> dict[int, list[Part]]:
    """By the key of each offer without a card up to MOST cards it may mean, the most alike first; none for those unlike any."""
    said = {offer.pk: read_description(offer.text) for offer in offers if offer.part_id is None and offer.text}
    valued, typed = _by_value(said.values()), _by_type(said.values())
    found = {pk: _alike(one, valued if one.spec is not None else typed) for pk, one in said.items()}
    return {pk: parts for pk, parts in found.items() if parts}


def _by_value(said: Iterable[Said]) -> list[Part]:
    wanted = {(one.spec.kind, float(one.spec.value)) for one in said if one.spec is not None}
    if not wanted:
        return []
    ranges: list[Q] = [Q(kind=kind, value_si__range=(value * (1 - HAIR), value * (1 + HAIR))) for kind, value in sorted(wanted)]
    return list(Part.objects.filter(reduce(or_, ranges), in_use=True).order_by("pk"))


def _by_type(said: Iterable[Said]) -> list[Part]:
    words = sorted({word for one in said for word in one.types})
    if not words:
        return []
    plain = Upper("marking")
    for sign in ("-", " ", ".", "/"):
        plain = Replace(plain, Value(sign), Value(""))  # type: ignore[assignment]
    return list(Part.objects.annotate(plain=plain).filter(kind__in=_TYPED, in_use=True, plain__in=words).order_by("pk"))


def _alike(one: Said, parts: Sequence[Part]) -> list[Part]:
    scored = [(score, part) for part in parts if (score := _score(one, part)) is not None]
    return [part for _, part in sorted(scored, key=lambda pair: -pair[0])[:MOST]]


def _score(one: Said, part: Part) -> int | None:
    """How many ratings agree; None where the value or any rating that both state differs."""
    spec = one.spec
    if spec is None:
        return 1 if part.plain in one.types else None  # type: ignore[attr-defined]
    if part.kind != spec.kind or part.value_si is None or abs(part.value_si / float(spec.value) - 1) > HAIR:
        return None
    percent = spec.tolerance_percent
    pairs = [
        (None if spec.volts is None else float(spec.volts), part.volts),
        (None if spec.watts is None else float(spec.watts), part.watts),
        (None if percent is None else float(percent[1]), part.tolerance_high),
        (one.made_of or None, part.technology or None),
        (spec.safety_class, part.safety_class or None),
    ]
    if any(said is not None and ours is not None and said != ours for said, ours in pairs):
        return None
    return sum(said is not None and said == ours for said, ours in pairs)
