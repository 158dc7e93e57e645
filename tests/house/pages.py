"""Every address of the shop, and what a page of it is made of."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

# Views that name no roles: what they are for makes clear who may see them.
NO_ROLES = {
    "login": "signing in",
    "login_code": "the second step of signing in",
    "logout": "signing out, by whoever is signed in",
    "approve": "the customer's private page: its address is the key",
    "approve_photo": "a photo that the private page shows, behind the same key",
    "approve_nothing": "what only looks like a private page",
    "calendar_nothing": "what only looks like a calendar's private address",
    "calendar_feed": "a calendar program's private address: the address is the key",
}
WITHOUT_SIGNING_IN = {"login", "approve", "approve_photo", "calendar_feed", "approve_nothing", "calendar_nothing"}
# They answer that there is nothing, whatever stands in the address.
NOTHING = {"approve_nothing", "calendar_nothing"}


@dataclass(frozen=True)
class Address:
    name: str
    route: str
    view: Any

    @property
    def roles(self) -> tuple[str, ...] | None:
        return getattr(self.view, "roles", None)

    @property
    def is_open(self) -> bool:
        return self.name in WITHOUT_SIGNING_IN


def addresses(patterns: Any = None, before: str = "", space: str = "") -> Iterator[Address]:
    for one in get_resolver().url_patterns if patterns is None else patterns:
        route = before + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from addresses(one.url_patterns, route, f"{one.namespace}:" if one.namespace else space)
        elif isinstance(one, URLPattern):
            yield Address(f"{space}{one.name}", route, one.callback)


@dataclass
class Form:
    method: str
    action: str
    names: set[str] = field(default_factory=set)


class PageReader(HTMLParser):
    """Reads a page; `faults()` says in words what no page may have."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.counts: Counter[str] = Counter()
        self.ids: Counter[str] = Counter()
        self.title = ""
        self.forms: list[Form] = []
        self.links: set[str] = set()
        self.targets: set[str] = set()
        self.loaded: set[str] = set()
        self.inline: list[str] = []
        self._open = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.counts[tag] += 1
        self.ids.update([given["id"]] if given.get("id") else [])
        self.inline += [f"{tag} {name}" for name in given if name == "style" or name.startswith(("on", "hx-on"))]
        self._open = tag if tag in ("title", "style") else self._open
        if tag == "style" or (tag == "script" and "src" not in given):
            self.inline.append(f"<{tag}>")
        if tag == "a" and "href" in given:
            self.links.add(given["href"])
        if "src" in given:
            self.loaded.add(given["src"])
        if tag == "link" and "href" in given:
            self.loaded.add(given["href"])
        if "formaction" in given:
            self.targets.add(given["formaction"])
        if tag == "form":
            self.forms.append(Form(given.get("method", "get").lower(), given.get("action", "")))
        elif self.forms and tag in ("button", "input", "select", "textarea") and given.get("type") != "hidden":
            self.targets.add(self.forms[-1].action)
        if self.forms and "name" in given:
            # A form with a prefix names its token `agree-once`.
            self.forms[-1].names.add(given["name"].rpartition("-")[2])

    def handle_endtag(self, tag: str) -> None:
        self._open = "" if tag == self._open else self._open

    def handle_data(self, data: str) -> None:
        if self._open == "title":
            self.title += data

    def faults(self) -> list[str]:
        found = [f"inline: {one}" for one in self.inline]
        if self.counts["h1"] != 1:
            found.append(f"{self.counts['h1']} h1")
        if not self.title.strip():
            found.append("no title")
        found += [f"id {name!r} is there {count} times" for name, count in self.ids.items() if count > 1]
        return found + [fault for form in self.forms for fault in _form_faults(form)]


# Signing in and out act the same however often they are sent.
ONCE_NOT_NEEDED = ("/sign-in/", "/sign-out/")


def _form_faults(form: Form) -> Iterator[str]:
    if form.method != "post":
        return
    if "csrfmiddlewaretoken" not in form.names:
        yield f"the form to {form.action or 'this page'} has no csrf token"
    if "once" not in form.names and form.action not in ONCE_NOT_NEEDED and "password" not in form.names:
        yield f"the form to {form.action or 'this page'} has no once-token"
