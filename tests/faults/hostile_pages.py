"""Every page, calendar, address card and XML of a shop whose every word is made to hurt: nothing of a text may become markup.

    .venv/bin/python -m tests.faults.hostile_pages [--database postgresql]

Each address is asked once, by whoever may see all; pages are read back by Python's HTML parser, the rest by general-purpose
libraries (icalendar, vobject, xml.etree). An element, an attribute or an active link born of a text, a template that was run, a
file that can't be read, an answer of 500: each is a fault; so is a link to an e-mail that names more than the address (`?bcc=`).
Address cards made of the same texts are sent in first, and looked at as they are shown before they are written down.
(CWE-79 cross-site scripting, CWE-93 CRLF injection; RFC 5545, 6068, 6350.)
"""

import json
import re
import sys
import uuid
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from tests.faults.spoilt_shop import main_of

if TYPE_CHECKING:
    from django.test import Client

MARK = "zzq"
TEXTS = (
    "<zzq>", '"><zzq>', "'><zzq>", '" onzzq="1', "' onzzq='1", "</textarea><zzq>", "</title><zzq>", "</script><zzq>",
    "--><zzq>", "&lt;zzq&gt;<zzq/>", "]]><zzq/>", "javascript:zzq()",
    "data:text/html,zzq", "{{ 77|add:700 }}zzq", "{% zzq %}", "a\r\nX-ZZQ: 1",
    "a\nBEGIN:ZZQ\nEND:ZZQ", "a;b,c\\n\\\\zzq", "\u202ezzq", "\x0bzzq", "zzq\u2028b\u0085c", "`zzq`=1",
    "<zzq\nonzzq=1>", "&#60;zzq>", "zzq@example.org?bcc=zzq@example.net", "zzq%0Abcc:zzq@example.net",
)  # fmt: skip
# RFC 6068, 2: behind a question mark come the lines of the letter; a line's end begins another one.
MORE_THAN_AN_ADDRESS = re.compile(r"mailto:.*?([?&\s]|%0[AaDd])", re.DOTALL)
LINKS = ("href", "src", "action", "formaction", "hx-get", "hx-post", "data-src")


@dataclass
class Told:
    words: int = 0
    answers: Counter[str] = field(default_factory=Counter)
    holding: int = 0
    faults: list[str] = field(default_factory=list)


def maker(_column: str, number: int) -> str:
    """Narrow columns keep the start, where the sting is."""
    return TEXTS[number % len(TEXTS)]


class Reader(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if MARK in tag:
            self.faults.append(f"element {tag}")
        for name, value in attrs:
            if MARK in name:
                self.faults.append(f"attribute {name} of {tag}")
            if name in LINKS and (value or "").strip().lower().startswith(("javascript:", "data:text")):
                self.faults.append(f"{name} of {tag} is {value!r:.60}")
            if name == "href" and MORE_THAN_AN_ADDRESS.match(value or ""):
                self.faults.append(f"a link to an e-mail says more than to whom: {value!r:.60}")

    def handle_data(self, data: str) -> None:
        if f"777{MARK}" in data:
            self.faults.append("a template in a text was run")


def of_page(content: bytes) -> list[str]:
    return Reader(content.decode()).faults


def of_calendar(content: bytes) -> list[str]:
    from icalendar import Calendar

    names = {part.name for part in Calendar.from_ical(content.decode()).walk()}
    return [f"part {name}" for name in names if MARK in name.lower()] + _lines(content)


def of_card(content: bytes) -> list[str]:
    import vobject

    cards = list(vobject.readComponents(content.decode()))
    return [f"line {line.name}" for card in cards for line in card.getChildren() if MARK in line.name.lower()] + _lines(content)


def _lines(content: bytes) -> list[str]:
    """A line that a text began by itself; a folded one begins with a space (RFC 5545, 3.1)."""
    begun = [line for line in content.decode().split("\r\n") if line.upper().startswith(("X-ZZQ", "BEGIN:ZZQ"))]
    return [f"line {line!r:.60}" for line in begun] + (["a bare line feed"] if b"\n" in content.replace(b"\r\n", b"") else [])


def of_xml(content: bytes) -> list[str]:
    return [f"element {one.tag}" for one in ElementTree.fromstring(content).iter() if MARK in str(one.tag)]


def of_json(content: bytes) -> list[str]:
    json.loads(content)
    return []


READERS: dict[str, Callable[[bytes], list[str]]] = {
    "text/html": of_page,
    "text/calendar": of_calendar,
    "text/vcard": of_card,
    "application/xml": of_xml,
    "text/xml": of_xml,
    "image/svg+xml": of_xml,
    "application/json": of_json,
}


def run(shop: Any, client: "Client", *, only: tuple[str, ...] = ()) -> Told:
    """`only`: of addresses that begin so, the first sample; otherwise all samples of all."""
    from django.urls import reverse

    from tests.faults.hostile_rows import spoil
    from tests.house.one_of_everything import samples
    from tests.house.pages import addresses

    asked = [
        (one.name, reverse(one.name, kwargs=arguments))
        for one in addresses()
        if one.name not in ("login", "logout") and one.name.startswith(only or "")
        for arguments in samples(shop, one.route, one.name)[: 1 if only else None]
    ]
    told = Told()
    told.faults += [f"cards: {fault}" for fault in _faults_of(client.post(reverse("shop:customer_cards"), cards()), told)]
    told.words = spoil(maker)
    for name, address in asked:
        told.faults += [f"{name} {address}: {fault}" for fault in _faults(client, address, told)]
    return told


def cards() -> dict[str, Any]:
    """A file of address cards that anybody could have written, with each text in every place."""
    import vobject
    from django.core.files.uploadedfile import SimpleUploadedFile

    made = []
    for text in TEXTS:
        card = vobject.vCard()
        for name in ("fn", "email", "tel", "note"):
            card.add(name).value = text
        card.add("n").value = vobject.vcard.Name(family=text, given=text)
        card.add("adr").value = vobject.vcard.Address(street=text, city=text, code=text)
        made.append(card.serialize())
    return {"once": str(uuid.uuid4()), "file": SimpleUploadedFile("cards.vcf", "".join(made).encode(), "text/vcard")}


def _faults(client: "Client", address: str, told: Told) -> Iterator[str]:
    yield from _faults_of(client.get(address), told)


def _faults_of(answer: Any, told: Told) -> Iterator[str]:
    if answer.status_code >= 500:
        yield f"{answer.status_code} {(getattr(answer, 'exc_info', None) or ('', ''))[1]!r:.200}"
    kind = answer.headers.get("Content-Type", "").partition(";")[0]
    if answer.status_code != 200 or kind not in READERS:
        return
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    told.answers[kind] += 1
    told.holding += MARK.encode() in content
    yield from (f"header {name}" for name, value in answer.headers.items() if MARK in name.lower() or "\n" in value)
    try:
        yield from READERS[kind](content)
    except Exception as error:
        yield f"can't be read as {kind}: {type(error).__name__}: {error!s:.120}"


def line_of(told: Told) -> str:
    kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(told.answers.items()))
    return f"{told.words} words spoilt, {kinds}; {told.holding} hold such a word, {len(told.faults)} faults"


if __name__ == "__main__":
    sys.exit(main_of(__doc__, sys.argv[1:], run, line_of))
