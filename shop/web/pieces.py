"""Behind the template tags: the once-token's input, tables flattened for a slim template, queries, undo beside a message."""

import json
import uuid
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.conf import settings
from django.contrib.messages.storage.base import Message
from django.http import HttpRequest, QueryDict
from django.urls import NoReverseMatch, get_script_prefix, resolve, reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.web.lean_rows import rows_html


def once_input() -> SafeString:
    return format_html('<input type="hidden" name="once" value="{}">', uuid.uuid4())


TABS = ("today", "jobs:benches", "jobs:list", "shop:customers", "inventory:parts", "billing:invoices", "shop:owner")


# Pages that belong to a tab though their address doesn't begin with its own.
WITHIN = {"shop:buy_list": "inventory:parts", "jobs:bad_lots": "inventory:parts"}


def tab_of(path: str) -> str:
    """The address of the tab that a page belongs to: the longest that its own begins with. The first page is only itself."""
    for page, tab in WITHIN.items():
        if (start := address_of(page)) and path.startswith(start):
            return address_of(tab)
    addresses = [address for address in map(address_of, TABS) if address]
    fitting = [address for address in addresses if path == address or (address != "/" and path.startswith(address))]
    return max(fitting, key=len, default="")


def address_of(name: str) -> str:
    """The address of a page without numbers, empty where there is none. Every page names all tabs, so each is worked out once."""
    return _address(name, settings.ROOT_URLCONF, get_script_prefix())


def roles_of(name: str) -> tuple[str, ...] | None:
    """Whom such a page serves, as its view says."""
    return _roles(name, settings.ROOT_URLCONF, get_script_prefix())


@cache
def _address(name: str, urlconf: str, prefix: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


@cache
def _roles(name: str, urlconf: str, prefix: str) -> tuple[str, ...] | None:
    roles = getattr(resolve(_address(name, urlconf, prefix)).func, "roles", None)
    return None if roles is None else tuple(roles)


def query_with(request: HttpRequest | None, name: str, value: object) -> str:
    """`?` and the query of this page with one name set; an empty value takes the name out.

    Another order begins with its first page: a place in the list is another place in it.
    """
    query = request.GET.copy() if request is not None else QueryDict(mutable=True)
    if name == "sort":
        query.pop("page", None)
    if value in (None, ""):
        query.pop(name, None)
    else:
        query[name] = str(value)
    return f"?{query.urlencode()}"


def query_as(request: HttpRequest | None, ending: str) -> str:
    """`?` and the query of this list as a file: its filter and order, and not its page."""
    query = request.GET.copy() if request is not None else QueryDict(mutable=True)
    query.pop("page", None)
    query["as"] = ending
    return f"?{query.urlencode()}"


def undo_of(message: Message) -> dict[str, object] | None:
    tags = message.extra_tags or ""
    return json.loads(tags) if tags.startswith("{") else None


@dataclass(frozen=True)
class LeanColumn:
    """One column: `css` of its cells, `order_by` to ask for next (empty: can't be sorted), `sorted_as` for aria-sort."""

    header: str
    css: str
    order_by: str
    sorted_as: str


@dataclass(frozen=True)
class LeanTable:
    """What `_table.html` draws; each row is written already."""

    columns: list[LeanColumn]
    rows: list[SafeString]
    order_field: str
    sortable: bool


def lean_table(table: Any) -> LeanTable:
    """Flatten a django-tables2 table once.

    A column's `td` attributes are read once a table and only their class is kept: they can't depend on the record. Rows may
    (`row_attrs`).
    """
    bound = list(table.columns)
    columns = [_lean_column(column) for column in bound]
    rows = rows_html(table, table.paginated_rows, bound)
    return LeanTable(columns, rows, table.prefixed_order_by_field, any(column.order_by for column in columns))


def _lean_column(column: Any) -> LeanColumn:
    td = column.column.attrs.get("td") or column.column.attrs.get("cell") or {}
    alias = column.order_by_alias
    sorted_as = ("descending" if alias.is_descending else "ascending") if column.is_ordered else ""
    return LeanColumn(str(column.header), str(td.get("class", "")), str(alias.next) if column.orderable else "", sorted_as)
