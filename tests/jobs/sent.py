"""What a browser would send back from a page: the fields of its form, as they stand there."""

from collections.abc import Mapping
from html.parser import HTMLParser
from typing import Any


class _Fields(HTMLParser):
    """Collects the names and values of the forms that hold a once-token, the frame's own forms aside."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[dict[str, str]] = []
        self._open: dict[str, str] | None = None
        self._area = self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._open = {}
            self.forms.append(self._open)
        if self._open is None:
            return
        if tag == "textarea":
            self._area = given["name"]
            self._open[self._area] = ""
        elif tag == "select":
            self._select = given["name"]
            self._open[self._select] = ""
        elif tag == "option" and self._select and "selected" in given:
            self._open[self._select] = given.get("value", "")
        elif tag == "input":
            self._input(given)

    def _input(self, given: Mapping[str, str]) -> None:
        assert self._open is not None
        kind = given.get("type", "text")
        if "name" not in given or kind == "file" or (kind in ("checkbox", "radio") and "checked" not in given):
            return
        self._open[given["name"]] = given.get("value", "on" if kind in ("checkbox", "radio") else "")

    def handle_data(self, data: str) -> None:
        if self._area and self._open is not None:
            self._open[self._area] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._open is not None:
            self._open[self._area] = self._open[self._area].removeprefix("\n")
            self._area = ""
        elif tag == "select":
            self._select = ""
        elif tag == "form":
            self._open = None


def sent_form(answer: Any, having: str = "once") -> dict[str, str]:
    """The last form on the page that has a field of that name."""
    reader = _Fields()
    reader.feed(answer.content.decode())
    return next(form for form in reversed(reader.forms) if having in form)


def sent_forms(answer: Any) -> list[dict[str, str]]:
    """Every form on the page, in its order."""
    reader = _Fields()
    reader.feed(answer.content.decode())
    return reader.forms
