"""Sets that wait and are not collected: the clock, what is owed, and the notices that went out."""

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.exports import uncollected_sheet
from billing.models import Invoice, PaperKind
from billing.queries import account_of, with_account
from billing.queries.sales import open_invoices
from jobs.documents.collection import CollectionLetter
from jobs.documents.collection import draw as draw_letter
from jobs.forms.collection import NoticeForm
from jobs.models import CollectionNotice, Job, NoticeKind
from jobs.queries.collection import DEFER, Clock, clock_of, uncollected
from jobs.services.collection import Notice, record_notice
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.jurisdictions.rules import Rules
from shop.letterhead_of import letterhead
from shop.models import Profile, Role
from shop.money import as_money
from shop.paper import Party
from shop.paper.wording import show_day
from shop.place import rules_of
from shop.web.context import shop_currency
from shop.web.pages import answer_once, page_of, refuse
from shop.web.pdf import pdf
from shop.web.saving import batches_of, file_of, wants_file


@role_required(Role.COUNTER)
def uncollected_list(request: HttpRequest) -> HttpResponse:
    rules, day = rules_of(Profile.current()), today()
    if wants_file(request):
        told = (row for jobs in batches_of(uncollected()) for row in _rows(jobs, rules, day))
        return file_of(request, uncollected_sheet(told, shop_currency()))
    page = page_of(request, uncollected())
    rows = _rows(list(page.object_list), rules, day)
    context = {"page": page, "rows": rows, "rules": rules, "rule": rules.uncollected, "defer": DEFER}
    return render(request, "billing/uncollected.html", context)


def _rows(jobs: list[Job], rules: Rules, day: date) -> list[tuple[Clock, int | None]]:
    owed = owed_minor(jobs)
    return [(clock_of(job, rules.uncollected, day), owed.get(job.pk)) for job in jobs]


def owed_minor(jobs: list[Job]) -> dict[int, int]:
    """What is due on the invoices of each job, in minor units; a job that isn't billed is left out."""
    owed: dict[int, int] = {}
    for invoice in with_account(Invoice.objects.filter(job__in=jobs, kind=PaperKind.INVOICE)):
        owed[invoice.job_id] = owed.get(invoice.job_id, 0) + account_of(invoice).due_minor
    return owed


def _address_of(job: Job) -> str:
    return "\n".join(part for part in (job.customer.name, job.customer.address) if part)


@role_required(Role.COUNTER)
def notice_new(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.with_heads(), pk=pk)
    shown = uncollected().filter(pk=pk).first()
    if shown is None and request.method != "POST":
        back = reverse("billing:uncollected")
        return refuse(request, f"Job {job.number} isn't ready to collect, so there is nobody to remind.", back=back)
    rules = rules_of(Profile.current())
    start = {"sent_on": today(), "to_whom": _address_of(job), "kind": NoticeKind.COLLECT, "seen": job.notices.count()}  # type: ignore[attr-defined]
    form = NoticeForm(request.POST or None, rule=rules.uncollected, initial=start)
    answer = _record(request, job, form) if form.is_valid() else None
    context: dict[str, Any] = {
        "form": form,
        "job": job,
        "rules": rules,
        "rule": rules.uncollected,
        "owed": owed_minor([job]).get(pk),
    }
    context["clock"] = clock_of(shown, rules.uncollected, today()) if shown else None
    return answer or render(request, "billing/notice.html", context, status=form.status)


def _record(request: HttpRequest, job: Job, form: NoticeForm) -> HttpResponse | None:
    typed = {name: value for name, value in form.cleaned_data.items() if name not in ("once", "seen")}
    person = staff_of(request)

    def work() -> str:
        record_notice(job, Notice(**typed), person=person, at=now(), seen=form.cleaned_data["seen"])
        return reverse("billing:collecting", args=[job.pk])

    try:
        where, done = acts.once(form.cleaned_data["once"], "record notice", work)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(job.notices.count())  # type: ignore[attr-defined]
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, f"The notice of job {job.number} is written down. Keep the proof that it was sent.")


@role_required(Role.COUNTER)
def notice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The letter of a notice; what is owed is today's."""
    heads = ("job__radio__model", "job__customer")
    notice = get_object_or_404(CollectionNotice.objects.select_related(*heads), pk=pk)
    waits = uncollected().filter(pk=notice.job_id).exists()
    back = reverse("billing:collecting", args=[notice.job_id]) if waits else reverse("billing:uncollected")
    return pdf(draw_letter(letter_of(notice)), f"notice-{notice.job.number}.pdf", back=back)


GROUND = "We hold the set until the work done on it is paid: the law gives a repairer that right."


def _says_more(rules: Rules) -> bool:
    """Whether a notice of sale has to say what only the note of it can: time and place, or the value."""
    return bool({"time_and_place", "value"} & set(rules.uncollected.letter.codes))


def _owed_for(job: Job, locale: str) -> str:
    papers = [
        f"invoice {one.number} of {show_day(one.issued_on, locale)}, due {show_day(one.due_on, locale)}"
        for one in open_invoices(job)
    ]
    return "; ".join(papers)


def letter_of(notice: CollectionNotice) -> CollectionLetter:
    job, head, rules = notice.job, letterhead(), rules_of(Profile.current())
    owed = max(owed_minor([job]).get(job.pk, 0), 0)
    shown = uncollected().filter(pk=job.pk).first()
    clock: Clock | None = clock_of(shown, rules.uncollected, today()) if shown else None
    name, *address = notice.to_whom.splitlines()
    return CollectionLetter(
        letterhead=head,
        to=Party(name, tuple(line for line in address if line.strip())),
        job_number=job.number,
        set_line=str(job.radio),
        ready_on=clock.ready_on if clock else notice.sent_on,
        sent_on=notice.sent_on,
        sent_by=notice.how,
        owed=as_money(owed, head.currency) if owed else None,
        names_on=notice.names_day_on if notice.kind == NoticeKind.SALE else None,
        citation=rules.uncollected.source.citation,
        owed_for=_owed_for(job, head.locale) if owed else "",
        ground=GROUND if owed and "lien" in rules.uncollected.letter.codes and notice.kind == NoticeKind.SALE else "",
        more=notice.note if _says_more(rules) and notice.kind == NoticeKind.SALE else "",
    )
