"""Taking a set in: one page, one form. Its smaller buttons look things up and bring all back as typed; the last one acts."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.forms.intake import (
    NEW_SET,
    IntakeForm,
    JobChangeForm,
    SetChangeForm,
    alike_key,
    job_values,
    kept,
    set_values,
)
from jobs.models import Job, RadioModel, RadioSet
from jobs.queries.known import known_sets, model_called, models_like, set_cautions, sets_of
from jobs.queries.model_history import glimpse_of
from jobs.services.intake import Intake, change_job, change_set, take_in
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.customers import KnownAlready, refuse_known
from shop.forms.compare import standing_now
from shop.models import Customer, Profile, Role
from shop.pictures import Picture, read_picture
from shop.place import rules_of
from shop.web.pages import answer_once, go, wants_fragment

MOST_FOUND = 8
NO_WARRANTY = (
    "No warranty runs on this set, so it can't come back under one. Take the tick out. Under one that has run out it is "
    "claimed on the job's own page, so that it is written down why it is charged or borne."
)


@role_required(Role.COUNTER)
def intake(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, _fresh(request))
    changes = _looked_up(request.POST)
    if changes is not None:
        typed = kept(request.POST, changes)
        return _page(request, IntakeForm(initial=typed, radios=_radios(typed.get("customer")), rules=rules_of(Profile.current())))
    return _take_in(request)


def _fresh(request: HttpRequest) -> IntakeForm:
    profile = Profile.current()
    fees = _usual_fees(profile) if profile else {}
    radios = _radios(request.GET.get("customer"))
    wanted = request.GET.get("set") or (str(radios[0].pk) if len(radios) == 1 else "")
    initial = {**fees, "customer": request.GET.get("customer"), "radio": wanted}
    return IntakeForm(initial=initial, radios=radios, rules=rules_of(profile))


def _usual_fees(profile: Profile) -> dict[str, int | None]:
    """What the shop asks as a rule, to be told to the customer; nothing is agreed until it is sent with the form."""
    return {
        "inspection_fee": profile.inspection_fee_minor or None,
        "minimum_fee": profile.minimum_fee_minor or None,
        "decline_fee": profile.decline_fee_minor or None,
    }


def _customer(pk: object) -> Customer | None:
    return Customer.objects.filter(pk=int(str(pk))).first() if str(pk or "").isdecimal() and len(str(pk)) < 18 else None


def _radios(customer_pk: object) -> list[RadioSet]:
    customer = _customer(customer_pk)
    return list(sets_of(customer)) if customer else []


def _looked_up(data: QueryDict) -> dict[str, object] | None:
    """What a look-up button changes in the form; None where the set shall be taken in."""
    if "choose_customer" in data:
        radios = _radios(data["choose_customer"])
        only = str(radios[0].pk) if len(radios) == 1 and not data.get("maker") else ""
        return {"customer": data["choose_customer"], "who": "", "radio": only}
    if "other_customer" in data:
        return {"customer": "", "radio": "", "came_back": False}
    if "choose_model" in data:
        return _model_values(data)
    if "find_customer" in data or (data.get("who") and not data.get("customer") and not data.get("name")):
        return _who_is_new(data)
    return {} if "find_model" in data else None


def _model_values(data: QueryDict) -> dict[str, object]:
    pk = str(data["choose_model"])
    model = RadioModel.objects.filter(pk=int(pk)).first() if pk.isdecimal() and len(pk) < 18 else None
    if model is None:
        return {}
    known = {"maker": model.maker, "model": model.name, "supply_kind": model.supply_kind}
    return {**known, "lineup": data.get("lineup") or model.lineup, "year": data.get("year") or model.year}


def _who_is_new(data: QueryDict) -> dict[str, object]:
    """Nobody answers to what was typed: it goes into the field of a new card where it belongs."""
    text = data.get("who", "").strip()
    if not text or Customer.objects.matching(text).exists():
        return {}
    field = "email" if "@" in text else "phone" if any(c.isdigit() for c in text) else "name"
    return {} if data.get(field) else {field: text}


def _page(request: HttpRequest, form: IntakeForm, alike: Sequence[Customer] = ()) -> HttpResponse:
    customer = _customer(form["customer"].value())
    who = str(form["who"].value() or "").strip()
    known = known_sets(form.radios, today())
    context = {
        "form": form,
        "alike": alike,
        "alike_key": alike_key(form.customer_facts()) if alike else "",
        "customer": customer,
        "found": list(Customer.objects.matching(who)[:MOST_FOUND]) if who and not customer else [],
        "who": who,
        "set_choices": form.set_choices(known) if form.radios else [],
        "covered_any": any(one.covered for one in known),
        **_set_context(form),
    }
    return render(request, "jobs/intake.html", context, status=form.status)


def _set_context(form: IntakeForm) -> dict[str, object]:
    """What is known of the set so far: its model, models like it, cautions."""
    maker, name, supply, lineup = (str(form[field].value() or "") for field in ("maker", "model", "supply_kind", "lineup"))
    model, radio = model_called(maker, name), form.radio_named(form["radio"].value())
    known = radio.model if radio else model
    return {
        "model": model,
        "glimpse": glimpse_of(known) if known else None,
        "models": [] if model else models_like(f"{maker} {name}"),
        "another_set": bool(maker or name) or form["radio"].value() == NEW_SET,
        "cautions": set_cautions(radio.model.supply_kind, radio.year, radio.lineup)
        if radio
        else set_cautions(supply, _year(form["year"].value()), lineup),
    }


def _year(text: Any) -> int | None:
    return int(text) if str(text or "").isdecimal() and len(str(text)) == 4 else None


def _take_in(request: HttpRequest) -> HttpResponse:
    form = IntakeForm(
        request.POST, request.FILES, radios=_radios(request.POST.get("customer")), rules=rules_of(Profile.current())
    )
    if form.is_valid():
        try:
            # Read before the act: a large picture takes a while, and nobody else could write meanwhile.
            pictures = [read_picture(one, str(one.name), settings.PHOTO_MAX_BYTES) for one in form.cleaned_data["photos"]]
            done = acts.once(form.cleaned_data["once"], "take in", lambda: _act(request, form, pictures))
        except KnownAlready as known:
            form.take_refusal(known)
            return _page(request, form, known.alike)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(
                request, *done, said="The set is taken in. Print the claim check for the customer and the tag for the set."
            )
    return _page(request, form)


def _act(request: HttpRequest, form: IntakeForm, pictures: Sequence[Picture]) -> str:
    data, radio = form.cleaned_data, form.chosen_radio()
    customer, facts = data["customer"], form.customer_facts()
    if customer is None and data["somebody_else"] != alike_key(facts):
        refuse_known(facts)
    wanted = Intake(
        job=form.job_facts(_covered_job(form, radio)),
        customer=customer,
        new_customer=None if customer else facts,
        radio=radio,
        new_set=None if radio else form.set_facts(),
        deposit_minor=data["deposit"] or 0,
        deposit_how=data["deposit_how"],
        inspection_fee_minor=data["inspection_fee"] or 0,
        minimum_fee_minor=data["minimum_fee"] or 0,
        decline_fee_minor=data["decline_fee"] or 0,
        photos=tuple(pictures),
    )
    return reverse("jobs:job", args=[take_in(wanted, person=staff_of(request), at=now()).pk])


def _covered_job(form: IntakeForm, radio: RadioSet | None) -> Job | None:
    if not form.cleaned_data["came_back"]:
        return None
    covered = known_sets([radio], today())[0].covered if radio else None
    if covered is None:
        raise Refused(NO_WARRANTY, field="came_back")
    return covered


@role_required(Role.COUNTER)
def set_lookup(request: HttpRequest) -> HttpResponse:
    """A piece with the known models that fit what is typed as maker or model; asked for as a page, it is the list of models."""
    text = (request.GET.get("model") or request.GET.get("maker") or "")[:160]
    if not wants_fragment(request):
        return go(request, f"{reverse('jobs:models')}?{urlencode({'q': text})}")
    return render(request, "jobs/_intake_models.html", {"models": models_like(text)})


@role_required(Role.COUNTER)
def intake_cautions(request: HttpRequest) -> HttpResponse:
    """A piece with the cautions for the supply, year and line-up typed so far."""
    supply, lineup = request.GET.get("supply_kind", ""), request.GET.get("lineup", "")
    return render(request, "jobs/_cautions.html", {"cautions": set_cautions(supply, _year(request.GET.get("year")), lineup)})


@role_required(Role.COUNTER)
def job_change(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.with_heads(), pk=pk)
    form = JobChangeForm(request.POST or None, initial=job_values(job))
    context: dict[str, object] = {"job": job, "form": form}
    if form.is_valid():
        address = reverse("jobs:job", args=[job.pk])
        try:
            done = acts.once(form.cleaned_data["once"], "change job", lambda: _change_job(job, form, address))
        except Stale as stale:
            form.take_refusal(stale)
            job.refresh_from_db()
            context["now"] = standing_now(form, job_values(job))
            form.see(job.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="What was written at intake is corrected.")
    return render(request, "jobs/job_change.html", context, status=form.status)


def _change_job(job: Job, form: JobChangeForm, address: str) -> str:
    change_job(job, form.job_facts(), seen=form.cleaned_data["seen"], at=now())
    return address


@role_required(Role.COUNTER, Role.BENCH)
def set_change(request: HttpRequest, pk: int) -> HttpResponse:
    radio = get_object_or_404(RadioSet.objects.select_related("model", "customer"), pk=pk)
    form = SetChangeForm(request.POST or None, initial=set_values(radio))
    context: dict[str, object] = {"radio": radio, "form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change set", lambda: _change_set(radio, form))
        except Stale as stale:
            form.take_refusal(stale)
            radio = RadioSet.objects.select_related("model").get(pk=radio.pk)
            context["now"] = standing_now(form, set_values(radio))
            form.see(radio.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The set's data are corrected.")
    return render(request, "jobs/set_change.html", context, status=form.status)


def _change_set(radio: RadioSet, form: SetChangeForm) -> str:
    return reverse("jobs:model", args=[change_set(radio, form.set_facts(), seen=form.cleaned_data["seen"]).model_id])
