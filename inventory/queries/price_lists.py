"""What a supplier's new list would do to the offers there are, and the lists taken in so far.

A list is held against what is known by a short digest of each offer, so that a hundred thousand of them take little memory.
"""

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field
from hashlib import blake2b
from itertools import islice
from pathlib import Path
from typing import Any

from django.db.models import QuerySet

from inventory.models import Offer, PriceList, Supplier
from inventory.price_lists.layout import Layout, Line
from inventory.price_lists.reading import rejected_lines, taken_lines

ADDED, CHANGED, SAME, WITHDRAWN = "added", "changed", "same", "withdrawn"
MOST_EXAMPLES = 8
# Any digest differs from it: an offer that was withdrawn is changed by standing in a list again.
GONE = b""
Known = dict[str, bytes]
_LINE = ("code", "text", "breaks", "pack_size", "least_count", "lead_days")


def digest_of(text: str, breaks: str, pack: object, least: object, lead: object, currency: str) -> bytes:
    return blake2b(f"{text}\x1f{breaks}\x1f{pack}\x1f{least}\x1f{lead}\x1f{currency}".encode(), digest_size=12).digest()


def known_offers(supplier: Supplier) -> Known:
    """Every order code of a supplier with the digest of its offer, GONE for those not offered now."""
    rows = Offer.objects.filter(supplier=supplier).order_by().values_list(*_LINE, "currency", "is_offered")
    return {
        code: digest_of(text, json.dumps(breaks), pack, least, "" if lead is None else lead, currency) if offered else GONE
        for code, text, breaks, pack, least, lead, currency, offered in rows.iterator(chunk_size=5_000)
    }


def differences(lines: Iterable[Line], known: Known, currency: str) -> Iterator[tuple[str, Line]]:
    """Each line with ADDED, CHANGED or SAME. What was met is taken out of `known`: what stays is in no line."""
    for line in lines:
        before = known.pop(line.code, None)
        if before is None:
            yield ADDED, line
        else:
            now = digest_of(line.text, line.breaks, line.pack_size, line.least_count, line.lead_days, currency)
            yield (SAME if before == now else CHANGED), line


def missing(known: Known, rejects: Path) -> list[str]:
    """Codes of offers that a whole list doesn't hold. One that stands in a rejected line is there, only unreadable: it stays."""
    for one in rejected_lines(rejects):
        known.pop(one.code, None)
    return sorted(code for code, digest in known.items() if digest != GONE)


@dataclass(frozen=True, slots=True)
class Example:
    """An offer that a list would add, change or withdraw; `before` and `after` in thousandths, None where there is no such price.

    `what` names what else changes.
    """

    code: str
    text: str
    before: int | None = None
    after: int | None = None
    what: str = ""


@dataclass(frozen=True, slots=True)
class Effect:
    """What taking a list in would do, counted, with the first few of each."""

    added: int = 0
    changed: int = 0
    same: int = 0
    withdrawn: int = 0
    rejected: int = 0
    examples: dict[str, list[Example]] = field(default_factory=dict)

    @property
    def taken(self) -> int:
        return self.added + self.changed + self.same

    @property
    def does_nothing(self) -> bool:
        return not (self.added or self.changed or self.withdrawn)

    @property
    def takes_most_away(self) -> bool:
        """More than half of what is offered now would go: perhaps it isn't the whole list."""
        return self.withdrawn > self.changed + self.same

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> "Effect":
        shown = {name: [Example(**one) for one in found] for name, found in kept["examples"].items()}
        return cls(**{**kept, "examples": shown})


def effect_of(supplier: Supplier, layout: Layout, lines: Path, rejects: Path, rejected: int) -> Effect:
    """Changes nothing."""
    known, counts = known_offers(supplier), {ADDED: 0, CHANGED: 0, SAME: 0}
    first: dict[str, list[Line]] = {ADDED: [], CHANGED: []}
    for how, line in differences(taken_lines(lines), known, layout.currency):
        counts[how] += 1
        if how != SAME and len(first[how]) < MOST_EXAMPLES:
            first[how].append(line)
    gone = missing(known, rejects) if layout.is_whole else []
    examples = {
        ADDED: [Example(line.code, line.text, None, int(line.unit_milli)) for line in first[ADDED]],
        CHANGED: _changed(supplier, first[CHANGED]),
        WITHDRAWN: _withdrawn(supplier, gone[:MOST_EXAMPLES]),
    }
    return Effect(**counts, withdrawn=len(gone), rejected=rejected, examples=examples)


def _named(supplier: Supplier, codes: Iterable[str]) -> "QuerySet[Offer]":
    return Offer.objects.filter(supplier=supplier, code__in=list(codes)).order_by("code")


def _changed(supplier: Supplier, lines: list[Line]) -> list[Example]:
    before = {offer.code: offer for offer in _named(supplier, (line.code for line in lines))}
    return [_change(before[line.code], line) for line in lines if line.code in before]


def _change(offer: Offer, line: Line) -> Example:
    pairs = (
        ("offered again", offer.is_offered, True),
        ("description", offer.text, line.text),
        ("prices by count", json.dumps(offer.breaks[1:]), json.dumps(json.loads(line.breaks)[1:])),
        ("pack", offer.pack_size, int(line.pack_size)),
        ("fewest that are sold", offer.least_count, int(line.least_count)),
        ("days until it comes", offer.lead_days, None if line.lead_days == "" else int(line.lead_days)),
    )
    what = ", ".join(name for name, old, new in pairs if old != new)
    return Example(line.code, line.text, offer.unit_milli, int(line.unit_milli), what)


def _withdrawn(supplier: Supplier, codes: list[str]) -> list[Example]:
    return [Example(offer.code, offer.text, offer.unit_milli, None) for offer in _named(supplier, codes)]


def lists_of(supplier: Supplier) -> "QuerySet[PriceList]":
    return PriceList.objects.filter(supplier=supplier).select_related("person")


def first_rejects(rejects: Path, most: int) -> list[list[Any]]:
    """Number and reason of the first rejected lines, with their codes, as a list of the past keeps them."""
    return [[one.number, one.reason, one.code] for one in islice(rejected_lines(rejects), most)]
