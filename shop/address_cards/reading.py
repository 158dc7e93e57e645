"""What an address card says of a customer. The library that reads vCards is used here only, one card at a time: a card that it
can't read, or that breaks it, is told by its number, and the others come in."""

import logging
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

import vobject

from shop.address_cards.splitting import LONGEST_CARD, card_texts

# It writes every skipped line of every card to the log; the page says what matters.
logging.getLogger("vobject").setLevel(logging.CRITICAL)
_WIDTHS = {"name": 160, "phone": 40, "email": 254, "address": 400}


@dataclass(frozen=True, slots=True)
class Card:
    name: str
    phone: str = ""
    email: str = ""
    address: str = ""

    def as_json(self) -> dict[str, str]:
        return asdict(self)


@dataclass(frozen=True, slots=True)
class BadCard:
    """`number` counts the cards of the file from 1."""

    number: int
    why: str


@dataclass(frozen=True, slots=True)
class Read:
    cards: tuple[Card, ...]
    bad: tuple[BadCard, ...]


def read_cards(text: str) -> Read:
    """Every card of a file. Raises CardsRefused where the file as a whole can't be taken."""
    cards, bad = [], []
    for number, one in enumerate(card_texts(text), 1):
        try:
            cards.append(read_card(one))
        except ValueError as fault:
            bad.append(BadCard(number, str(fault)))
    return Read(tuple(cards), tuple(bad))


def read_card(text: str) -> Card:
    """Raises ValueError with a sentence."""
    if len(text) > LONGEST_CARD:
        raise ValueError("It is too long for an address card.")
    try:
        contents = next(vobject.readComponents(text, allowQP=True, ignoreUnreadable=True)).contents
        found = {"name": _name(contents), "phone": _phone(contents), "email": _email(contents), "address": _address(contents)}
    except Exception as fault:  # whatever the library makes of it, the card can't be read
        raise ValueError("It can't be read: it isn't written as address cards are.") from fault
    found = {name: _clean(value, name)[: _WIDTHS[name]] for name, value in found.items()}
    if len(found["name"]) < 2:
        raise ValueError("It names nobody.")
    return Card(**found)


def card_from_json(kept: Any) -> Card:
    """A card that was carried through a page. Raises ValueError."""
    if not isinstance(kept, dict) or not all(isinstance(kept.get(name), str) for name in _WIDTHS):
        raise ValueError("no card")
    return Card(**{name: _clean(kept[name], name)[:most] for name, most in _WIDTHS.items()})


def _clean(text: str, name: str) -> str:
    lines = ["".join(c for c in line if c.isprintable()).strip() for line in text.replace("\t", " ").splitlines()]
    return ("\n" if name == "address" else " ").join(line for line in lines if line)


def _values(contents: dict[str, list[Any]], name: str) -> list[Any]:
    """The preferred first: PREF=1 of 4.0, TYPE=PREF before. RFC 6350, 5.3: the lower the number, the more preferred."""
    return sorted(contents.get(name, ()), key=_rank)


def _rank(line: Any) -> int:
    pref = next(iter(line.params.get("PREF", ())), "")
    if pref.isdecimal() and len(pref) < 4:
        return int(pref)
    return 1 if "pref" in _types(line) else 101


def _types(line: Any) -> set[str]:
    """2.1 writes types without TYPE=, 4.0 may write several in one quoted text."""
    words: Iterable[str] = [*line.params.get("TYPE", ()), *getattr(line, "singletonparams", ())]
    return {part.strip().lower() for word in words for part in word.split(",")}


def _flat(value: Any) -> str:
    return (
        " ".join(part for part in (_flat(one) for one in value) if part) if isinstance(value, list | tuple) else str(value or "")
    )


def _name(contents: dict[str, list[Any]]) -> str:
    """The name as written out (FN); else its parts, else the business."""
    for line in _values(contents, "fn"):
        if line.value.strip():
            return str(line.value)
    for line in _values(contents, "n"):
        parts = [_flat(getattr(line.value, part)) for part in ("prefix", "given", "additional", "family", "suffix")]
        if text := " ".join(part for part in parts if part.strip()):
            return text
    return next((_flat(line.value) for line in _values(contents, "org") if _flat(line.value).strip()), "")


def _phone(contents: dict[str, list[Any]]) -> str:
    """A mobile before others of the same rank, never a fax. RFC 3966: `tel:+1-418-656-9254;ext=102`."""
    lines = [line for line in _values(contents, "tel") if "fax" not in _types(line)]
    lines.sort(key=lambda line: (_rank(line), "cell" not in _types(line)))
    return next((_number(str(line.value)) for line in lines if _number(str(line.value))), "")


def _number(value: str) -> str:
    number, *more = value.strip().removeprefix("tel:").split(";")
    extension = next((one.partition("=")[2] for one in more if one.lower().startswith("ext=")), "")
    return f"{number} ext. {extension}" if number and extension else number


def _email(contents: dict[str, list[Any]]) -> str:
    return next((text for line in _values(contents, "email") if "@" in (text := str(line.value).strip())), "")


def _address(contents: dict[str, list[Any]]) -> str:
    """As it is written on an envelope, one line a part."""
    for line in _values(contents, "adr"):
        parts = {
            name: _flat(getattr(line.value, name)) for name in ("box", "extended", "street", "city", "region", "code", "country")
        }
        town = " ".join(part for part in (parts["city"], parts["region"], parts["code"]) if part)
        written = "\n".join(
            part for part in (parts["extended"], parts["street"], parts["box"], town, parts["country"]) if part.strip()
        )
        if written.strip():
            return written
    return ""
