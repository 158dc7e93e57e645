"""A page with every piece on it, for tests to look at: templates, forms and tables of an invented job."""

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import django_tables2 as tables
from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.template import engines

from shop.acts import Refused
from shop.web.forms import DayField, MinutesField, MoneyField, NotationField, PercentField, PhotoField, SeenForm
from shop.web.pages import Confirmation, Undo, confirm, refuse, tell, warn

PAGE = Path(__file__).with_name("specimen.html")
STAGES = [
    ("Intake", "done"),
    ("Inspection", "done"),
    ("Estimate", "now"),
    ("Fitting", "ahead"),
    ("Soak", "ahead"),
    ("Hand-over", "ahead"),
]
LOG = """
C12|coupling|0.05 µF 400 V|0.05 µF paper|0.09 µF|no|Leaky|Replace|0.047 µF 630 V|85|
R5|anode load|47 kΩ|47 kΩ|61 kΩ|warn|Drifted|Replace|||next
V3|output valve|UL41|UL41||open|Not measured||||
R7|cathode|150 Ω|150 Ω|156 Ω|yes|Within tolerance|Leave|||
"""
COLUMNS = ["name", "role", "called", "found", "measured", "mark", "verdict", "decision", "fitted", "cost", "next"]
PARTS = [{"name": f"Film 0.0{n} µF 630 V", "drawer": f"A{n}", "on_hand": n, "price": f"£0.{n}5"} for n in range(1, 8)]


class PartsTable(tables.Table):
    caption = "Parts in the drawers"
    name = tables.Column("Part")
    drawer = tables.Column("Drawer", orderable=False)
    on_hand = tables.Column("There", attrs={"td": {"class": "num"}})
    price = tables.Column("Price", attrs={"td": {"class": "num"}}, orderable=False)

    class Meta:
        empty_text = "No part answers to this. Take a word out of the search, or receive a lot first."


class WorkForm(SeenForm):
    position = forms.CharField(label="Position", help_text="As the service data names it.")
    value = NotationField(label="Measured", help_text="Any notation: 4k7, 0.05 MFD.")
    price = MoneyField(label="Price", required=False)
    markup = PercentField(label="Markup", required=False)
    time = MinutesField(label="Time", help_text="45, or 1:30.")
    promised_on = DayField(label="Promised", required=False)
    goal = forms.ChoiceField(label="Goal", choices=[("w", "Working"), ("m", "Museum")], widget=forms.RadioSelect)
    drill = forms.BooleanField(label="We may drill the chassis", required=False)
    note = forms.CharField(label="Note", widget=forms.Textarea, required=False)
    photos = PhotoField(label="Photos", required=False)


def refused_form() -> WorkForm:
    form = WorkForm({"position": "", "value": "10", "price": "12,3,4", "time": "1.30"}, currency="GBP", auto_id="again_%s")
    form.is_valid()
    form.take_refusal(Refused("C12 was fitted by Orla Quillfeather a minute ago. Look at the log, then enter it again."))
    return form


def pieces(request: HttpRequest) -> dict[str, Any]:
    table = PartsTable(PARTS, order_by=request.GET.get("sort", "name"))
    table.paginate(page=request.GET.get("page", 1), per_page=3)
    positions: list[dict[str, Any]] = [dict(zip(COLUMNS, line.split("|"), strict=True)) for line in LOG.strip().splitlines()]
    for position in positions:
        position["cost"] = int(position["cost"]) if position["cost"] else None
    return {
        "stages": STAGES, "positions": positions, "benches": ["Window bench", "Long bench", "Soak shelf"],
        "table": table, "fresh": WorkForm(currency="GBP", initial={"price": 1250, "seen": 1}),
        "empty_table": PartsTable([]), "refused": refused_form(),
        "on": date(2026, 3, 14), "at": datetime(2026, 3, 2, 9, 30, tzinfo=UTC), "minutes": 90, "due": 12_500, "bp": 1750,
    }  # fmt: skip


def specimen(request: HttpRequest) -> HttpResponse:
    tell(request, "C12 fitted from drawer A3.", Undo("/x/", "Take it out again", {"entry": 7}))
    warn(request, "R5 is still without a decision.")
    messages.info(request, "The service data came from the last set of this model.")
    return HttpResponse(engines["django"].from_string(PAGE.read_text(encoding="utf-8")).render(pieces(request), request))


def asked(request: HttpRequest) -> HttpResponse:
    facts = [("Customer", "Wilmot Asketh"), ("Sum", "£245.00")]
    warning = "An issued invoice is never changed. A mistake is put right by a credit note."
    question = Confirmation("Issue this invoice?", warning, "Issue the invoice", "/x/", "/", facts, {"job": 31})
    return confirm(request, question)


def refused(request: HttpRequest) -> HttpResponse:
    return refuse(request, "Only two of C12’s parts are left in drawer A3. Count the drawer, or choose another part.", back="/")


@login_not_required
def found(request: HttpRequest) -> HttpResponse:
    return HttpResponse('<ul><li><a href="#c">Wilmot Asketh</a></li><li><a href="#d">Wilma Drummel</a></li></ul>')
