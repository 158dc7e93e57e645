"""The copy of what is held of a person: data for another program, and the same to read. Source: GDPR articles 15 and 20."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.template.loader import render_to_string
from django.utils.formats import date_format

from billing.queries.personal_copy import papers_held, sales_held
from inventory.queries.personal import parts_held
from jobs.queries.personal_copy import job_held, jobs_of, moment, role_of, sets_held
from shop.forms.customer import values_of
from shop.letterhead_of import letterhead
from shop.models import Customer, Profile
from shop.personal.explained import FORM
from shop.personal.rights import answers

Data = dict[str, Any]
ISO = re.compile(r"\d{4}-\d{2}-\d{2}(T\d{2}:\d{2}:\d{2}[+-]\d{2}:\d{2})?")


def data_of(customer: Customer, day: date) -> Data:
    """Everything, as plain data; the keys are told in `shop.personal.explained`."""
    head = letterhead()
    return {
        "form": FORM,
        "as_of": day.isoformat(),
        "currency": head.currency,
        "shop": {"name": head.shop_name, "address": list(head.address_lines), "phone": head.phone, "email": head.email},
        "customer": {**values_of(customer), "written_at": moment(customer.created_at)},
        "sets": sets_held(customer),
        "own_parts": parts_held(customer.pk),
        "jobs": [job_held(job, head.currency) for job in jobs_of(customer)],
        "papers": papers_held(customer),
        "sales": sales_held(customer, head.currency),
        "requests": [_request(one) for one in customer.data_requests.select_related("person").order_by("pk")],  # type: ignore[attr-defined]
    }


def _request(one: Any) -> Data:
    return {
        "kind": one.get_kind_display(),
        "asked_on": one.asked_on.isoformat(),
        "how": one.how,
        "note": one.note,
        "answer": one.answer,
        "at": moment(one.at),
        "by": role_of(one.person),
    }


def as_json(data: Data) -> bytes:
    """The same data gives the same bytes."""
    return (json.dumps(data, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode()


@dataclass(frozen=True, slots=True)
class Told:
    """One value of the data as a page tells it: a text, facts by name, a table of plain facts (`heads`, `rows`), or a list."""

    text: str = ""
    facts: tuple[tuple[str, "Told"], ...] = ()
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    items: tuple["Told", ...] = ()

    @property
    def is_empty(self) -> bool:
        return not (self.text or self.facts or self.items or self.rows)


def told(value: Any) -> Told:
    match value:
        case dict():
            facts = ((_named(key), told(one)) for key, one in value.items())
            return Told(facts=tuple((name, one) for name, one in facts if not one.is_empty))
        case list():
            return _table(value) if _is_flat(value) else Told(items=tuple(one for one in map(told, value) if not one.is_empty))
    return Told(_said(value))


def _named(key: str) -> str:
    words = key.replace("_", " ")
    return words[:1].upper() + words[1:]


def _is_flat(value: list[Any]) -> bool:
    return bool(value) and all(
        isinstance(row, dict) and not any(isinstance(one, dict | list) for one in row.values()) for row in value
    )


def _table(value: list[Data]) -> Told:
    """Columns in which something stands."""
    keys = [key for key in value[0] if any(_said(row[key]) for row in value)]
    rows = tuple(tuple(_said(row[key]) for key in keys) for row in value)
    return Told(heads=tuple(map(_named, keys)), rows=rows)


def _as_written(value: str) -> str:
    try:
        at = datetime.fromisoformat(value)
    except ValueError:  # what somebody typed may look like a day
        return value
    return date_format(at, "j F Y, H:i" if "T" in value else "j F Y")


def _said(value: Any) -> str:
    """A day or a moment as people write it; everything else as it is."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and ISO.fullmatch(value):
        return _as_written(value)
    return "" if value is None else str(value)


def index_page(customer: Customer, data: Data, files: list[str], profile: Profile | None) -> bytes:
    """The page to begin with: the answers of article 15(1), everything in words, and links to the papers and photos."""
    parts = (("Your card", "customer"), ("Your sets", "sets"), ("Parts you brought", "own_parts"), ("Sales", "sales"))
    context = {
        "shop": data["shop"],
        "name": customer.name,
        "as_of": date.fromisoformat(data["as_of"]),
        "answers": answers(profile),
        "parts": [(title, told(data[key])) for title, key in parts],
        "jobs": [(job["number"], job["set"], told(_shown(job))) for job in data["jobs"]],
        "papers": [(paper["number"], told(paper)) for paper in data["papers"]],
        "requests": told(data["requests"]),
        "files": files,
    }
    return render_to_string("shop/data_copy.html", context).encode()


def _shown(job: Data) -> Data:
    return {key: value for key, value in job.items() if key not in ("number", "set")}


def counted(data: Data, files: list[str]) -> Iterator[tuple[str, int]]:
    """What was given, by kind, for the record of the request."""
    for what, key in (("Sets", "sets"), ("Jobs", "jobs"), ("Papers", "papers")):
        yield what, len(data[key])
    yield "Files", len(files)
