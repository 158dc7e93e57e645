"""Tables of parts, movements, suppliers, orders and suppliers' bills."""

from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.components.writing import write_value
from inventory.models import Drawer, Lot, Movement, Order, OrderLine, OrderState, Part, Supplier, SupplierBill
from inventory.pricing import FOLDED, PriceTerms
from inventory.queries.exchange import amount_minor
from inventory.queries.lots import how_it_moved
from inventory.queries.parts import price_of
from inventory.queries.suppliers import MOST_LOTS_COUNTED
from shop.models import Profile
from shop.money import fine_amount, show, show_fine
from shop.templatetags.shop_tags import day, moment
from shop.web.marks import state

NUM: dict[str, Any] = {"td": {"class": "num"}}
MOST_DRAWERS = 3


def link(name: str, pk: int, text: object) -> SafeString:
    return format_html('<a href="{}">{}</a>', reverse(name, args=[pk]), text)


def rating_of(part: Part) -> str:
    """What the marking's figures were read as, where the list must tell parts apart: `630 V ±10 % Y2`."""
    words = [write_value(number, kind) for number, kind in ((part.volts, "voltage"), (part.watts, "power")) if number]
    low, high = part.tolerance_low, part.tolerance_high
    if low is not None and high is not None:
        words.append(f"±{high:g} %" if low == -high else f"{low:g}/+{high:g} %")
    return " ".join([*words, part.safety_class] if part.safety_class else words)


class PartTable(tables.Table):
    """Expects parts `with_stock()` and `with_lots`; `prices` are the terms that price them."""

    caption = "Parts"
    also = (("Words", "description"), ("Minimum", "minimum"), ("Kept", "in_use"))
    money = ("price",)
    marking = tables.Column("Value or type", order_by=("value_si", "marking"))
    kind = tables.Column("Kind", order_by=("kind", "value_si", "marking"))
    rating = tables.Column("Rating", empty_values=(), order_by=("volts", "watts"))
    on_hand = tables.Column("On hand", attrs=NUM)
    held = tables.Column("Held", attrs=NUM)
    free = tables.Column("Free", attrs=NUM)
    drawers = tables.Column("Drawers", empty_values=(), orderable=False)
    price = tables.Column("Price", empty_values=(), orderable=False, attrs=NUM)

    class Meta:
        empty_text = "No part answers to this. Try the value with its unit, fewer words, or show all parts."

    def __init__(self, *args: Any, prices: PriceTerms, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.prices = prices

    def render_marking(self, record: Part) -> SafeString:
        words = format_html('<span class="soft">{}</span>', record.description) if record.description else ""
        return format_html("{} {}", link("inventory:part", record.pk, record.marking), words)

    def currency_of(self, record: Part) -> str:
        return self.prices.currency

    def value_price(self, record: Part) -> int | None:
        price = price_of(record, record.known_lots, self.prices)  # type: ignore[attr-defined]
        return price.unit_minor if price else None

    def value_rating(self, record: Part) -> str:
        return rating_of(record)

    def value_drawers(self, record: Part) -> str:
        lying = (balance for lot in record.known_lots for balance in lot.lying)  # type: ignore[attr-defined]
        return ", ".join(dict.fromkeys(balance.drawer.code for balance in lying))

    def value_kind(self, record: Part) -> str:
        return self.render_kind(record)

    def render_kind(self, record: Part) -> str:
        made = record.get_technology_display().lower() if record.technology else ""
        return f"{record.get_kind_display()}, {made}" if made else record.get_kind_display()

    def render_rating(self, record: Part) -> str:
        return rating_of(record)

    def render_free(self, record: Part, value: int) -> SafeString | int:
        if record.minimum and value < record.minimum:
            return format_html("{} {}", value, state("warn", f"of {record.minimum}"))
        return value

    def render_drawers(self, record: Part) -> SafeString:
        places: dict[int, Drawer] = {}
        for lot in record.known_lots:  # type: ignore[attr-defined]
            places |= {balance.drawer_id: balance.drawer for balance in lot.lying}
        shown = list(places.values())[:MOST_DRAWERS]
        links = format_html_join(", ", "{}", ((link("inventory:drawer", one.pk, one.code),) for one in shown))
        return format_html("{} and {} more", links, len(places) - len(shown)) if len(places) > len(shown) else links

    def render_price(self, record: Part) -> SafeString | str:
        price = price_of(record, record.known_lots, self.prices)  # type: ignore[attr-defined]
        if price is None:
            return ""
        shown = self.prices.shown(price.unit_minor)
        return format_html('{} <span class="soft">{}</span>', shown, FOLDED) if price.is_folded else shown


class LotTable(tables.Table):
    """Expects lots from `queries.lots.listed_lots`."""

    caption = "Lots"
    money = ("unit_cost_milli",)
    also = (("Mark", "mark"), ("Can go back until", "return_until_on"), ("Note", "note"))
    lot = tables.Column("Lot", accessor="pk", order_by="pk")
    part = tables.Column("Part", order_by=("part__kind", "part__value_si", "part__marking"))
    date_code = tables.Column("Date code", default="")
    condition = tables.Column("Class")
    received_on = tables.Column("Came in")
    supplier = tables.Column("Supplier", order_by="supplier__name", empty_values=())
    on_hand = tables.Column("On hand", attrs=NUM)
    drawers = tables.Column("Drawers", empty_values=(), orderable=False)
    unit_cost_milli = tables.Column("Cost each", attrs=NUM)
    blocked_reason = tables.Column("Blocked", default="")

    class Meta:
        order_by: ClassVar = ("-lot",)
        empty_text = "No lot answers to this. Try part of the date code, or show all lots."

    def __init__(self, *args: Any, profile: Profile, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.profile = profile

    def currency_of(self, record: Lot) -> str:
        return self.profile.currency

    def render_lot(self, record: Lot) -> SafeString:
        return link("inventory:lot", record.pk, record.pk)

    def value_part(self, record: Lot) -> str:
        return record.part.title

    def render_part(self, record: Lot) -> SafeString:
        return link("inventory:part", record.part_id, record.part.title)

    def render_received_on(self, value: date) -> SafeString | str:
        return day(value)

    def value_supplier(self, record: Lot) -> str:
        return f"{record.owner} (customer's own)" if record.owner else str(record.supplier or "")

    render_supplier = value_supplier

    def value_drawers(self, record: Lot) -> str:
        return ", ".join(balance.drawer.code for balance in record.lying)  # type: ignore[attr-defined]

    def render_drawers(self, record: Lot) -> SafeString:
        lying = record.lying  # type: ignore[attr-defined]
        return format_html_join(", ", "{}", ((link("inventory:drawer", one.drawer_id, one.drawer.code),) for one in lying))

    def value_unit_cost_milli(self, record: Lot) -> Decimal:
        return fine_amount(record.unit_cost_milli, self.profile.currency)

    def render_unit_cost_milli(self, value: int) -> str:
        return show_fine(value, self.profile.currency, self.profile.locale)

    def render_blocked_reason(self, value: str) -> SafeString:
        return state("no", value)


class MovementTable(tables.Table):
    """Expects movements from `queries.lots.ledger`. Plain columns: the library's datetime column costs more than all others."""

    caption = "Movements, the newest first"
    at = tables.Column("When", orderable=False)
    kind = tables.Column("What", orderable=False)
    count = tables.Column("Count", orderable=False, attrs=NUM)
    part = tables.Column("Part", accessor="lot__part", orderable=False)
    lot = tables.Column("Lot", orderable=False)
    drawer = tables.Column("Drawer", orderable=False)
    reference = tables.Column("For", orderable=False, default="")
    reason = tables.Column("Why", orderable=False, default="")
    person = tables.Column("Who", orderable=False)

    class Meta:
        order_by: ClassVar = ()
        empty_text = "No movement answers to this."

    def value_part(self, record: Movement) -> str:
        return record.lot.part.title

    def value_lot(self, record: Movement) -> int:
        return record.lot_id

    def render_at(self, record: Movement) -> SafeString | str:
        return moment(record.at)

    def render_kind(self, record: Movement) -> str:
        return how_it_moved(record)

    def render_count(self, value: int) -> str:
        return f"{value:+d}".replace("-", "−")

    def render_part(self, record: Movement) -> SafeString:
        return link("inventory:part", record.lot.part_id, record.lot.part.title)

    def render_lot(self, record: Movement) -> SafeString:
        return link("inventory:lot", record.lot_id, record.lot_id)

    def render_drawer(self, record: Movement) -> SafeString:
        return link("inventory:drawer", record.drawer_id, record.drawer.code)

    def render_reference(self, value: str) -> SafeString:
        return job_link(value)


def job_link(number: str) -> SafeString:
    """To the list of jobs, looked up by number: drawers know jobs by what their tag says only."""
    return format_html('<a class="keep" href="{}?show=all&amp;q={}">{}</a>', reverse("jobs:list"), number, number)


class SupplierTable(tables.Table):
    """Expects suppliers from `queries.suppliers.listed`; a long count is broken off."""

    caption = "Suppliers"
    also = (("Bought from", "in_use"),)
    name = tables.Column("Name")
    phone = tables.Column("Telephone", orderable=False)
    email = tables.Column("E-mail", orderable=False)
    currency = tables.Column("Money", default="")
    lead_days = tables.Column("Days to arrive", attrs=NUM)
    return_days = tables.Column("Days to send back", attrs=NUM)
    lot_count = tables.Column("Lots", attrs=NUM)
    last_on = tables.Column("Last lot", default="")

    class Meta:
        order_by = "name"

    def render_name(self, record: Supplier) -> SafeString:
        name = link("inventory:supplier_change", record.pk, record.name)
        return name if record.in_use else format_html("{} {}", name, state("note", "Not bought from"))

    def render_lot_count(self, value: int) -> str:
        return f"{value:,}" if value <= MOST_LOTS_COUNTED else f"more than {MOST_LOTS_COUNTED:,}"

    def render_last_on(self, value: Any) -> SafeString | str:
        return day(value)


ORDER_MARKS = {OrderState.DRAFT: "open", OrderState.SENT: "wait", OrderState.CLOSED: "done", OrderState.DROPPED: "note"}


class OrderTable(tables.Table):
    """Expects orders from `queries.orders.listed`."""

    caption = "Orders, what is on back order first"
    also = (("Ordered", "ordered"), ("Sent", "sent_at"), ("Closed", "closed_at"))
    money = ("goods",)
    number = tables.Column("Order", empty_values=(), orderable=False)
    supplier = tables.Column("Supplier", orderable=False)
    state = tables.Column("State", orderable=False)
    coming = tables.Column("Still to come", orderable=False, attrs=NUM)
    next_on = tables.Column("Expected", empty_values=(), orderable=False)
    goods = tables.Column("Total", orderable=False, attrs=NUM)

    class Meta:
        order_by: ClassVar = ()
        empty_text = "No order answers to this. Show all orders, or ask for another word."

    def __init__(self, *args: Any, profile: Profile, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.profile, self.today = profile, today

    def currency_of(self, record: Order) -> str:
        return record.currency

    def value_goods(self, record: Order) -> int:
        return record.goods + record.carriage_minor  # type: ignore[attr-defined]

    def render_number(self, record: Order) -> SafeString:
        return link("inventory:order", record.pk, record.number or "draft")

    def render_state(self, record: Order) -> SafeString:
        if record.state == OrderState.SENT and record.partly:  # type: ignore[attr-defined]
            return state("warn", "Rest on back order")
        return state(ORDER_MARKS[OrderState(record.state)], record.get_state_display())

    def render_coming(self, record: Order, value: int) -> str:
        ordered = record.ordered  # type: ignore[attr-defined]
        return f"{value:,} of {ordered:,}" if record.state == OrderState.SENT else f"{ordered:,}"

    def render_next_on(self, record: Order) -> SafeString | str:
        expected = record.next_on  # type: ignore[attr-defined]
        if not expected:
            return ""
        late = (self.today - expected).days
        return format_html("{} {}", day(expected), state("no", f"{late} days late")) if late > 0 else day(expected)

    def render_goods(self, record: Order, value: int) -> str:
        return show(value + record.carriage_minor, record.currency, self.profile.locale)


class SupplierBillTable(tables.Table):
    """Expects bills from `queries.supplier_bills.listed_bills`."""

    caption = "Suppliers' bills, those to accept first"
    also = (("Why accepted with differences", "accepted_why"),)
    money = ("net_minor", "gross")
    number = tables.Column("Bill", orderable=False)
    supplier = tables.Column("Supplier", orderable=False)
    billed_on = tables.Column("Of", orderable=False)
    due_on = tables.Column("To be paid by", orderable=False, empty_values=())
    net_minor = tables.Column("Without tax", orderable=False, attrs=NUM)
    gross = tables.Column("With tax", empty_values=(), orderable=False, attrs=NUM)
    accepted_at = tables.Column("State", empty_values=(), orderable=False)

    class Meta:
        order_by: ClassVar = ()
        empty_text = "No bill answers to this."

    def __init__(self, *args: Any, locale: str, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.locale, self.today = locale, today

    def currency_of(self, record: SupplierBill) -> str:
        return record.currency

    def value_gross(self, record: SupplierBill) -> int:
        return record.net_minor + record.tax_minor

    def value_accepted_at(self, record: SupplierBill) -> str:
        if record.accepted_at is None:
            return "To be accepted"
        return "Accepted with differences" if record.accepted_why else "Accepted"

    def render_number(self, record: SupplierBill) -> SafeString:
        return link("inventory:supplier_bill", record.pk, record.number)

    def render_billed_on(self, value: date) -> SafeString | str:
        return day(value)

    def render_due_on(self, record: SupplierBill) -> SafeString | str:
        if record.due_on is None:
            return ""
        past = record.accepted_at is None and record.due_on < self.today
        return format_html("{} {}", day(record.due_on), state("warn", "Past due")) if past else day(record.due_on)

    def render_net_minor(self, record: SupplierBill, value: int) -> str:
        return show(value, record.currency, self.locale)

    def render_gross(self, record: SupplierBill) -> str:
        return show(record.net_minor + record.tax_minor, record.currency, self.locale)

    def render_accepted_at(self, record: SupplierBill) -> SafeString:
        if record.accepted_at is None:
            return state("open", "To be accepted")
        return state("warn", "Accepted with differences") if record.accepted_why else state("done", "Accepted")


class UnbilledTable(tables.Table):
    """Expects lines from `queries.supplier_bills.unbilled`."""

    caption = "Came in and not billed"
    money = ("sum",)
    order = tables.Column("Order", orderable=False)
    supplier = tables.Column("Supplier", accessor="order__supplier", orderable=False)
    text = tables.Column("Part", orderable=False)
    not_billed = tables.Column("Not billed", orderable=False, attrs=NUM)
    sum = tables.Column("Comes to", empty_values=(), orderable=False, attrs=NUM)

    class Meta:
        order_by: ClassVar = ()
        empty_text = "Everything that came on orders is billed."

    def __init__(self, *args: Any, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.locale = locale

    def currency_of(self, record: OrderLine) -> str:
        return record.order.currency

    def value_order(self, record: OrderLine) -> str:
        return record.order.number

    def value_sum(self, record: OrderLine) -> int:
        return amount_minor(record.not_billed, record.unit_milli)  # type: ignore[attr-defined]

    def render_order(self, record: OrderLine) -> SafeString:
        return link("inventory:order", record.order_id, record.order.number)

    def render_text(self, record: OrderLine) -> SafeString:
        return link("inventory:part", record.part_id, record.text)

    def render_sum(self, record: OrderLine) -> str:
        return show(self.value_sum(record), record.order.currency, self.locale)
