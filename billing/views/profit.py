"""What jobs earned: the list, one job laid open, in groups; and what estimates missed. For the owner."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing import exports
from billing.forms.periods import DaysForm
from billing.forms.profit import GroupsForm, ProfitForm
from billing.queries.missed import missed
from billing.queries.newest import first_shown
from billing.queries.profit import BY, causes, groups_of, opened, profits
from billing.tables import MissedTable, ProfitTable
from billing.views.profit_charts import groups_chart
from jobs.models import Job
from shop.access import role_required
from shop.models import Profile, Role
from shop.web.context import shop_profile
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.saving import file_of, table_sheet, wants_file

USUAL_BY, MOST_RANKED = "month", 20


def _read(form: Any) -> dict[str, Any]:
    """What was asked for; what can't be read is said on the page and left out."""
    form.is_valid()
    return {name: value for name, value in form.cleaned_data.items() if value}


def _status(form: Any) -> int:
    return 422 if form.is_bound and form.errors else 200


def _page_of(request: HttpRequest, table: Any) -> Any:
    leaf_through(request, table)
    return table


@role_required(Role.OWNER)
@as_left("billing:profit", {"q": "", "shown": "billed", "first": "", "last": ""}, ProfitForm)
def profit_list(request: HttpRequest) -> HttpResponse:
    form, terms = ProfitForm(request.GET or None), shop_profile(request) or Profile()
    asked = _read(form) if form.is_bound else {}
    shown = asked.get("shown", "billed")
    since = None if asked.keys() - {"shown"} or shown != "billed" else first_shown()
    found = profits(terms, text=asked.get("q", ""), shown=shown, first=since or asked.get("first"), last=asked.get("last"))
    table = _page_of(request, ProfitTable(found.jobs, currency=terms.currency, locale=terms.locale))
    if wants_file(request):
        return file_of(request, table_sheet("profit-by-job", table))
    is_filtered = bool(asked.keys() - {"shown"}) or shown != "billed"
    context = {"form": form, "table": table, "found": found, "total": found.total, "is_filtered": is_filtered}
    context["since"] = since
    return render(request, "billing/profit_list.html", context, status=_status(form))


@role_required(Role.OWNER)
def job_profit(request: HttpRequest, pk: int) -> HttpResponse:
    """Every figure with what it is made of."""
    job = get_object_or_404(Job.objects.select_related("radio__model__set_class", "customer"), pk=pk)
    shown = opened(job, shop_profile(request) or Profile())
    return render(request, "billing/job_profit.html", {"job": job, "opened": shown, "one": shown.profit})


@role_required(Role.OWNER)
@as_left("billing:profit_groups", {"by": USUAL_BY, "first": "", "last": ""}, GroupsForm)
def profit_groups(request: HttpRequest) -> HttpResponse:
    """`?table=causes&as=csv` gives what came back, by cause; else the groups are the file."""
    form, terms = GroupsForm(request.GET or None), shop_profile(request) or Profile()
    asked = _read(form) if form.is_bound else {}
    by = asked.get("by", USUAL_BY)
    since = None if "first" in asked or "last" in asked else first_shown()
    found = profits(terms, first=since or asked.get("first"), last=asked.get("last"))
    groups, why, word = groups_of(found, by), causes(found), dict(BY)[by]
    if wants_file(request):
        is_causes = request.GET.get("table") == "causes"
        sheet = exports.causes_sheet(why, terms.currency) if is_causes else exports.groups_sheet(groups, word, terms.currency)
        return file_of(request, sheet)
    context = {
        "form": form,
        "groups": groups,
        "word": word,
        "causes": why,
        "total": found.total,
        "found": found,
        "chart": groups_chart(groups, word, terms.currency, terms.locale, upright=by in ("month", "age")),
        "is_filtered": "first" in asked or "last" in asked,
        "since": since,
    }
    return render(request, "billing/profit_groups.html", context, status=_status(form))


@role_required(Role.OWNER)
@as_left("billing:missed", {"first": "", "last": ""}, DaysForm)
def missed_list(request: HttpRequest) -> HttpResponse:
    """`?table=ranked&as=csv` gives what is missed most; else the jobs are the file."""
    form, terms = DaysForm(request.GET or None), shop_profile(request) or Profile()
    asked = _read(form) if form.is_bound else {}
    since = None if "first" in asked or "last" in asked else first_shown()
    found = missed(terms.currency, since or asked.get("first"), asked.get("last"))
    ranked = found.ranked()
    table = _page_of(request, MissedTable(found.jobs, currency=terms.currency, locale=terms.locale))
    if wants_file(request):
        by_job = request.GET.get("table") != "ranked"
        sheet = table_sheet("estimates-missed", table) if by_job else exports.ranked_sheet(ranked, terms.currency)
        return file_of(request, sheet)
    context = {
        "form": form,
        "table": table,
        "found": found,
        "ranked": ranked[:MOST_RANKED],
        "more": max(len(ranked) - MOST_RANKED, 0),
        "is_filtered": bool(asked),
        "since": since,
        "profile_url": reverse("shop:profile"),
    }
    return render(request, "billing/missed.html", context, status=_status(form))
