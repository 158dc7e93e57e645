"""One position: its state, its whole history, and every entry that can be made on it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.components.roles import role as role_of
from inventory.models import Drawer, Lot
from jobs.forms import entries as forms
from jobs.forms.entries import EntryForm, OfferForm, ReadingForm
from jobs.forms.voltages import VoltageForm
from jobs.models import EntryKind, Job, LogEntry, Position
from jobs.queries.borne import borne_on
from jobs.queries.candidates import DrawerCandidate, candidates_for
from jobs.queries.making_up import MADE_UP
from jobs.queries.model_history import with_elsewhere
from jobs.queries.photos import CHANGES, photos_at
from jobs.queries.reforming import reformable
from jobs.queries.service_sheets import cut_around, place_on_sheet
from jobs.queries.sheet import PositionState, Sheet, in_words, position_state, sheet_of
from jobs.queries.supply import FIELD_OF_ROLE, MARKED
from jobs.queries.voltages import points_of
from jobs.services import log
from jobs.services.log import FITTING_STAGES, TAKING_OUT_STAGES, Author
from jobs.views.job_frame import carry_out, frame, load_job
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Role
from shop.web.pages import Undo, answer_once, go

Write = Callable[[Position, Any, Author], LogEntry]


@dataclass(frozen=True, slots=True)
class Writing:
    """One kind of entry: its form, its writer, its button, and the field a correction starts from."""

    form: type[EntryForm]
    write: Write
    act: str
    starts: Callable[[LogEntry], dict[str, object]] = lambda entry: {}


def _corrected(position: Position, form: EntryForm) -> LogEntry | None:
    return _entry(position, form.cleaned_data["corrects"]) if form.cleaned_data.get("corrects") else None


def _entry(position: Position, pk: int) -> LogEntry:
    found = position.entries.filter(pk=pk).first() if pk < 2**63 else None  # type: ignore[attr-defined]
    if found is None:
        raise Refused("That entry isn't one of this position's. Choose it in the history below.")
    return found


def _found(position: Position, form: EntryForm, author: Author) -> LogEntry:
    return log.record_found(position, form.cleaned_data["found"], author, corrects=_corrected(position, form))


def _measured(position: Position, form: Any, author: Author) -> LogEntry:
    typed, corrects = form.cleaned_data, _corrected(position, form)
    circuit, verdict = typed["in_circuit"], typed["verdict"]
    return log.record_measured(position, form.reading, author, in_circuit=circuit, verdict=verdict, corrects=corrects)


def _voltage(position: Position, form: EntryForm, author: Author) -> LogEntry:
    typed, corrects = form.cleaned_data, _corrected(position, form)
    return log.record_voltage(position, typed["point"], typed["voltage"], author, note=typed["note"], corrects=corrects)


def _decide(position: Position, form: EntryForm, author: Author) -> LogEntry:
    typed = form.cleaned_data
    return log.decide(position, typed["decision"], author, why=typed["why"], corrects=_corrected(position, form))


def _amend(position: Position, form: EntryForm, author: Author) -> LogEntry:
    return log.amend_called_for(position, form.cleaned_data["called"], author, corrects=_corrected(position, form))


def _wiring(position: Position, form: EntryForm, author: Author) -> LogEntry:
    text, corrects = form.cleaned_data["text"], _corrected(position, form)
    return log.record_wiring(position.job, text, author, position=position, corrects=corrects)


def _note(position: Position, form: EntryForm, author: Author) -> LogEntry:
    text, corrects = form.cleaned_data["text"], _corrected(position, form)
    return log.record_note(position.job, text, author, position=position, corrects=corrects)


def _polarity(position: Position, form: EntryForm, author: Author) -> LogEntry:
    return log.confirm_polarity(position, author, note=form.cleaned_data["note"], corrects=_corrected(position, form))


def _take_out(position: Position, form: EntryForm, author: Author) -> LogEntry:
    typed = form.cleaned_data
    return log.take_out(_entry(position, typed["entry"]), typed["reason"], author, scrap=typed["where"] == "scrap")


def _withdraw(position: Position, form: EntryForm, author: Author) -> LogEntry:
    return log.withdraw(_entry(position, form.cleaned_data["entry"]), author, why=form.cleaned_data["why"])


def offered(offer: str) -> tuple[Lot, Drawer]:
    """The lot and the drawer that a pressed offer names."""
    lot_pk, drawer_pk = (min(int(part), 2**63 - 1) for part in offer.split(":"))
    lot = Lot.objects.select_related("part").filter(pk=lot_pk).first()
    drawer = Drawer.objects.filter(pk=drawer_pk).first()
    if lot is None or drawer is None:
        raise Stale("That part isn't in this drawer any more. Choose another from the list as it is now.")
    return lot, drawer


def _plan(position: Position, form: Any, author: Author) -> LogEntry:
    lot, drawer = offered(form.cleaned_data["offer"])
    plan = log.Plan(lot.part, form.cleaned_data["count"], lot, drawer, form.set_price)
    return log.decide(position, "replace", author, why=form.cleaned_data["note"], plan=plan)


def _fit(position: Position, form: Any, author: Author) -> LogEntry:
    lot, drawer = offered(form.cleaned_data["offer"])
    typed = form.cleaned_data
    fitting = log.Fit(
        lot,
        drawer,
        typed["count"],
        not_charged=typed["not_charged"],
        price=form.set_price,
        override_reason=typed["override_reason"],
        override_by=typed["override_by"],
        note=typed["note"],
    )
    return log.fit(position, fitting, author)


def _words(field: str) -> Callable[[LogEntry], dict[str, object]]:
    return lambda entry: {field: entry.text}


WRITINGS: Mapping[str, Writing] = {
    "found": Writing(forms.FoundForm, _found, "Write what was found", _words("found")),
    "measured": Writing(
        forms.MeasuredForm,
        _measured,
        "Write the reading",
        lambda entry: {"measured": entry.text, "in_circuit": entry.in_circuit},
    ),
    "decide": Writing(
        forms.DecideForm, _decide, "Write the decision", lambda entry: {"decision": entry.decision, "why": entry.note}
    ),
    "voltage": Writing(
        VoltageForm,
        _voltage,
        "Write the voltage",
        lambda entry: {"point": entry.point, "voltage": entry.text, "note": entry.note},
    ),
    "amend": Writing(forms.AmendForm, _amend, "Amend the called-for value", _words("called")),
    "wiring": Writing(forms.WiringForm, _wiring, "Write the wiring finding", _words("text")),
    "note": Writing(forms.NoteForm, _note, "Write the note", _words("text")),
    "polarity": Writing(forms.PolarityForm, _polarity, "Confirm the polarity", _words("note")),
    "plan": Writing(forms.OfferForm, _plan, "Plan this one"),
    "fit": Writing(forms.FitForm, _fit, "Fit this one"),
    "take_out": Writing(forms.TakeOutForm, _take_out, "Take it out"),
    "withdraw": Writing(forms.WithdrawForm, _withdraw, "Take the entry back"),
}
# Forms that stand open on the page; the others open from an offer or an entry.
STANDING = ("found", "measured", "decide", "voltage", "amend", "wiring", "note", "polarity")
KIND_NAMES = {
    EntryKind.FOUND: "found",
    EntryKind.MEASURED: "measured",
    EntryKind.VOLTAGE: "voltage",
    EntryKind.DECIDED: "decide",
    EntryKind.CALLED_FOR: "amend",
    EntryKind.WIRING: "wiring",
    EntryKind.NOTE: "note",
    EntryKind.POLARITY: "polarity",
}


def load_position(pk: int) -> Position:
    return get_object_or_404(Position.objects.select_related("job"), pk=pk)


@role_required(*EVERYBODY)
def position(request: HttpRequest, pk: int) -> HttpResponse:
    return show_position(request, load_position(pk))


@role_required(Role.BENCH)
def entry(request: HttpRequest, pk: int, name: str) -> HttpResponse:
    """Make one entry. Refused, the page comes back with the form as it was typed and the position as it is now."""
    place, writing = load_position(pk), WRITINGS[name]
    if request.method != "POST":
        return go(request, "jobs:position", pk)
    form = _form(request, name, request.POST)

    def work() -> str:
        author = Author(staff_of(request), now(), form.cleaned_data["seen"])
        writing.write(place, form, author)
        return reverse("jobs:position", args=[pk])

    done = carry_out(form, f"entry {name}", work) if form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said=_said(name, place), undo=_taking_back(name, place))
    return show_position(request, place, name, form)


def _said(name: str, place: Position) -> str:
    last = position_state(place).last_entry
    return f"{place.designator}: {in_words(last)}." if last else f"{place.designator} is written."


def _taking_back(name: str, place: Position) -> Undo | None:
    """What moves parts has acts of its own that take it back; everything else is withdrawn, and stays readable."""
    state = position_state(place)
    if name not in STANDING or state.last_entry is None:
        return None
    hidden: dict[str, str | int] = {"entry": state.last_entry.pk, "seen": state.last_seq}
    hidden["why"] = "undone right after it was written"
    return Undo(reverse("jobs:entry_withdraw", args=[place.pk]), "Take it back", hidden)


def _form(request: HttpRequest, name: str, data: Any = None, initial: Mapping[str, Any] | None = None) -> EntryForm:
    more = {"request": request} if name == "fit" else {}
    return WRITINGS[name].form(data, initial=dict(initial or {}), auto_id=f"{name}_%s", **more)


def _correcting(request: HttpRequest, state: PositionState) -> LogEntry | None:
    """The entry that `?correct=` names, if it can still be corrected."""
    wanted = request.GET.get("correct", "")
    return next((line.entry for line in state.history if str(line.entry.pk) == wanted and line.can_change), None)


def _standing_forms(request: HttpRequest, state: PositionState, corrects: LogEntry | None) -> dict[str, EntryForm]:
    seen = {"seen": state.last_seq}
    made = {name: _form(request, name, initial=seen) for name in (*STANDING, "fit")}
    made["voltage"].initial["point"] = request.GET.get("point", "")
    if corrects is not None:
        name = KIND_NAMES[EntryKind(corrects.kind)]
        made[name] = _form(request, name, initial=seen | {"corrects": corrects.pk} | WRITINGS[name].starts(corrects))
    return made


def show_position(request: HttpRequest, place: Position, name: str = "", sent: EntryForm | None = None) -> HttpResponse:
    job = load_job(place.job_id)
    sheet = with_elsewhere(sheet_of(job))
    state = next((row for row in sheet.rows if row.position.pk == place.pk), None)
    if state is None:
        raise Http404
    corrects = _correcting(request, state)
    made = _standing_forms(request, state, corrects)
    if sent is not None:
        sent.see(state.last_seq)
        made[name] = sent
    if isinstance(made["measured"], ReadingForm):
        made["measured"].narrow(role_of(state.role).kind)
    if isinstance(made["voltage"], VoltageForm):
        made["voltage"].narrow(points_of(state.role))
    if name == "plan" and sent is not None:
        made["fit"] = _form(request, "fit", initial={**dict(sent.data.items()), "seen": state.last_seq})
    context = frame(request, job, sheet) | {
        "borne": borne_on(job).at(place),
        "row": state,
        "corrects": corrects,
        "form_of": made,
        "entry_forms": [(one, made[one], WRITINGS[one].act, reverse(f"jobs:entry_{one}", args=[place.pk])) for one in STANDING],
        "sent": sent,
        "sent_name": name,
        "asks_below_cost": isinstance(sent, OfferForm) and sent.asks_below_cost,
        "opened": request.GET.get("write", ""),
        "reformable": reformable(state),
        **_supply_fields(state),
        **_sheet_fields(state, job),
        "stray": sent if sent is not None and not _has_place(name, sent, state, job) else None,
        "neighbours": neighbours(sheet, state),
        **photos_seen(state, sheet),
        "may_fit": job.stage in FITTING_STAGES,
        "may_take_out": job.stage in TAKING_OUT_STAGES,
        **_offers(state, sheet),
        "role": role_of(state.role),
        "may_make_up": role_of(state.role).kind in MADE_UP,
    }
    return render(request, "jobs/position.html", context, status=sent.status if sent else 200)


def photos_seen(state: PositionState, sheet: Sheet) -> dict[str, object]:
    """How many photos show the position; and before the first part goes in, whether nothing shows how the set came."""
    seen = photos_at(state.position)
    changed = any(entry.kind in CHANGES for entry in sheet.entries)
    return {"photo_count": seen.count, "unseen": sheet.job.is_open and not changed and not seen.any_found}


def _supply_fields(state: PositionState) -> dict[str, str]:
    """Which field of the supply's page this position is, and whether a part's marking fills it."""
    field = FIELD_OF_ROLE.get(state.role, "")
    return {"supply_field": field, "candidate_field": field if field in MARKED else ""}


def _sheet_fields(state: PositionState, job: Job) -> dict[str, object]:
    """The part of the model's service sheet that shows this position."""
    place = place_on_sheet(job.radio.model, state.position.designator)
    return {"sheet_place": place, "cut": cut_around(place) if place else None}


def _has_place(name: str, sent: EntryForm, state: PositionState, job: Job) -> bool:
    """Whether the page still shows the form that was refused; a job may have closed, an entry been corrected meanwhile."""
    if not job.is_open:
        return False
    entry = str(sent.data.get("entry", ""))
    if name == "withdraw":
        return any(str(line.entry.pk) == entry and line.can_change for line in state.history)
    if name == "take_out":
        return job.stage in TAKING_OUT_STAGES and any(str(fit.pk) == entry for fit in state.fitted)
    return True


def _offers(state: PositionState, sheet: Sheet) -> dict[str, list[DrawerCandidate]]:
    found = candidates_for(state, sheet.job)
    return {
        "offers": [one for one in found if one.answer.answer != "no"],
        "unsuitable": [one for one in found if one.answer.answer == "no"],
    }


@dataclass(frozen=True, slots=True)
class Neighbours:
    """Where to go from here: the place before and after in circuit order, and the next one that is unresolved."""

    before: Position | None
    after: Position | None
    unresolved: Position | None


def neighbours(sheet: Sheet, state: PositionState) -> Neighbours:
    listed = [row.position for row in sheet.rows]
    at = listed.index(state.position)
    later = [row for row in [*sheet.rows[at + 1 :], *sheet.rows[:at]] if not row.is_resolved]
    return Neighbours(
        listed[at - 1] if at else None,
        listed[at + 1] if at + 1 < len(listed) else None,
        later[0].position if later else None,
    )
