"""The filters of the part list, the stock ledger, orders and suppliers' bills."""

from datetime import date, datetime, time, timedelta
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from inventory.models import (
    Condition,
    Drawer,
    Kind,
    Lot,
    Movement,
    MovementKind,
    Order,
    OrderLine,
    OrderState,
    Part,
    PartQuerySet,
    Supplier,
    SupplierBill,
    SupplierClaim,
    Technology,
)
from inventory.queries.drawers import cabinets_called, drawer_called
from inventory.queries.parts import QUANTITIES, matching_at, parts_called, parts_matching
from inventory.queries.supplier_claims import WITHOUT_ANSWER
from shop.models import Staff
from shop.search_text import fold

HERE, LOW, ALL, UNUSED, BLOCKED = "here", "low", "all", "unused", "blocked"
SHOW = [(ALL, "all parts"), (HERE, "in a drawer now"), (LOW, "fewer than wanted"), (UNUSED, "no longer kept")]


# So few parts, codes or bills are named by their keys.
FEW_PARTS = 200
FEW_CODES = 200
FEW_BILLS = 200


def _begins(day: date) -> datetime:
    """The first moment of a day here; before the shop's time any day will do, and year 1 has none in every zone."""
    return timezone.make_aware(datetime.combine(max(day, date(1900, 1, 1)), time()))


class Searched(filters.FilterSet):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.form.label_suffix = ""


def _search(label: str, method: str) -> filters.CharFilter:
    return filters.CharFilter(label=label, method=method, widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}))


class PartFilter(Searched):
    """Parts `with_stock()`. What is no longer kept shows only when asked for."""

    q = _search("Value, type or words", "find")
    kind = filters.ChoiceFilter(choices=Kind.choices, empty_label="any")
    technology = filters.ChoiceFilter(label="Made as", choices=[one for one in Technology.choices if one[0]], empty_label="any")
    safety_class = filters.CharFilter(label="Safety class", method="of_class")
    show = filters.ChoiceFilter(label="Show", method="which", choices=SHOW, empty_label=None)

    class Meta:
        model = Part
        fields: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        asked = data.copy() if data is not None else {}
        asked.setdefault("show", ALL)
        super().__init__(asked, *args, **kwargs)

    def find(self, parts: PartQuerySet, name: str, value: str) -> PartQuerySet:
        kind = self.form.cleaned_data.get("kind")
        kinds = [kind] if kind in QUANTITIES else QUANTITIES
        return parts.filter(pk__in=parts_called(value[:80], kinds))

    def of_class(self, parts: PartQuerySet, name: str, value: str) -> PartQuerySet:
        """Few parts have one: those are looked through, never the others."""
        return parts.exclude(safety_class="").filter(safety_class__icontains=value.strip())

    def which(self, parts: PartQuerySet, name: str, value: str) -> PartQuerySet:
        if value == UNUSED:
            return parts.filter(in_use=False)
        if value == LOW:
            return parts.short()
        return parts.filter(in_use=True, on_hand__gt=0) if value == HERE else parts.filter(in_use=True)


class OfParts(Searched):
    """A long list of what leads to parts. From few parts the way leads to its rows; of many, each row is asked for its part.

    Of many, all rows are counted sooner from the parts: so `to_count` gives the same rows as `qs`, by that way.
    """

    is_counting = False
    _known: list[int] | None = None

    def few_parts(self, text: str) -> list[int] | None:
        if self._known is None:
            self._known = list(parts_matching(text).order_by().values_list("pk", flat=True)[: FEW_PARTS + 1])
        return self._known if len(self._known) <= FEW_PARTS else None

    def to_count(self) -> "QuerySet[Any]":
        self.is_counting = True
        counted: QuerySet[Any] = self.filter_queryset(self.queryset.all())
        self.is_counting = False
        return counted


SHOW_LOTS = [(HERE, "in a drawer now"), (BLOCKED, "blocked"), (ALL, "all lots")]


class LotFilter(OfParts):
    """Lots `listed_lots`: what lies in a drawer unless more is asked for."""

    q = _search("Part", "of_part")
    date_code = filters.CharFilter(label="Date code", method="of_code")
    condition = filters.ChoiceFilter(label="Class", choices=Condition.choices, empty_label="any")
    supplier = filters.ModelChoiceFilter(label="Supplier", queryset=Supplier.objects.all(), empty_label="any")
    show = filters.ChoiceFilter(label="Show", method="which", choices=SHOW_LOTS, empty_label=None)

    class Meta:
        model = Lot
        fields: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        asked = data.copy() if data is not None else {}
        asked.setdefault("show", HERE)
        super().__init__(asked, *args, **kwargs)

    def of_part(self, lots: "QuerySet[Lot]", name: str, value: str) -> "QuerySet[Lot]":
        text = value[:80]
        few = self.few_parts(text)
        if few is not None:
            return lots.filter(part__in=few)
        if self.is_counting:
            return lots.filter(part__in=parts_matching(text).order_by().values("pk"))
        return lots.filter(Exists(Part.objects.filter(matching_at("", text), pk=OuterRef("part"))))

    def of_code(self, lots: "QuerySet[Lot]", name: str, value: str) -> "QuerySet[Lot]":
        """From few codes an index leads to their lots; of very many, each lot is asked for its own."""
        meant = Lot.objects.order_by().filter(date_code__icontains=value).values_list("date_code", flat=True).distinct()
        some = list(meant[: FEW_CODES + 1])
        return lots.filter(date_code__in=some) if len(some) <= FEW_CODES else lots.filter(date_code__icontains=value)

    def which(self, lots: "QuerySet[Lot]", name: str, value: str) -> "QuerySet[Lot]":
        if value == BLOCKED:
            return lots.exclude(blocked_reason="")
        return lots.filter(Q(on_hand__gt=0)) if value == HERE else lots


class MovementFilter(OfParts):
    """The ledger by kind, part, drawer, what it was for, who and when."""

    q = _search("Part", "of_part")
    kind = filters.ChoiceFilter(choices=MovementKind.choices, empty_label="any")
    drawer = _search("Drawer", "in_drawer")
    reference = filters.CharFilter(label="For job", method="for_job")
    person = filters.ModelChoiceFilter(label="Who", queryset=Staff.objects.all(), empty_label="anybody")
    since = filters.DateFilter(label="From", method="from_day", widget=forms.DateInput(attrs={"type": "date"}))
    until = filters.DateFilter(label="To", method="to_day", widget=forms.DateInput(attrs={"type": "date"}))

    class Meta:
        model = Movement
        fields: tuple[str, ...] = ()

    def of_part(self, moved: "QuerySet[Movement]", name: str, value: str) -> "QuerySet[Movement]":
        text = value[:80]
        few, lots = self.few_parts(text), Lot.objects.order_by()
        if few is not None:
            return moved.filter(lot__part__in=few)
        if self.is_counting:
            return moved.filter(lot__in=lots.filter(part__in=parts_matching(text).order_by().values("pk")).values("pk"))
        return moved.filter(Exists(lots.filter(matching_at("part__", text), pk=OuterRef("lot"))))

    def for_job(self, moved: "QuerySet[Movement]", name: str, value: str) -> "QuerySet[Movement]":
        """A whole number is found by it; else every number it is a piece of."""
        exact = moved.filter(reference=value.strip().upper())
        return exact if exact.exists() else moved.filter(reference__icontains=value.strip())

    def from_day(self, moved: "QuerySet[Movement]", name: str, value: date) -> "QuerySet[Movement]":
        """By moments, so that an index leads there, and in their order."""
        return moved.filter(at__gte=_begins(value)).order_by("-at", "-pk")

    def to_day(self, moved: "QuerySet[Movement]", name: str, value: date) -> "QuerySet[Movement]":
        if value == date.max:
            return moved
        return moved.filter(at__lt=_begins(value + timedelta(days=1))).order_by("-at", "-pk")

    def in_drawer(self, moved: "QuerySet[Movement]", name: str, value: str) -> "QuerySet[Movement]":
        """An exact code, or else every drawer of the cabinet of that name."""
        exact = drawer_called(value)
        if exact is not None:
            return moved.filter(drawer=exact)
        cabinets = cabinets_called(lambda name: name == fold(value))
        return moved.filter(drawer__in=Drawer.objects.order_by().filter(cabinet__in=cabinets).values("pk"))


OPEN, DRAFTS = "open", "drafts"
SHOW_ORDERS = [(OPEN, "open"), (DRAFTS, "being written"), (ALL, "all orders")]
SHOW_BILLS = [(ALL, "all bills"), (OPEN, "not accepted yet")]


class WithDefault(Searched):
    """`show` has a value also where the address says nothing."""

    usual = ALL

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        asked = data.copy() if data is not None else {}
        asked.setdefault("show", self.usual)
        super().__init__(asked, *args, **kwargs)


class OrderFilter(WithDefault):
    """Orders as `listed()`: what is open unless more is asked for."""

    usual = OPEN
    q = _search("Number, part or code", "find")
    supplier = filters.ModelChoiceFilter(label="Supplier", queryset=Supplier.objects.all(), empty_label="any")
    show = filters.ChoiceFilter(label="Show", method="which", choices=SHOW_ORDERS, empty_label=None)

    class Meta:
        model = Order
        fields: tuple[str, ...] = ()

    def find(self, orders: "QuerySet[Order]", name: str, value: str) -> "QuerySet[Order]":
        text = value[:80].strip()
        lines = OrderLine.objects.filter(order=OuterRef("pk"))
        wanted = lines.filter(Q(code__icontains=text) | Q(text__icontains=text) | matching_at("part__", text))
        return orders.filter(Q(number__icontains=text) | Exists(wanted))

    def which(self, orders: "QuerySet[Order]", name: str, value: str) -> "QuerySet[Order]":
        if value == DRAFTS:
            return orders.filter(state=OrderState.DRAFT)
        return orders.filter(state__in=(OrderState.DRAFT, OrderState.SENT)) if value == OPEN else orders


class SupplierBillFilter(WithDefault):
    q = filters.CharFilter(label="Number", method="of_number")
    supplier = filters.ModelChoiceFilter(label="Supplier", queryset=Supplier.objects.all(), empty_label="any")
    show = filters.ChoiceFilter(label="Show", method="which", choices=SHOW_BILLS, empty_label=None)

    class Meta:
        model = SupplierBill
        fields: tuple[str, ...] = ()

    def of_number(self, bills: "QuerySet[SupplierBill]", name: str, value: str) -> "QuerySet[SupplierBill]":
        """Few are named by their keys: every number is read once, not for the count and again for the page."""
        found = SupplierBill.objects.order_by().filter(number__icontains=value).values_list("pk", flat=True)
        some = list(found[: FEW_BILLS + 1])
        return bills.filter(pk__in=some) if len(some) <= FEW_BILLS else bills.filter(number__icontains=value)

    def which(self, bills: "QuerySet[SupplierBill]", name: str, value: str) -> "QuerySet[SupplierBill]":
        return bills.filter(accepted_at=None) if value == OPEN else bills


SHOW_CLAIMS = [(OPEN, "without an answer"), (ALL, "all claims")]


class SupplierClaimFilter(WithDefault):
    """Claims as `listed_claims()`: those that wait for an answer unless more is asked for."""

    usual = OPEN
    q = _search("Part, job or reason", "find")
    supplier = filters.ModelChoiceFilter(label="Supplier", queryset=Supplier.objects.all(), empty_label="any")
    show = filters.ChoiceFilter(label="Show", method="which", choices=SHOW_CLAIMS, empty_label=None)

    class Meta:
        model = SupplierClaim
        fields: tuple[str, ...] = ()

    def find(self, claims: "QuerySet[SupplierClaim]", name: str, value: str) -> "QuerySet[SupplierClaim]":
        text = value[:80].strip()
        return claims.filter(Q(reference__icontains=text) | Q(reason__icontains=text) | matching_at("lot__part__", text))

    def which(self, claims: "QuerySet[SupplierClaim]", name: str, value: str) -> "QuerySet[SupplierClaim]":
        return claims.filter(Q(state__in=WITHOUT_ANSWER)) if value == OPEN else claims
