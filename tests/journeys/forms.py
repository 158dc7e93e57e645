"""Every POST form that a page shows, with its fields as the browser would send them."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser

MARK = "thé marked wörds"
# Fields that a person types words into, or figures: what is put there must come back when the form is refused.
FIGURES = ("number", "date", "datetime-local")
WORDS = ("text", "search", "email", "tel", "textarea")


@dataclass
class ShownForm:
    """`values` as they stand on the page; `typed` are the names of fields that take words, `figures` of those
    that take numbers or days; `buttons` are name and value; `kinds` are kinds of input by name, `choices` what may be chosen."""

    page: str
    action: str
    values: dict[str, list[str]] = field(default_factory=dict)
    typed: list[str] = field(default_factory=list)
    figures: list[str] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)
    has_files: bool = False
    files: list[str] = field(default_factory=list)
    kinds: dict[str, str] = field(default_factory=dict)
    choices: dict[str, list[str]] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return f"{self.page} -> {self.action}"


class FormReader(HTMLParser):
    def __init__(self, page: str, html: str) -> None:
        super().__init__()
        self.page = page
        self.forms: list[ShownForm] = []
        self._form: ShownForm | None = None
        self._select = ""
        self._textarea = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form" and given.get("method", "").lower() == "post":
            self._form = ShownForm(self.page, given.get("action", "").partition("#")[0] or self.page)
            self.forms.append(self._form)
        elif self._form is not None:
            self._read(self._form, tag, given)

    def _read(self, form: ShownForm, tag: str, given: dict[str, str]) -> None:
        name, value = given.get("name", ""), given.get("value", "")
        if tag == "button":
            self._button(form, name, value, given.get("formaction", ""))
        elif tag == "option":
            form.choices.setdefault(self._select, []).append(value)
            if self._select and ("selected" in given or self._select not in form.values):
                form.values[self._select] = [value]
        elif tag == "select":
            self._select = name
            form.kinds[name] = tag
        elif tag == "textarea":
            self._textarea = name
            form.kinds[name] = tag
            form.values[name] = [""]
            form.typed += [] if "readonly" in given or not name else [name]
        elif tag == "input" and name:
            self._input(form, name, value, given)

    def _button(self, form: ShownForm, name: str, value: str, elsewhere: str) -> None:
        """A button that sends the form elsewhere makes a form of its own, with the same fields."""
        if not elsewhere:
            form.buttons.append((name, value))
        elif elsewhere not in [one.action for one in self.forms]:
            self.forms.append(replace(form, action=elsewhere, buttons=[(name, value)]))

    def _input(self, form: ShownForm, name: str, value: str, given: dict[str, str]) -> None:
        kind, checked, inputmode = given.get("type", "text"), "checked" in given, given.get("inputmode", "")
        form.kinds[name] = kind
        if kind == "file":
            form.has_files = True
            form.files.append(name)
        elif kind in ("checkbox", "radio"):
            form.values.setdefault(name, []).extend([value or "on"] if checked else [])
            form.choices.setdefault(name, []).append(value or "on")
        else:
            form.values.setdefault(name, []).append(value)
            form.typed += [name] if kind in WORDS else []
            form.figures += [name] if kind in FIGURES or inputmode in ("decimal", "numeric") else []

    def handle_data(self, data: str) -> None:
        if self._textarea and self._form is not None:
            self._form.values[self._textarea][0] += data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._textarea = ""


def forms_on(page: str, html: str) -> Iterator[ShownForm]:
    yield from FormReader(page, html).forms
