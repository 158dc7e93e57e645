"""Valves as individuals: the list, setting apart, readings, matched sets, testers."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory import services
from inventory.exports import valves_sheet
from inventory.forms.individuals import ApartForm, MatchForm, PartSetForm, TesterChangeForm, TesterForm, ValveTestForm
from inventory.models import Balance, Drawer, Lot, MatchedSet, ValveTester
from inventory.queries.individuals import individuals, matched_sets, shown, to_be_tested
from inventory.views.acting import carry_out
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.forms.compare import standing_now
from shop.models import Role
from shop.web.forms import TradeForm
from shop.web.lists import as_left
from shop.web.pages import Undo, answer_once, page_of, refuse
from shop.web.saving import file_of, wants_file


@role_required(*EVERYBODY)
@as_left("inventory:valves", {"q": "", "gone": ""}, words={"gone": {"1": "also those that are gone"}})
def valve_list(request: HttpRequest) -> HttpResponse:
    text, gone = request.GET.get("q", "")[:80], bool(request.GET.get("gone"))
    if wants_file(request):
        return file_of(request, valves_sheet(text, gone=gone))
    page = page_of(request, individuals(text, gone=gone))
    context = {"page": page, "valves": shown(list(page.object_list)), "text": text, "gone": gone}
    context |= {"sets": list(matched_sets()[:50]), "waiting": to_be_tested(today()), "testers": ValveTester.objects.all()}
    return render(request, "inventory/valve_list.html", context)


def _act(request: HttpRequest, form: TradeForm, facts: dict[str, Any]) -> HttpResponse:
    return render(request, "inventory/valve_act.html", {"form": form, **facts}, status=form.status)


@role_required(Role.BENCH)
def set_apart(request: HttpRequest, lot_pk: int, drawer_pk: int) -> HttpResponse:
    lot = get_object_or_404(Lot.objects.select_related("part"), pk=lot_pk)
    drawer = get_object_or_404(Drawer, pk=drawer_pk)
    back = reverse("inventory:lot", args=[lot_pk])
    if lot.is_individual:
        return refuse(request, f"{lot.mark} is an individual already.", back=back)
    free = Balance.objects.filter(lot=lot, drawer=drawer).first()
    marks = services.next_marks(min(max(free.free if free else 0, 1), 4))
    form = ApartForm(request.POST or None, initial={"marks": " ".join(marks)})

    def work() -> str:
        services.set_apart(lot, drawer, form.cleaned_data["marks"], person=staff_of(request), at=now())
        return reverse("inventory:valves") + f"?q={lot.part.marking}"

    if form.is_bound and (done := carry_out(form, "set apart", work)):
        many = len(form.cleaned_data["marks"])
        said = f"{many} {'is' if many == 1 else 'are'} set apart. Write the marks on the valves or their boxes."
        return answer_once(request, *done, said=said)
    told = f"{free.free if free else 0} of lot {lot.pk} lie free in drawer {drawer}."
    return _act(request, form, {"title": f"Set {lot.part.title} apart", "told": told, "act": "Set them apart", "back": back})


@role_required(Role.BENCH)
def valve_test(request: HttpRequest, pk: int) -> HttpResponse:
    lot = get_object_or_404(Lot.objects.select_related("part"), pk=pk)
    back = reverse("inventory:lot", args=[pk])
    if not lot.is_individual:
        return refuse(request, "Set the valve apart under a mark first: a reading belongs to one valve.", back=back)
    form = ValveTestForm(request.POST or None, initial={"tested_on": today()})

    def work() -> str:
        services.record_test(lot, form.tested(), person=staff_of(request), at=now())
        return back

    if form.is_bound and (done := carry_out(form, "test valve", work)):
        return answer_once(request, *done, said=f"The reading of {lot.mark} is kept.")
    told = "" if ValveTester.objects.filter(in_use=True).exists() else "Write your tester down first, with its calibration."
    facts = {"title": f"Test {lot.mark}, {lot.part.title}", "told": told, "act": "Keep the reading", "back": back}
    return _act(request, form, facts)


@role_required(Role.BENCH)
def match(request: HttpRequest) -> HttpResponse:
    form, matched = MatchForm(request.POST or None), list[MatchedSet]()
    back = reverse("inventory:valves")

    def work() -> str:
        lots, note = list(form.cleaned_data["lots"]), form.cleaned_data["note"]
        matched.append(services.match(lots, note, person=staff_of(request), at=now()))
        return back

    if form.is_bound and (done := carry_out(form, "match valves", work)):
        said = "They are matched, and shown together wherever one of them is offered."
        return answer_once(request, *done, said=said, undo=_parting(matched[0]) if matched else None)
    told = "Valves that were set apart and lie in a drawer, of one type."
    return _act(request, form, {"title": "Match valves", "told": told, "act": "Match them", "back": back})


def _parting(matched: MatchedSet) -> Undo:
    return Undo(reverse("inventory:part_set", args=[matched.pk]), "Undo", {"reason": "matched by mistake"})


@role_required(Role.BENCH)
def part_set(request: HttpRequest, pk: int) -> HttpResponse:
    matched = get_object_or_404(MatchedSet.objects.prefetch_related("lots"), pk=pk)
    back, form = reverse("inventory:valves"), PartSetForm(request.POST or None)

    def work() -> str:
        services.part_set(matched, form.cleaned_data["reason"], at=now())
        return back

    if form.is_bound and (done := carry_out(form, "part matched set", work)):
        return answer_once(request, *done, said="The set is parted; each valve may go its own way.")
    if matched.parted_at is not None:
        return refuse(request, "This set was parted already.", back=back)
    marks = ", ".join(one.mark for one in matched.lots.all())  # type: ignore[attr-defined]
    told = f"{marks}: {matched.note}"
    return _act(request, form, {"title": "Part a matched set", "told": told, "act": "Part them", "back": back})


@role_required(Role.BENCH)
def tester_new(request: HttpRequest) -> HttpResponse:
    back, form = reverse("inventory:valves"), TesterForm(request.POST or None)

    def work() -> str:
        services.add_tester(form.facts(), today=today())
        return back

    if form.is_bound and (done := carry_out(form, "add tester", work)):
        return answer_once(request, *done, said="The tester is written down.")
    return _act(request, form, {"title": "Write a tester down", "told": "", "act": "Write it down", "back": back})


@role_required(Role.BENCH)
def tester_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(ValveTester, pk=pk)
    back = reverse("inventory:valves")
    form = TesterChangeForm(request.POST or None, initial={**_values(one), "seen": services.tester_seen(one)})
    facts: dict[str, Any] = {"title": f"Correct {one.name}", "act": "Correct it", "back": back}
    facts["told"] = "Readings keep the calibration that they were taken under."
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change tester", _changed(one, form, back))
        except Stale as stale:
            form.take_refusal(stale)
            one.refresh_from_db()
            facts["now"] = standing_now(form, _values(one))
            form.see(services.tester_seen(one))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The tester's card is corrected.")
    return _act(request, form, facts)


def _changed(one: ValveTester, form: TesterChangeForm, back: str) -> Callable[[], str]:
    def work() -> str:
        services.change_tester(one, form.facts(), today=today(), seen=form.cleaned_data["seen"])
        return back

    return work


def _values(one: ValveTester) -> dict[str, Any]:
    return {"name": one.name, "calibrated_on": one.calibrated_on, "note": one.note, "in_use": one.in_use}
