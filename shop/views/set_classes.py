"""Classes of sets that are priced alike."""

from typing import Any

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.models import SetClass
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.forms.house import SetClassChangeForm, SetClassForm
from shop.forms.seen import seen_of
from shop.models import Role
from shop.search_text import fold
from shop.web.pages import answer_once


@role_required(Role.OWNER)
def set_classes(request: HttpRequest) -> HttpResponse:
    """The classes, and the form for one more."""
    form = SetClassForm(request.POST or None)
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "add set class", lambda: _save(SetClass(), form))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The class is written down. Give it to the models it holds for.")
    listed = SetClass.objects.annotate(
        model_count=Count("models", distinct=True), task_count=Count("tasks", distinct=True)
    ).order_by("-in_use", "order", "name")
    return render(request, "shop/set_classes.html", {"form": form, "classes": listed}, status=form.status)


@role_required(Role.OWNER)
def set_class_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(SetClass, pk=pk)
    form = SetClassChangeForm(request.POST or None, initial={**_values(one), "seen": _seen(one)})
    context: dict[str, Any] = {"one": one, "form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change set class", lambda: _change(one, form))
        except Stale as stale:
            form.take_refusal(stale)
            one.refresh_from_db()
            context["now"] = standing_now(form, _values(one))
            form.see(_seen(one))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The class is changed.")
    return render(request, "shop/set_class_change.html", context, status=form.status)


def _values(one: SetClass) -> dict[str, Any]:
    return {"name": one.name, "order": one.order, "in_use": one.in_use}


def _seen(one: SetClass) -> int:
    return seen_of(_values(one).values())


def _change(one: SetClass, form: SetClassChangeForm) -> str:
    current = SetClass.objects.select_for_update().get(pk=one.pk)
    if _seen(current) != form.cleaned_data["seen"]:
        raise Stale("Somebody else changed this class since you opened it. Compare, then send again.")
    return _save(current, form)


def _save(one: SetClass, form: SetClassForm) -> str:
    typed = form.cleaned_data
    if any(fold(known.name) == fold(typed["name"]) and known.pk != one.pk for known in SetClass.objects.all()):
        raise Refused(f"There is a class called {typed['name']} already.", field="name")
    one.name, one.order, one.in_use = typed["name"], typed["order"], typed.get("in_use", True)
    one.save()
    return reverse("shop:set_classes")
