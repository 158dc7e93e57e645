"""Lists that stand as a person left them.

    @role_required(*EVERYBODY)
    @as_left("jobs:list", usual={"q": "", "show": OPEN, "stage": "", "bench": ""}, filters=JobFilter)
    def job_list(request): ...

An address with a query is obeyed and remembered. One without stands for the last query of this person; the view then sees that
query in `request.GET`, as if it had been in the address, and `{% include "_as_left.html" %}` says so with the way back. That
is `?usual=1`: the list as it opens at first, and what was remembered is forgotten. The page's number is no part of it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import wraps
from typing import Any
from urllib.parse import urlencode

from django.db import DatabaseError
from django.forms import Form, ModelChoiceField
from django.http import HttpRequest, HttpResponse, QueryDict

from shop.access import staff_of
from shop.kept_filters import keep_filter, kept_filter
from shop.web.hindrances import hindrance_of
from shop.web.pages import wants_fragment

View = Callable[..., HttpResponse]
USUAL = "usual"
SORT = "sort"


@dataclass(frozen=True, slots=True)
class AsLeft:
    """What the page says of a list that stands as it was left: `words` such as “open jobs, bench Bench 2”."""

    words: str
    back: str = f"?{USUAL}=1"


@dataclass(frozen=True, slots=True)
class ListHabit:
    """`usual` holds every name that is remembered with the value it has when nothing is asked.

    `filters` is a filter set or a form that reads them, `words` says a choice in words where no form does.
    """

    page: str
    usual: Mapping[str, str]
    filters: type[Any] | None = None
    words: Mapping[str, Mapping[str, str]] | None = None

    def asked(self, query: QueryDict) -> dict[str, str]:
        """What of a query is remembered; empty where it asks for what the list shows anyway."""
        said = {name: str(query[name]) for name in (*self.usual, SORT) if query.get(name)}
        return {} if all(value == self.usual.get(name) for name, value in said.items()) else said

    def readable(self, kept: str) -> dict[str, str]:
        """A remembered query without what can't be read any more: a bench that is gone, a choice that a newer program lost."""
        said = self.asked(QueryDict(kept))
        form = self._form(said)
        wrong = set(form.errors) if form is not None else set()
        for name, choices in (self.words or {}).items():
            if name in said and said[name] not in choices:
                wrong.add(name)
        return self.asked(QueryDict(urlencode({name: value for name, value in said.items() if name not in wrong})))

    def said(self, query: Mapping[str, str]) -> str:
        form = self._form(dict(query))
        return ", ".join(self._one(name, value, form) for name, value in query.items())

    def _form(self, said: Mapping[str, str]) -> Form | None:
        if self.filters is None:
            return None
        asked = QueryDict(urlencode(said))
        made = self.filters(asked)
        return made.form if hasattr(made, "form") else made

    def _one(self, name: str, value: str, form: Form | None) -> str:
        if name == SORT:
            return "in your order"
        if self.words and name in self.words:
            return self.words[name][value]
        field = form.fields.get(name) if form is not None else None
        label = str(field.label).lower() if field is not None and field.label else ""
        choices = getattr(field, "choices", None)
        if isinstance(field, ModelChoiceField):
            value = str(_cleaned(form, name) or value)
        elif choices is not None:
            value = str(dict(choices).get(value, value))
        elif not isinstance(_cleaned(form, name), date):
            value = f"“{value}”"
        return value if name in ("q", "show") else f"{label} {value}".strip()


def _cleaned(form: Form | None, name: str) -> Any:
    return form.cleaned_data.get(name) if form is not None and form.is_valid() else None


def as_left(
    page: str,
    usual: Mapping[str, str],
    filters: type[Any] | None = None,
    words: Mapping[str, Mapping[str, str]] | None = None,
) -> Callable[[View], View]:
    """Decorates the view of a list, inside `role_required`."""
    habit = ListHabit(page, usual, filters, words)

    def decorate(view: View) -> View:
        @wraps(view)
        def listed(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if request.method == "GET" and not wants_fragment(request):
                _stand(request, habit)
            return view(request, *args, **kwargs)

        listed.habit = habit  # type: ignore[attr-defined]
        return listed

    return decorate


def _stand(request: HttpRequest, habit: ListHabit) -> None:
    if not request.GET:
        query = habit.readable(kept_filter(staff_of(request), habit.page))
        if query:
            request.GET = QueryDict(urlencode(query))  # type: ignore[assignment]
            request.as_left = AsLeft(habit.said(query))  # type: ignore[attr-defined]
        return
    is_told = USUAL in request.GET or any(name in request.GET for name in (*habit.usual, SORT))
    asked = {} if USUAL in request.GET else habit.asked(request.GET)
    if USUAL in request.GET:
        bare = request.GET.copy()
        del bare[USUAL]
        request.GET = bare  # type: ignore[assignment]
    if is_told and "as" not in request.GET and not _is_fetched_ahead(request):
        _keep(request, habit, asked)


def _keep(request: HttpRequest, habit: ListHabit, asked: Mapping[str, str]) -> None:
    """Nobody waits or is refused for it: where nothing can be written just now, the list is remembered next time."""
    try:
        keep_filter(staff_of(request), habit.page, urlencode(asked))
    except DatabaseError as error:
        if hindrance_of(error) is None:
            raise


def _is_fetched_ahead(request: HttpRequest) -> bool:
    """A browser that loads a link before anybody pressed it (Fetch standard: Sec-Purpose; older: Purpose, X-Moz)."""
    return any("prefetch" in request.headers.get(name, "") for name in ("Sec-Purpose", "Purpose", "X-Moz"))
