"""Promised days as a calendar: the page of one's private links, and the address that a calendar program reads."""

import hashlib
import uuid

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST

from jobs.models import Job, NoticeKind
from jobs.queries.collection import DEFER, Clock, clock_of, uncollected
from jobs.queries.promised import promised_jobs
from shop import acts
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Refused
from shop.calendars.links import link_of, links_of, make_link, note_read, renew, restore, revoke, standings
from shop.calendars.writing import DayEvent, calendar_bytes
from shop.clock import now, today
from shop.forms.calendar import CalendarLinkForm
from shop.models import CalendarLink, Profile, Role, Staff
from shop.place import rules_of
from shop.web.codes import qr_path
from shop.web.hindrances import suppress_hindrance
from shop.web.pages import Undo, go, warn
from shop.web.press import press
from shop.web.private import note_bad_link, private

TYPE = "text/calendar; charset=utf-8"
NOTHING_HERE = "There is no calendar here.\n"
SHOWN_BEFORE = "That link was made and shown already. If nobody copied it, revoke it and make a new one."
# Names days by job and kind; any fixed value would do.
NAMESPACE = uuid.UUID("6f1c1c1e-5b0f-4d0e-9a57-2f8f2f0c3b11")


@role_required(*EVERYBODY)
def calendar_links(request: HttpRequest) -> HttpResponse:
    """My links, and the form for one more. The token must not go through the once-mark, so the page shows it by itself."""
    person, form, made = staff_of(request), CalendarLinkForm(request.POST or None), list[str]()

    def work() -> str:
        made.append(make_link(form.cleaned_data["name"], person=person, at=now()))
        return reverse("shop:calendar_links")

    if form.is_valid():
        try:
            where, _ = acts.once(form.cleaned_data["once"], "make calendar link", work)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            if made:
                return _show_once(request, made[0])
            warn(request, SHOWN_BEFORE)
            return go(request, where)
    sees_counter = may(person, Role.COUNTER)
    context = {"form": form, "links": standings(person, now()), "sees_counter": sees_counter}
    return render(request, "shop/calendar_links.html", context, status=form.status)


def _show_once(request: HttpRequest, token: str) -> HttpResponse:
    url = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    answer = render(request, "shop/calendar_link.html", {"url": url, "qr": qr_path(url)})
    answer["Cache-Control"] = "no-store"
    return answer


def _link(request: HttpRequest, pk: int) -> CalendarLink:
    return get_object_or_404(links_of(staff_of(request)), pk=pk)


@role_required(*EVERYBODY)
@require_POST
def calendar_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    link, address = _link(request, pk), reverse("shop:calendar_links")
    undo = Undo(reverse("shop:calendar_restore", args=[pk]), "Undo: let it read again")
    said = f"The link for “{link.name}” leads nowhere any more."
    return press(request, "revoke calendar link", lambda: revoke(link, at=now()), address, said, undo)


@role_required(*EVERYBODY)
@require_POST
def calendar_restore(request: HttpRequest, pk: int) -> HttpResponse:
    link, address = _link(request, pk), reverse("shop:calendar_links")
    return press(
        request,
        "restore calendar link",
        lambda: restore(link, at=now()),
        address,
        f"The link for “{link.name}” may be read again.",
    )


@role_required(*EVERYBODY)
@require_POST
def calendar_renew(request: HttpRequest, pk: int) -> HttpResponse:
    """No undo: who doesn't want it any more revokes it."""
    link, address = _link(request, pk), reverse("shop:calendar_links")
    said = f"The link for “{link.name}” is good for another year."
    return press(request, "renew calendar link", lambda: renew(link, at=now()), address, said)


@login_not_required
@private("GET", "HEAD")
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """What a calendar program reads. Every address that is none, or none any more, gets one and the same answer."""
    link = link_of(token, now())
    if link is None:
        return _nothing(request)
    with suppress_hindrance():
        note_read(link, at=now())
    profile = Profile.current()
    content = calendar_bytes(f"Promised days, {profile.name if profile else 'workshop'}", _days(request, link.person))
    etag = f'"{hashlib.sha256(content).hexdigest()}"'
    answer = HttpResponse(content, content_type=TYPE, headers={"ETag": etag})
    return get_conditional_response(request, etag=etag, response=answer) or answer  # type: ignore[return-value]


@login_not_required
@private("GET", "HEAD")
def calendar_nothing(request: HttpRequest, rest: str) -> HttpResponse:
    """An address that only looks like a private one."""
    return _nothing(request)


def _nothing(request: HttpRequest) -> HttpResponse:
    note_bad_link(request, "calendar", at=now())
    return HttpResponse(NOTHING_HERE, status=404, content_type="text/plain; charset=utf-8")


def _days(request: HttpRequest, person: Staff) -> list[DayEvent]:
    """The bench sees what is promised; the counter also the lawful days of sets that nobody collects.

    A calendar is copied to telephones and other firms' machines: number and set are enough to know what is promised, so neither
    the customer nor any note is written into it. The address in it asks for signing in.
    """
    days = [_promise(request, job) for job in promised_jobs()]
    if may(person, Role.COUNTER):
        rule, day = rules_of(Profile.current()).uncollected, today()
        clocks = [clock_of(job, rule, day) for job in uncollected()]
        days += [one for clock in clocks if (one := _lawful_day(request, clock)) is not None]
    return days


def _promise(request: HttpRequest, job: Job) -> DayEvent:
    return DayEvent(
        uid=_uid(job, "promised"),
        on=job.promised_on or today(),
        summary=f"{job.number}: {job.radio.model} promised",
        description=f"Now: {job.get_stage_display()}.",
        url=request.build_absolute_uri(reverse("jobs:job", args=[job.pk])),
        changed_at=job.changed_at,  # type: ignore[attr-defined]
        revision=job.version,
    )


def _lawful_day(request: HttpRequest, clock: Clock) -> DayEvent | None:
    """The day that a notice of sale named, or the first on which one may go out; none where the rules name no days or a dispute
    stops the clock."""
    sale, job = clock.last(NoticeKind.SALE), clock.job
    if clock.is_stopped:
        return None
    if sale and sale.names_day_on:
        on, what = clock.may_go_on, "the day named by the notice"
    elif clock.rule.wait_days:
        on, what = clock.sale_notice_from_on, "a notice of sale may go out from today"
    else:
        return None
    return DayEvent(
        uid=_uid(job, "collection"),
        on=on,
        summary=f"{job.number}: {job.radio.model} not collected, {what}",
        description=f"Ready since {clock.ready_on.isoformat()}. {DEFER}",
        url=request.build_absolute_uri(reverse("billing:uncollected")),
        changed_at=sale.at if sale else job.ready_at or job.taken_in_at,  # type: ignore[attr-defined]
        revision=job.version,
    )


def _uid(job: Job, what: str) -> str:
    """RFC 7986, 5.3: a UUID, and nothing about the machine. The moment parts two shops that number alike."""
    return str(uuid.uuid5(NAMESPACE, f"{job.number} {job.taken_in_at.isoformat()} {what}"))
