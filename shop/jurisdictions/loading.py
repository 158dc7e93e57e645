"""Reads and checks the files of `places/`. A file that says too little or an unknown code stops the program at its start."""

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from shop.jurisdictions import codes
from shop.jurisdictions.rules import (
    Cancellation,
    Guarantee,
    Listed,
    Overrun,
    PartsReturn,
    Retention,
    Rules,
    Source,
    Surplus,
    TaxRule,
    Uncollected,
    WayOfSale,
)

FOLDER = Path(__file__).parent / "places"
STRICTEST = "strictest"
SOURCE_KEYS = ("text", "citation", "origin", "read_at")
BLOCKS = (
    "overrun",
    "consent",
    "estimate",
    "invoice",
    "parts_return",
    "retention",
    "uncollected",
    "tax",
    "cancellation",
    "guarantee",
)


class PlaceError(ValueError):
    """A file of rules is wrong; the text names the file, the rule and what is missing."""


def _source(where: str, block: dict[str, Any]) -> Source:
    for key in SOURCE_KEYS[:3]:
        if not str(block.get(key, "")).strip():
            raise PlaceError(f"{where} has no “{key}”.")
    if block["origin"] not in codes.ORIGINS:
        raise PlaceError(f"{where}: origin is “{block['origin']}”, not one of {', '.join(codes.ORIGINS)}.")
    if (block["origin"] == "read") != bool(block.get("read_at")):
        raise PlaceError(f"{where}: what was read says where (“read_at”), what is remembered doesn't.")
    return Source(**{key: block[key] for key in SOURCE_KEYS if key in block})


def _plain(where: str, block: dict[str, Any], *names: str, optional: tuple[str, ...] = ()) -> dict[str, Any]:
    """The block's own values; each of `names` must be there, and nothing that isn't known."""
    own = {key: value for key, value in block.items() if key not in SOURCE_KEYS}
    missing, odd = set(names) - set(own), set(own) - set(names) - set(optional)
    if missing or odd:
        raise PlaceError(f"{where}: missing {sorted(missing)}, unknown {sorted(odd)}.")
    return {key: tuple(value) if isinstance(value, list) else value for key, value in own.items()}


def _known(where: str, given: Iterable[str], known: Iterable[str]) -> None:
    odd = sorted(set(given) - set(known))
    if odd:
        raise PlaceError(f"{where}: unknown {', '.join(odd)}.")


def _count(where: str, *values: int | None) -> None:
    if any(value is not None and (type(value) is not int or value < 0) for value in values):
        raise PlaceError(f"{where}: a figure is no whole number from 0 up.")


def _listed(where: str, block: dict[str, Any], known: dict[str, str]) -> Listed:
    rule = Listed(_source(where, block), **_plain(where, block, "codes", optional=("say", "refuse")))
    _known(where, rule.codes, known)
    _known(where, rule.refuse, rule.codes)
    if rule.refuse and rule.source.origin == "memory":
        raise PlaceError(f"{where}: a rule from memory cautions, it never refuses.")
    return rule


def _overrun(where: str, block: dict[str, Any]) -> Overrun:
    rule = Overrun(_source(where, block), **_plain(where, block, "way", optional=("allowance_bp",)))
    _known(where, [rule.way], codes.OVERRUN_WAYS)
    _count(where, rule.allowance_bp)
    if (rule.way in ("consent", "cap")) != (rule.allowance_bp is not None):
        raise PlaceError(f"{where}: “{rule.way}” and “allowance_bp” don't go together.")
    return rule


UNCOLLECTED_PARTS = ("letter", "unreached", "sale", "surplus")


def _uncollected(where: str, block: dict[str, Any]) -> Uncollected:
    names = ("wait_days", "notice_days", "kinds", "sent_by", "disputed_stops")
    missing = [part for part in UNCOLLECTED_PARTS if part not in block]
    if missing:
        raise PlaceError(f"{where} has no {', '.join(missing)}.")
    own = {key: value for key, value in block.items() if key not in UNCOLLECTED_PARTS}

    def at(part: str) -> tuple[str, dict[str, Any]]:
        return f"{where}, {part}", block[part]

    rule = Uncollected(
        _source(where, own),
        **_plain(where, own, *names),
        letter=_listed(*at("letter"), codes.LETTER),
        unreached=_listed(*at("unreached"), codes.UNREACHED),
        sale=_sale(*at("sale")),
        surplus=_surplus(*at("surplus")),
    )
    _known(where, rule.kinds, codes.NOTICE_KINDS)
    _known(where, rule.sent_by, codes.SENT_BY)
    _count(where, rule.wait_days, rule.notice_days)
    return rule


def _sale(where: str, block: dict[str, Any]) -> WayOfSale:
    rule = WayOfSale(_source(where, block), **_plain(where, block, "way", optional=("published_days",)))
    _known(where, [rule.way], codes.SALE_WAYS)
    _count(where, rule.published_days)
    return rule


def _surplus(where: str, block: dict[str, Any]) -> Surplus:
    rule = Surplus(_source(where, block), **_plain(where, block, optional=("days", "to")))
    _count(where, rule.days)
    if (rule.days is None) == bool(rule.to):
        raise PlaceError(f"{where}: “days” and “to” go together.")
    return rule


def _tax(where: str, block: dict[str, Any]) -> TaxRule:
    rule = TaxRule(_source(where, block), **_plain(where, block, "scheme", "parts", "labour", "separate"))
    _known(where, [rule.scheme], codes.TAX_SCHEMES)
    _known(where, [rule.parts, rule.labour], codes.TAX_CATEGORIES)
    return rule


def _guarantee(where: str, block: dict[str, Any]) -> Guarantee:
    rule = Guarantee(_source(where, block), **_plain(where, block, optional=("days", "part_days", "burden_days")))
    _count(where, rule.days, rule.part_days, rule.burden_days)
    if rule.days is None and rule.part_days is not None:
        raise PlaceError(f"{where}: “part_days” stands beside “days”, never alone.")
    return rule


def read_place(code: str, text: str) -> Rules:
    """The rules in a file's text; PlaceError where one is missing or wrong."""
    held = tomllib.loads(text)
    missing = [block for block in ("name", *BLOCKS) if block not in held]
    if missing:
        raise PlaceError(f"{code} has no {', '.join(missing)}.")
    _known(code, held, ("name", *BLOCKS))

    def at(block: str) -> tuple[str, dict[str, Any]]:
        return f"{code}, {block}", held[block]

    parts = PartsReturn(_source(*at("parts_return")), **_plain(*at("parts_return"), "way"))
    _known(f"{code}, parts_return", [parts.way], codes.PARTS_RETURN_WAYS)
    retention = Retention(_source(*at("retention")), **_plain(*at("retention"), "years"))
    cancellation = Cancellation(_source(*at("cancellation")), **_plain(*at("cancellation"), "days"))
    _count(code, retention.years, cancellation.days)
    return Rules(
        code=code,
        name=held["name"],
        overrun=_overrun(*at("overrun")),
        consent=_listed(*at("consent"), codes.CONSENT),
        estimate=_listed(*at("estimate"), codes.ESTIMATE),
        invoice=tuple(_listed(f"{code}, invoice {n}", block, codes.INVOICE) for n, block in enumerate(held["invoice"], 1)),
        parts_return=parts,
        retention=retention,
        uncollected=_uncollected(*at("uncollected")),
        tax=_tax(*at("tax")),
        cancellation=cancellation,
        guarantee=_guarantee(*at("guarantee")),
    )


def _all() -> dict[str, Rules]:
    files = {path.stem: path for path in FOLDER.glob("*.toml")}
    order = [STRICTEST, *sorted(set(files) - {STRICTEST})]
    return {code: read_place(code, files[code].read_text(encoding="utf-8")) for code in order}


PLACES: dict[str, Rules] = _all()


def place(code: str) -> Rules:
    """The rules of a place; of the strictest where nobody knows the code (a file that is gone must not loosen anything)."""
    return PLACES.get(code, PLACES[STRICTEST])
