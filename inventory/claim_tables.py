"""The table of claims on suppliers."""

from datetime import date
from typing import Any, ClassVar

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.models import SupplierClaim, SupplierClaimKind
from inventory.queries.supplier_claims import MARKS, WITHOUT_ANSWER, SupplierCover
from inventory.tables import NUM, job_link, link
from inventory.valuation import coins
from shop.models import Profile
from shop.money import show
from shop.templatetags.shop_tags import day
from shop.web.marks import state as mark


class SupplierClaimTable(tables.Table):
    """Expects claims from `queries.supplier_claims.listed_claims`."""

    caption = "Claims on suppliers, those without an answer first"
    money = ("cost_milli", "credited")
    also = (("Reason", "reason"), ("Cover until", "until_on"), ("Claimed by", "person"))
    claim = tables.Column("Claim", accessor="lot__part", orderable=False)
    supplier = tables.Column("Supplier", orderable=False)
    count = tables.Column("Count", orderable=False, attrs=NUM)
    reference = tables.Column("For job", orderable=False, default="")
    state = tables.Column("State", orderable=False)
    last_on = tables.Column("Since", orderable=False)
    cost_milli = tables.Column("They cost", orderable=False, attrs=NUM)
    credited = tables.Column("Came back", orderable=False, attrs=NUM)

    class Meta:
        order_by: ClassVar = ()
        empty_text = "No claim answers to this. Show all claims, or ask for another word."

    def __init__(self, *args: Any, profile: Profile, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.profile, self.today = profile, today

    def currency_of(self, record: SupplierClaim) -> str:
        return self.profile.currency

    def value_claim(self, record: SupplierClaim) -> str:
        return record.lot.part.title

    def value_state(self, record: SupplierClaim) -> str:
        return str(SupplierClaimKind(record.state).label)  # type: ignore[attr-defined]

    def value_cost_milli(self, record: SupplierClaim) -> int:
        return coins(record.cost_milli)

    def render_claim(self, record: SupplierClaim) -> SafeString:
        return format_html("{}, lot {}", link("inventory:supplier_claim", record.pk, record.lot.part.title), record.lot_id)

    def render_reference(self, value: str) -> SafeString:
        return job_link(value)

    def render_state(self, record: SupplierClaim) -> SafeString:
        state: str = record.state  # type: ignore[attr-defined]
        told = mark(MARKS[SupplierClaimKind(state)], self.value_state(record))
        cover = SupplierCover(record.until_on, self.today)
        soon = state in WITHOUT_ANSWER and record.until_on is not None
        return format_html("{} {}", told, cover.words) if soon else told

    def render_last_on(self, value: date) -> SafeString | str:
        return day(value)

    def render_cost_milli(self, value: int) -> str:
        return show(coins(value), self.profile.currency, self.profile.locale)

    def render_credited(self, value: int) -> str:
        return show(value, self.profile.currency, self.profile.locale) if value else ""
