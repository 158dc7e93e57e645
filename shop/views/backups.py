"""The owner's page of copies: how old the last good one is, which there are, the plan, and taking one along."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shop import acts, long_work
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.backup import packing, standing
from shop.backup.copies import BEFORE_TABLES, Copy, copies_in, read_copy, spoilt_in
from shop.backup.making import megabytes
from shop.backup.places import own_place
from shop.backup.planning import change_plan
from shop.backup.running import folder_of, plan_now
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.forms.backups import FIELDS, PlanForm, TakeForm, values_of
from shop.forms.compare import standing_now
from shop.long_work import Asked
from shop.models import AccessKind, BackupPlan, Role
from shop.sign_in import trying
from shop.sign_in.events import address_of, note
from shop.web.pages import answer_once, page_of, refuse
from shop.web.press import press
from shop.web.work_line import remember

COPIES_A_PAGE = 30
STARTED = "It is begun. Long work says how far it got; you may go on working meanwhile."
SAVED = "The plan holds from now on. Copies that it no longer keeps go when the next one is made."
NO_SUCH = "There is no copy of that name any more. The list shows those that there are."


@dataclass(frozen=True, slots=True)
class Shown:
    """A copy as the list shows it."""

    copy: Copy
    is_here: bool
    is_there: bool

    @property
    def mark(self) -> tuple[str, str]:
        if self.copy.is_good:
            return "done", "Proven"
        return ("no", "Found bad") if self.copy.is_bad else ("wait", "Not proven yet")

    @property
    def where(self) -> str:
        return "both places" if self.is_here and self.is_there else "the second place" if self.is_there else "here"

    @property
    def size(self) -> str:
        return megabytes(self.copy.manifest.bytes)

    @property
    def new(self) -> str:
        return megabytes(self.copy.manifest.bytes_new)

    @property
    def is_before_tables(self) -> bool:
        return self.copy.manifest.why == BEFORE_TABLES


@role_required(Role.OWNER)
def backups(request: HttpRequest) -> HttpResponse:
    plan = plan_now()
    form = PlanForm(request.POST or None, initial={**values_of(plan), "seen": plan.version})
    context: dict[str, Any] = {"form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change plan of copies", lambda: _save(form))
        except Stale as stale:
            form.take_refusal(stale)
            plan = plan_now()
            context["now"] = standing_now(form, values_of(plan))
            form.see(plan.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=SAVED)
    context |= _shown(request, plan) | {"fields": [(form[name], "") for name in FIELDS]}
    return render(request, "shop/backups.html", context, status=form.status)


def _save(form: PlanForm) -> str:
    change_plan({name: form.cleaned_data[name] for name in FIELDS}, seen=form.cleaned_data["seen"])
    return reverse("shop:backups")


def _shown(request: HttpRequest, plan: BackupPlan) -> dict[str, Any]:
    second = Path(plan.second_place) if plan.second_place else None
    here, there = copies_in(own_place()), copies_in(second) if second else []
    elsewhere = {copy.name for copy in there}
    rows = [Shown(copy, True, copy.name in elsewhere) for copy in here]
    own = {copy.name for copy in here}
    rows += [Shown(copy, False, True) for copy in there if copy.name not in own]
    rows.sort(key=lambda row: row.copy.name, reverse=True)
    page = page_of(request, rows, COPIES_A_PAGE)
    return {
        "standing": standing.standing(now()),
        "page": page,
        "rows": list(page.object_list),
        "spoilt": spoilt_in(own_place()),
        "place": own_place(),
        "second_is_gone": second is not None and not second.is_dir(),
        "runs": f"{settings.BASE_DIR / 'manage.py'}",
    }


@role_required(Role.OWNER)
@require_POST
def backup_make(request: HttpRequest) -> HttpResponse:
    return _start(request, Asked("backup", "Backup of the shop"))


@role_required(Role.OWNER)
@require_POST
def backup_prove(request: HttpRequest, copy: str) -> HttpResponse:
    if _copy(copy) is None:
        return refuse(request, NO_SUCH, back=reverse("shop:backups"))
    return _start(request, Asked("backup_proof", f"Proof of the copy {copy}", {"name": copy}))


def _start(request: HttpRequest, asked: Asked) -> HttpResponse:
    back = reverse("shop:backups")

    def work() -> None:
        remember(request, long_work.begin(asked, person=staff_of(request), at=now(), back=back))

    return press(request, f"begin {asked.kind}", work, back, STARTED)


def _copy(name: str) -> Copy | None:
    try:
        return read_copy(folder_of(name))
    except Trouble:
        return None


@role_required(Role.OWNER)
def backup_take(request: HttpRequest, copy: str) -> HttpResponse:
    """The copy as one file, once the password was typed again; it is written down who took it."""
    found = _copy(copy)
    if found is None:
        return refuse(request, NO_SUCH, back=reverse("shop:backups"))
    form = TakeForm(request.POST or None)
    if form.is_valid():
        person, address, at = staff_of(request), address_of(request), now()
        try:
            trying.prove(person, form.cleaned_data["password"], at=at, address=address)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            note(AccessKind.TAKEN_OUT, at=at, person=person, address=address, note=f"the copy {found.name}")
            return _file(found)
    return render(request, "shop/backup_take.html", {"form": form, "row": Shown(found, True, False)}, status=form.status)


def _file(copy: Copy) -> HttpResponse:
    names = packing.names_in(copy)
    pieces: Iterator[bytes] = packing.packed(copy, names)
    # A stream is no HttpResponse to the types, though to every view it is one.
    answer: Any = StreamingHttpResponse(pieces, content_type="application/x-tar")
    answer["Content-Length"] = str(packing.size_of(copy, names))
    answer["Content-Disposition"] = f'attachment; filename="workshop-{copy.name}.tar"'
    answer["Cache-Control"] = "private, no-store"
    return answer  # type: ignore[no-any-return]
