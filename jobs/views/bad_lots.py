"""Bad lots: the list, the sets one is in, the letters to their owners, that they went out and what was answered."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.models import BadLot
from inventory.queries.supplier_claims import claims_on, cover_of
from jobs.exports import bad_lot_sheet, bad_lots_sheet
from jobs.forms.bad_lots import AnswerForm, LettersSentForm
from jobs.queries.bad_lot_paper import letters_bound, letters_of
from jobs.queries.bad_lots import GUESSED_MINUTES, BadLots, bad_lots, bad_lots_of, listed_bad_lots
from jobs.services import bad_lot_letters as services
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.letterhead_of import letterhead
from shop.models import Role
from shop.web.context import shop_currency, shop_profile
from shop.web.lists import as_left
from shop.web.pages import Undo, answer_once, page_of, refuse
from shop.web.pdf import answer_with
from shop.web.press import press
from shop.web.saving import batches_of, file_of, wants_file

OPEN, ALL = "open", "all"
SHOW = {OPEN: "those that stand", ALL: "those that were lifted, too"}
WRITERS = (Role.COUNTER, Role.BENCH)


@role_required(*EVERYBODY)
@as_left("jobs:bad_lots", {"show": OPEN}, words={"show": SHOW})
def bad_lot_list(request: HttpRequest) -> HttpResponse:
    show = ALL if request.GET.get("show") == ALL else OPEN
    rows, day, terms = listed_bad_lots(open_only=show == OPEN), today(), shop_profile(request)
    if wants_file(request):
        every = (one for some in batches_of(rows) for one in bad_lots(some, day, terms))
        return file_of(request, bad_lots_sheet(every, shop_currency()))
    page = page_of(request, rows)
    shown = [(one, cover_of(one.first.lot, day)) for one in bad_lots(list(page.object_list), day, terms)]
    context: dict[str, Any] = {"page": page, "shown": shown, "show": show, "choices": SHOW.items()}
    context["any_bad"] = bool(shown) or BadLot.objects.exists()
    return render(request, "jobs/bad_lot_list.html", context)


def _load(request: HttpRequest, pk: int) -> BadLots:
    return bad_lots_of(get_object_or_404(BadLot, pk=pk), today(), shop_profile(request))


def page_of_bad(pk: int) -> str:
    return reverse("jobs:bad_lot", args=[pk])


@role_required(*EVERYBODY)
def bad_lot(request: HttpRequest, pk: int) -> HttpResponse:
    found = _load(request, pk)
    if wants_file(request):
        return file_of(request, bad_lot_sheet(found, shop_currency()))
    context = {
        "found": found,
        "bad": found.first,
        "page": page_of(request, list(found.sets)),
        "cover": cover_of(found.first.lot, today()),
        "claims": claims_on(found.lots),
        "guessed": GUESSED_MINUTES,
    }
    return render(request, "jobs/bad_lot.html", context)


@role_required(*WRITERS)
def bad_lot_letters(request: HttpRequest, pk: int) -> HttpResponse:
    """The letters to all who are to be told, as one PDF; `?entry=` the one about that fitted part, told or not."""
    found, wanted = _load(request, pk), request.GET.get("entry", "")
    sets = [one for one in found.sets if str(one.entry.pk) == wanted] if wanted else found.to_tell
    papers = letters_of(sets, letterhead(), today())
    if not papers:
        words = "Nobody is left to be told: every owner has a letter, or the part is out of the set, or the set is here."
        return refuse(request, words, back=page_of_bad(pk))
    return answer_with(lambda: letters_bound(papers, found.first.lot_id), back=page_of_bad(pk))


@role_required(*WRITERS)
def bad_lot_sent(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down that letters went out; ticked are those who had none."""
    found = _load(request, pk)
    sets = [one for one in found.sets if one.still_fitted]
    first = {"entries": [one.entry.pk for one in found.to_tell], "on": today(), "seen": services.last_row(found.found)}
    form = LettersSentForm(request.POST or None, sets=sets, initial=first)

    def work() -> str:
        person, seen = staff_of(request), form.cleaned_data["seen"]
        services.record_letters(found.found, form.told(), person=person, at=now(), seen=seen)
        return page_of_bad(pk)

    if (done := _carry_out(form, "letters sent", work, found)) is not None:
        entries = ",".join(str(key) for key in form.cleaned_data["entries"])
        undo = Undo(reverse("jobs:bad_lot_unsent", args=[pk]), "They didn’t go out", {"entries": entries})
        return answer_once(request, *done, said="Written down: the letters went out. Keep the proof of sending.", undo=undo)
    return _form(request, found, form, "The letters went out", "Write it down")


def _carry_out(form: Any, act: str, work: Any, found: BadLots) -> tuple[str, bool] | None:
    if not form.is_bound or not form.is_valid():
        return None
    try:
        return acts.once(form.cleaned_data["once"], act, work)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(services.last_row(found.found))
    except Refused as refused:
        form.take_refusal(refused)
    return None


def _form(request: HttpRequest, found: BadLots, form: Any, title: str, act: str) -> HttpResponse:
    context = {"found": found, "bad": found.first, "form": form, "title": title, "act": act, "back": page_of_bad(found.first.pk)}
    return render(request, "jobs/bad_lot_act.html", context, status=form.status)


@role_required(*WRITERS)
@require_POST
def bad_lot_unsent(request: HttpRequest, pk: int) -> HttpResponse:
    """`entries`: keys of fitted parts, by commas."""
    found = _load(request, pk)
    wanted = set(request.POST.get("entries", "")[:4000].split(","))
    entries = [one.entry for one in found.sets if str(one.entry.pk) in wanted and one.letter is not None]

    def work() -> object:
        return services.take_letters_back(found.found, entries, person=staff_of(request), at=now())

    return press(request, "letters not sent", work, page_of_bad(pk), "Written down: they are still to be told.")


@role_required(*WRITERS)
def bad_lot_answer(request: HttpRequest, pk: int) -> HttpResponse:
    """`?entry=` ticks whose answer it is."""
    found, wanted = _load(request, pk), request.GET.get("entry", "")
    chosen = [one.entry.pk for one in found.sets if str(one.entry.pk) == wanted]
    first = {"entries": chosen, "on": today(), "seen": services.last_row(found.found)}
    form = AnswerForm(request.POST or None, sets=found.sets, initial=first)

    def work() -> str:
        typed = form.cleaned_data
        services.record_answer(found.found, form.told(), typed["answer"], person=staff_of(request), at=now(), seen=typed["seen"])
        return page_of_bad(pk)

    if (done := _carry_out(form, "answer to a letter", work, found)) is not None:
        return answer_once(request, *done, said="Their answer is written down.")
    return _form(request, found, form, "An owner answered", "Write the answer down")
