"""The rules of the place: read, picked, tightened; and how long records must stay because of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Min
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.models import Invoice
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.clock import today
from shop.forms.compare import standing_now
from shop.forms.place import PlaceForm, values_of
from shop.jurisdictions import CHECK, PLACES, Rules, effective
from shop.jurisdictions.codes import (
    CONSENT,
    ESTIMATE,
    INVOICE,
    LETTER,
    NOTICE_KINDS,
    OVERRUN_WAYS,
    PARTS_RETURN_WAYS,
    SALE_WAYS,
    SENT_BY,
    UNREACHED,
)
from shop.jurisdictions.rules import (
    Cancellation,
    Guarantee,
    Listed,
    Overrun,
    PartsReturn,
    Retention,
    Rule,
    Surplus,
    TaxRule,
    Uncollected,
    WayOfSale,
)
from shop.models import Profile, Role, TaxCategory, TaxScheme
from shop.place import allowance_of, rules_of, save_place
from shop.web.pages import answer_once

SAVED = "The rules hold from now on. Estimates sent, consents and invoices issued keep what they were made under."
UNITS = {"allowance_bp": "%", "retention_years": "years", "wait_days": "days", "notice_days": "days"}


@dataclass(frozen=True, slots=True)
class Shown:
    """One rule as the page shows it: its title, what it comes to, its words and where it stands."""

    title: str
    values: tuple[str, ...]
    rule: Rule


@role_required(Role.OWNER)
def place(request: HttpRequest) -> HttpResponse:
    """`?of=` shows another place's rules before it is picked."""
    terms = get_object_or_404(Profile, pk=1)
    form = PlaceForm(request.POST or None, initial={**values_of(terms), "seen": terms.version})
    context: dict[str, Any] = {"form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "pick place", lambda: _save(form))
        except Stale as stale:
            form.take_refusal(stale)
            terms.refresh_from_db()
            context["now"] = standing_now(form, values_of(terms))
            form.see(terms.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=SAVED)
    other = request.GET.get("of", "")
    rules = effective(other, {}) if other in PLACES and other != terms.jurisdiction else rules_of(terms)
    context |= {
        "rules": rules,
        "shown": shown_rules(rules),
        "is_own": rules.code == terms.jurisdiction,
        "places": PLACES.values(),
        "fields": [(form[name], UNITS.get(name, "")) for name in form.fields if name not in ("once", "seen")],
        "allowance": (terms.allowance_bp, allowance_of(terms)),
        "kept": kept_records(rules_of(terms), today()),
        "check": CHECK,
    }
    return render(request, "shop/place.html", context, status=form.status)


def _save(form: PlaceForm) -> str:
    save_place(form.cleaned_data["jurisdiction"], form.wished(), seen=form.cleaned_data["seen"])
    return reverse("shop:place")


@dataclass(frozen=True, slots=True)
class Kept:
    """Records from `since` on must stay. `oldest` is the oldest paper there is; None where none was issued."""

    since: date
    oldest: date | None

    @property
    def may_go(self) -> bool:
        return self.oldest is not None and self.oldest < self.since


def kept_records(rules: Rules, day: date) -> Kept:
    oldest = Invoice.objects.aggregate(oldest=Min("issued_on"))["oldest"]
    return Kept(rules.retention.must_stay_since(day), oldest)


def shown_rules(rules: Rules) -> list[Shown]:
    unsent = rules.uncollected
    words = {id(rules.consent): CONSENT, id(rules.estimate): ESTIMATE, id(unsent.letter): LETTER, id(unsent.unreached): UNREACHED}
    return [Shown(title, tuple(values_in(rule, words.get(id(rule), INVOICE))), rule) for title, rule in rules.all]


def values_in(rule: Rule, words: Mapping[str, str]) -> list[str]:
    """What a rule comes to, in short words; `words` are those of the codes that it lists."""
    match rule:
        case Overrun():
            figure = "no figure" if rule.allowance_bp is None else f"at most {rule.allowance_bp / 100:g} %"
            return [OVERRUN_WAYS[rule.way], figure]
        case Listed():
            return [words[code] for code in rule.codes]
        case PartsReturn():
            return [PARTS_RETURN_WAYS[rule.way]]
        case Retention():
            return [f"{rule.years} years"]
        case Uncollected():
            wait = f"{rule.wait_days} days before a notice of sale" if rule.wait_days else "no days named before a notice of sale"
            clock = [wait, f"the day it names at least {rule.notice_days} days ahead"]
            return [*clock, *(NOTICE_KINDS[kind] for kind in rule.kinds), *(SENT_BY[way] for way in rule.sent_by)]
        case WayOfSale():
            published = [f"published at least {rule.published_days} days before"] if rule.published_days else []
            return [SALE_WAYS[rule.way], *published]
        case Surplus():
            return ["the customer's" if rule.days is None else f"the customer's; after {rule.days} days to {rule.to}"]
        case TaxRule():
            taxed = [f"parts: {TaxCategory(rule.parts).label.lower()}", f"labour: {TaxCategory(rule.labour).label.lower()}"]
            return [TaxScheme(rule.scheme).label, *taxed, *(["stated apart"] if rule.separate else [])]
        case Cancellation():
            return [f"{rule.days} days" if rule.days else "none for what is agreed at a distance"]
        case Guarantee():
            work = "no time named for work" if rule.days is None else f"at least {rule.days} days for work done"
            parts = [] if rule.days_of_parts == rule.days else [f"at least {rule.days_of_parts} days for parts"]
            return [work, *parts]
    return []
